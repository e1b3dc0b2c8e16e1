package simulation

import (
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// few is every world at every error with fewer patients than in the report. The
// seed is fixed, so the figures do not move from run to run.
var few = sync.OnceValues(func() ([]*Result, error) { return runAll(1, 60, Judging) })

func all(t *testing.T) []*Result {
	t.Helper()
	results, err := few()
	if err != nil {
		t.Fatal(err)
	}
	return results
}

// pick is the results of a world.
func pick(t *testing.T, world string) (of []*Result) {
	t.Helper()
	for _, r := range all(t) {
		if r.World.Name == world {
			of = append(of, r)
		}
	}
	if len(of) == 0 {
		t.Fatalf("no world %q", world)
	}
	return of
}

// The bounds allow for the number of patients. The errors of the two sides are
// independent in both worlds, whatever their tests share.
func TestIntervalOfASessionCoversTheTruth(t *testing.T) {
	for _, w := range []string{"independent errors", "day factor"} {
		for _, r := range pick(t, w) {
			if c := r.Single.Percent(); c < 86 || c > 94 {
				t.Errorf("%s, SEM %d %%: the 90 %% interval covers the truth in %.2f %%, want 86 to 94", w, r.Error, c)
			}
		}
	}
}

// The model's interval must hold up where the error is another one than assumed, and
// where the comparison side is carried forward.
func TestIntervalOfTheModelCoversTheTruth(t *testing.T) {
	for _, tt := range []struct {
		world string
		least float64
	}{
		{"independent errors", 88}, {"day factor", 84}, {"comparison every third visit", 84},
		{"error 14 where 7 is assumed", 80}, {"error 7 where 14 is assumed", 88},
	} {
		for _, r := range pick(t, tt.world) {
			if c := r.Whole.Percent(); c < tt.least {
				t.Errorf("%s, SEM %d %%: the 90 %% interval covers the truth in %.2f %%, want at least %.0f", tt.world, r.Error, c, tt.least)
			}
		}
	}
}

func TestTheModelPredictsBetterThanASession(t *testing.T) {
	for _, r := range all(t) {
		if whole, single := r.Calibration.Whole.Brier(), r.Calibration.Single.Brier(); whole >= single {
			t.Errorf("%s, SEM %d %%: Brier %.3f by the model, %.3f by one session", r.World.Name, r.Error, whole, single)
		}
	}
}

// Wanted: at most 5 % of the answers for stable patients.
func TestStablePatientsSeldomDecline(t *testing.T) {
	for _, r := range pick(t, "all stable") {
		if share := percent(r.Declines.Model, r.Declines.Answers); share > 5 || r.Declines.Answers == 0 {
			t.Errorf("SEM %d %%: %.1f %% of %d answers", r.Error, share, r.Declines.Answers)
		}
	}
}

// Wanted: at most 15 % of the patients who level off below evenness. Four standard
// errors of 60 patients more.
func TestWhoLevelsOffGetsNoDate(t *testing.T) {
	for _, r := range pick(t, "all level off at 78-88 %") {
		d := r.Forecasts.All
		if limit := 15 + 400*math.Sqrt(0.15*0.85/float64(d.Anyone)); percent(d.Patients, d.Anyone) > limit || d.Anyone == 0 {
			t.Errorf("SEM %d %%: %d of %d patients", r.Error, d.Patients, d.Anyone)
		}
		if d.Patients >= r.Forecasts.Line.Patients {
			t.Errorf("SEM %d %%: a line gives a date to no more: %d of %d", r.Error, r.Forecasts.Line.Patients, d.Anyone)
		}
	}
}

func TestDatesContainTheTruthMoreOftenThanALine(t *testing.T) {
	for _, r := range pick(t, "all become even") {
		d, line := r.Forecasts.All, r.Forecasts.Line
		if percent(d.Covered, d.Given) < 70 || percent(d.Covered, d.Given) <= percent(line.Covered, line.Given) {
			t.Errorf("SEM %d %%: %d of %d contain the truth, by a line %d of %d", r.Error, d.Covered, d.Given, line.Covered, line.Given)
		}
	}
}

// Nothing is known beforehand of the true ratio: its logarithm is drawn evenly around
// the threshold, so that either side is as likely to be the stronger one.
func TestProbabilityOfASessionIsCalibrated(t *testing.T) {
	const reach = 4.5 * math.Sqrt2 // standard deviations of the measured ratio
	w := Worlds[0]
	for _, percentError := range fourErrors {
		p, err := protocolFor(percentError)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, uint64(percentError)))
		var neutral Deciles
		sem := float64(percentError) / 100
		own := w.ownSpread(sem)
		for range 4000 {
			ratio := evenShare * math.Exp(reach*sem*(2*rng.Float64()-1))
			test := shoulder.Trial{Motion: shoulder.External, Position: shoulder.AtSide, Side: shoulder.Right}
			trials := appendTrials(nil, rng, test, comparison*ratio, own*rng.NormFloat64())
			test.Side = shoulder.Left
			trials = appendTrials(trials, rng, test, comparison, own*rng.NormFloat64())
			e := &shoulder.Episode{Involved: shoulder.Right, Sessions: []shoulder.Session{{Trials: trials}}}
			s, _ := measure.Symmetries(e, measure.Scores(e, p), p)
			neutral.count(s[0].ProbabilityEven, ratio >= evenShare)
		}
		for i, bin := range neutral.Bins {
			share := bin.Sum / float64(bin.Count)
			fourErrors := 400 * math.Sqrt(share*(1-share)/float64(bin.Count))
			if bin.Count < 50 || math.Abs(bin.Deviation()) > fourErrors {
				t.Errorf("SEM %d %%, tenth %d: off by %.1f points in %d predictions", percentError, i, bin.Deviation(), bin.Count)
			}
		}
	}
}

