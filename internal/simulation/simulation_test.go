package simulation

import (
	"math"
	"sync"
	"testing"

	"evenreach.example/internal/measure"
)

// few is every world at every error with fewer patients than in the report. The
// seed is fixed, so the figures do not move from run to run.
var few = sync.OnceValues(func() ([]*Result, error) { return runAll(1, 150) })

func resultsOf(t *testing.T, w World) []*Result {
	t.Helper()
	results, err := few()
	if err != nil {
		t.Fatal(err)
	}
	return results[int(w)*len(Errors):][:len(Errors)]
}

// The bounds allow for the number of patients. The errors of the two sides are
// independent in both worlds, whatever their tests share.
func TestIntervalCoversTheTruth(t *testing.T) {
	for _, w := range []World{Independent, OneDay} {
		for _, r := range resultsOf(t, w) {
			if c := r.Coverage(); c < 87 || c > 93 {
				t.Errorf("%v, SEM %d %%: the 90 %% interval covers the truth in %.2f %%, want 87 to 93", w, r.Error, c)
			}
		}
	}
}

func TestProbabilityIsCalibrated(t *testing.T) {
	for _, r := range resultsOf(t, Independent) {
		for i, bin := range r.Neutral {
			share := bin.Sum / float64(bin.Count)
			fourErrors := 400 * math.Sqrt(share*(1-share)/float64(bin.Count))
			if bin.Count < 50 || math.Abs(bin.Deviation()) > fourErrors {
				t.Errorf("SEM %d %%, tenth %d: off by %.1f points in %d predictions", r.Error, i, bin.Deviation(), bin.Count)
			}
		}
	}
}

// At most one answer in fifty may carry a false alarm, over the errors of a world.
func TestMeasurementErrorSeldomRaisesAnAlarm(t *testing.T) {
	for w := range worlds {
		if !w.Steady() {
			continue
		}
		alarms, answers := 0, 0
		for _, r := range resultsOf(t, w) {
			alarms, answers = alarms+r.Alarms.Any, answers+r.Answers
		}
		if percent(alarms, answers) > 2 {
			t.Errorf("%v: %d of %d answers carry a red flag or a doubt, want at most 2 %%", w, alarms, answers)
		}
	}
}

func TestAWeakeningComparisonSideIsNoticed(t *testing.T) {
	raised := func(w World) (n int) {
		for _, r := range resultsOf(t, w) {
			n += r.Alarms.Doubts[measure.ComparisonDeclined]
		}
		return n
	}
	if weaker, steady := raised(Weakening), raised(OneDay); weaker <= 3*steady {
		t.Errorf("raised %d times while the comparison side weakens and %d times while it does not, want more than three times as often", weaker, steady)
	}
}

func TestTheProductBeatsASingleSession(t *testing.T) {
	for w := range worlds {
		var first, wrong [rules]int
		for _, r := range resultsOf(t, w) {
			for rule := range rules {
				first[rule] += r.Decisions[rule].First
				wrong[rule] += r.Decisions[rule].FirstWrongly
			}
		}
		if first[Product] == 0 || wrong[Product]*first[SingleSession] >= wrong[SingleSession]*first[Product] {
			t.Errorf("%v: first declared wrongly %d of %d, by a single session %d of %d",
				w, wrong[Product], first[Product], wrong[SingleSession], first[SingleSession])
		}
	}
}

func TestSameSeedSameResult(t *testing.T) {
	a, errA := Run(7, 20, OneDay, 10)
	b, errB := Run(7, 20, OneDay, 10)
	c, errC := Run(8, 20, OneDay, 10)
	if errA != nil || errB != nil || errC != nil {
		t.Fatal(errA, errB, errC)
	}
	if *a != *b {
		t.Error("the same seed gave another result")
	}
	if *a == *c {
		t.Error("another seed gave the same result")
	}
}