// At most one answer in fifty may carry a false alarm, over the errors of a world that
// are as assumed.
func TestMeasurementErrorSeldomRaisesAnAlarm(t *testing.T) {
	alarms, answers := 0, 0
	for _, r := range all(t) {
		if r.World.AsAssumed() {
			alarms, answers = alarms+r.Alarms.Any, answers+r.Answers
		}
	}
	if percent(alarms, answers) > 2 {
		t.Errorf("%d of %d answers carry a red flag or a doubt, want at most 2 %%", alarms, answers)
	}
}

func TestAWeakeningComparisonSideIsNoticed(t *testing.T) {
	raised := func(w string) (share float64) {
		n, answers := 0, 0
		for _, r := range pick(t, w) {
			if r.Error == 7 || r.Error == 10 {
				n, answers = n+r.Alarms.Doubts[measure.ComparisonDeclined], answers+r.Answers
			}
		}
		return percent(n, answers)
	}
	if weaker, steady := raised("comparison side weakens"), raised("day factor"); weaker <= 2*steady {
		t.Errorf("raised in %.2f %% of the answers while the comparison side weakens and in %.2f %% while it does not", weaker, steady)
	}
}

func TestTheProductAndTheModelBeatASingleSession(t *testing.T) {
	var first, wrong [rules]int
	for _, r := range all(t) {
		for rule := range rules {
			first[rule] += r.Decisions[rule].First
			wrong[rule] += r.Decisions[rule].FirstWrongly
		}
	}
	for _, rule := range []Rule{Product, Model, ModelAtNinety} {
		if first[rule] == 0 || wrong[rule]*first[SingleSession] >= wrong[SingleSession]*first[rule] {
			t.Errorf("%v: first declared wrongly %d of %d, by a single session %d of %d",
				rule, wrong[rule], first[rule], wrong[SingleSession], first[SingleSession])
		}
	}
}

// What the report says in words is what this program writes.
func TestTheReportIsWrittenByThisProgram(t *testing.T) {
	report, err := os.ReadFile("REPORT.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{figuresIntro, short, decisionsIntro, forecastsIntro, coverageIntro, calibrationIntro, alarmsIntro} {
		if !strings.Contains(string(report), part) {
			t.Errorf("the report does not say %s", part)
		}
	}
}

func TestSameSeedSameResult(t *testing.T) {
	w := &Worlds[1]
	a, errA := Run(7, 10, w, Judging, 10)
	b, errB := Run(7, 10, w, Judging, 10)
	c, errC := Run(8, 10, w, Judging, 10)
	d, errD := Run(7, 10, w, Tuning, 10)
	if errA != nil || errB != nil || errC != nil || errD != nil {
		t.Fatal(errA, errB, errC, errD)
	}
	if a.Decisions != b.Decisions || a.Calibration != b.Calibration || a.Whole != b.Whole {
		t.Error("the same seed gave another result")
	}
	if a.Calibration == c.Calibration || a.Calibration == d.Calibration {
		t.Error("another seed, or another family, gave the same result")
	}
}
