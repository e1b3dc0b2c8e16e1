package wording

import (
	"strings"
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// symmetry is 80 N against 100 N with a standard error of 7 N each; its 95 %
// limits are those of a published formula.
func symmetry(change func(*measure.Symmetry)) *measure.Symmetry {
	s := &measure.Symmetry{
		Setting: measure.Setting{
			Motion: shoulder.External, Position: shoulder.Flexion90,
			Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.BeltStabilised,
		},
		Involved:   &measure.Score{Side: shoulder.Right, Value: number("80"), Trials: 3, Outlier: -1},
		Comparison: &measure.Score{Side: shoulder.Left, Value: number("100"), Trials: 3, Outlier: -1, When: date("2026-01-05")},
		Index:      number("80"), Dominance: exact.Int(1),
		Interval: measure.Interval{Bounds: measure.Bounded, Low: 63.731, High: 99.339},
	}
	if change != nil {
		change(s)
	}
	return s
}

func TestSymmetry(t *testing.T) {
	const shared = "External rotation at 90 degrees of flexion: right 80.0 N, left 100.0 N; limb symmetry index 80.0 %; "
	const how = "; make test, belt-stabilised dynamometer, arm supported"
	for _, tt := range []struct {
		name     string
		symmetry *measure.Symmetry
		want     string
	}{
		{"bounded", symmetry(nil), shared + "interval 63.7 to 99.3 %" + how + "."},
		{
			"carried forward", symmetry(func(s *measure.Symmetry) { s.CarriedForward, s.Days = true, 28 }),
			shared + "interval 63.7 to 99.3 %" + how + "; left side carried forward from 2026-01-05 (28 days earlier).",
		},
		{
			"corrected for dominance", symmetry(func(s *measure.Symmetry) { s.Dominance = number("1.11") }),
			shared + "interval 63.7 to 99.3 %" + how + "; corrected for the stronger dominant side by 1.11.",
		},
		{
			"lever arm estimated", symmetry(func(s *measure.Symmetry) { s.LeverEstimated = true }),
			shared + "interval 63.7 to 99.3 %" + how + "; torque by a lever arm estimated from body height.",
		},
		{
			"single and scattered trials", symmetry(func(s *measure.Symmetry) {
				s.Involved.Trials, s.Involved.FewTrials = 1, true
				s.Comparison.Scattered, s.Comparison.Variation, s.Comparison.Outlier = true, 12.34, 4
			}),
			shared + "interval 63.7 to 99.3 %" + how + "; right: a single trial; left: trials vary by 12.3 %; left: one trial stands apart from the others.",
		},
		{
			"one trial, and no more asked for", symmetry(func(s *measure.Symmetry) { s.Involved.Trials = 1 }),
			shared + "interval 63.7 to 99.3 %" + how + ".",
		},
		{
			"two trials, and more asked for", symmetry(func(s *measure.Symmetry) { s.Comparison.Trials, s.Comparison.FewTrials = 2, true }),
			shared + "interval 63.7 to 99.3 %" + how + "; left: 2 trials only.",
		},
		{
			"nothing known about the test", symmetry(func(s *measure.Symmetry) {
				s.Setting = measure.Setting{Motion: shoulder.External, Position: shoulder.Flexion90}
			}),
			shared + "interval 63.7 to 99.3 %.",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Symmetry(tt.symmetry); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// An interval without limits is said in words: no number may stand for it.
func TestIntervalWithoutLimits(t *testing.T) {
	c := For("en")
	for _, bounds := range []measure.Bounds{measure.Unbounded, measure.Exclusive} {
		t.Run(bounds.String(), func(t *testing.T) {
			i := measure.Interval{Bounds: bounds, Low: 12.5, High: 321.75}
			s := symmetry(func(s *measure.Symmetry) { s.Interval = i })
			for _, text := range []string{c.Interval(i), c.Symmetry(s), strings.Join(c.SymmetryNotes(s), " ")} {
				if strings.Contains(text, "12.5") || strings.Contains(text, "321.") || !strings.Contains(text, "no limits") {
					t.Errorf("%q", text)
				}
			}
		})
	}
}

func TestIntervalDoesNotCrossAThreshold(t *testing.T) {
	i := measure.Interval{Bounds: measure.Bounded, Low: 74.98, High: 89.99}
	got := For("en").Interval(i, atLeast("75", "%"), atLeast("90", "%"))
	if got != "74.98 to 89.99" {
		t.Errorf("got %q", got)
	}
}

func TestLevel(t *testing.T) {
	met, not := readiness.Criterion{Verdict: readiness.Met}, readiness.Criterion{Verdict: readiness.NotMet}
	manual := func(v readiness.Verdict) readiness.Criterion {
		return readiness.Criterion{Verdict: v, Basis: readiness.ManualTest}
	}
	for _, tt := range []struct {
		name        string
		position    readiness.PositionReadiness
		noYardstick bool
		want        string
	}{
		{"nothing", readiness.PositionReadiness{}, false, "not measured"},
		{"not comparable", readiness.PositionReadiness{Unpaired: &measure.Unpaired{}}, false, "no comparison"},
		{"other side affected", readiness.PositionReadiness{}, true, "no unaffected side"},
		{"other side affected, measured once", readiness.PositionReadiness{Latest: &measure.Score{}}, true, "first measurement"},
		{"in doubt", readiness.PositionReadiness{GoodEnough: readiness.Criterion{Basis: readiness.Doubted}}, false, "in doubt, repeat"},
		{"below the threshold within error", readiness.PositionReadiness{GoodEnough: readiness.Criterion{Verdict: readiness.NotMet, Basis: readiness.Retained}, Even: not}, false, "no longer good enough"},
		{"even before", readiness.PositionReadiness{GoodEnough: met, Even: not, WasEven: symmetry(nil)}, false, "was even, now is not"},
		{"stronger than at first", readiness.PositionReadiness{GoodEnough: readiness.Criterion{Verdict: readiness.Met, Basis: readiness.ChangeFromFirst}}, true, "stronger than at first"},
		{"not stronger than at first", readiness.PositionReadiness{GoodEnough: readiness.Criterion{Verdict: readiness.NotMet, Basis: readiness.ChangeFromFirst}}, true, "not clearly stronger"},
		{"stale", readiness.PositionReadiness{Stale: symmetry(nil), Unpaired: &measure.Unpaired{}}, false, "too old to decide"},
		{"weak", readiness.PositionReadiness{GoodEnough: not}, false, "not good enough"},
		{"good", readiness.PositionReadiness{GoodEnough: met, Even: not}, false, "good enough, not even"},
		{"even once", readiness.PositionReadiness{GoodEnough: met, Even: met, Confirmed: not}, false, "even, to be confirmed"},
		{"even", readiness.PositionReadiness{GoodEnough: met, Even: met, Confirmed: met}, false, "even in two sessions"},
		{"manual, good", readiness.PositionReadiness{GoodEnough: manual(readiness.Met), Grade: shoulder.Grade5}, false, "manual grade 5: good enough"},
		{"manual, weak", readiness.PositionReadiness{GoodEnough: manual(readiness.NotMet), Grade: shoulder.Grade3Minus}, true, "manual grade 3-: not good enough"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Level(&tt.position, tt.noYardstick); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestChange(t *testing.T) {
	percent := number("18.75")
	for _, tt := range []struct {
		name   string
		change measure.Change
		want   string
		source string
	}{
		{
			"strength within error", measure.Change{
				Subject: measure.StrengthChange, Setting: symmetry(nil).Setting, Side: shoulder.Right,
				From: number("80"), To: number("95"), Difference: number("15"), Percent: &percent, Unit: "N",
				Detectable: 24.2533, FromWhen: date("2026-01-05"),
			},
			"External rotation at 90 degrees of flexion, right: +15.0 N (+18.8 %) since 2026-01-05 (MDC 24.3 N), not clear; 80.0 N to 95.0 N.",
			"80 to 95 N at an error of 10 % is within 27.72 % of the mean 87.5 N",
		},
		{
			"index since the first", measure.Change{
				Subject: measure.SymmetryChange, Against: measure.Baseline, Setting: symmetry(nil).Setting, Side: shoulder.Right,
				From: number("40"), To: number("89.96"), Difference: number("49.96"), Unit: "%",
				Detectable: 25.5, FromWhen: date("2026-01-05"), Direction: measure.Improved,
			},
			"Limb symmetry index of external rotation at 90 degrees of flexion: +50.0 percentage points since the first on 2026-01-05 (MDC 25.5 percentage points), clearly better; 40.0 % to 89.96 %.",
			"the index stands beside its threshold of 90 %",
		},
		{
			"range", measure.Change{
				Subject: measure.RangeChange, Movement: shoulder.Flexion, Active: true, Side: shoulder.Left,
				From: number("150"), To: number("135.5"), Difference: number("-14.5"), Unit: "deg",
				Detectable: 10, FromWhen: date("2026-01-05"), Direction: measure.Declined,
			},
			"Active flexion, left: -14.5 degrees since 2026-01-05 (MDC 10.0 degrees), clearly worse; 150 degrees to 135.5 degrees.",
			"150 - 135.5 = 14.5",
		},
		{
			"passive rotation", measure.Change{
				Subject: measure.RangeChange, Movement: shoulder.ExternalRotation, Position: shoulder.Abduction90, Side: shoulder.Left,
				From: number("60"), To: number("60"), Unit: "deg", Detectable: 20, FromWhen: date("2026-01-05"),
			},
			"Passive external rotation at 90 degrees of abduction, left: 0 degrees since 2026-01-05 (MDC 20 degrees), not clear; 60 degrees to 60 degrees.",
			"no difference",
		},
		{
			"pain", measure.Change{
				Subject: measure.PainChange, Context: shoulder.PainAtRest, From: number("5"), To: number("3"), Difference: number("-2"),
				Unit: "{score}", Detectable: 2, FromWhen: date("2026-01-05"), Direction: measure.Improved,
			},
			"Pain at rest: -2 since 2026-01-05 (counts from 2), less pain, beyond measurement error; 5/10 to 3/10.",
			"two points count",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Change(&tt.change, atLeast("90", "%")); got != tt.want {
				t.Errorf("got  %q\nwant %q (%s)", got, tt.want, tt.source)
			}
		})
	}
}

// aCourse is a course that ends on 2026-03-30, with one test of an outlook.
func aCourse(o course.Outlook) (*course.Course, *course.TestCourse) {
	c := &course.Course{Start: date("2026-03-02"), Days: []int{0, 14, 28}, Tests: []course.TestCourse{{Sessions: 3, Outlook: o}}}
	c.Tests[0].Setting = symmetry(nil).Setting
	return c, &c.Tests[0]
}

// recheck is from two weeks after the end of aCourse on.
var recheck = plan.Window{From: date("2026-04-13"), To: date("2026-04-27")}

func TestProspect(t *testing.T) {
	const shared = "External rotation at 90 degrees of flexion, 3 sessions together: "
	for _, tt := range []struct {
		name    string
		outlook course.Outlook
		want    string
	}{
		{"reached", course.Outlook{Prospect: course.Reached}, "as likely even as not now."},
		{"forecast", course.Outlook{Prospect: course.Forecast, Date: 41, Earliest: 21, Latest: 93}, "even about 2026-05-10 (2026-04-20 to 2026-07-01) if it goes on so, which is no promise."},
		{"before the re-check in part", course.Outlook{Prospect: course.Forecast, Date: 41, Latest: 93}, "even about 2026-05-10 (2026-04-13 to 2026-07-01) if it goes on so, which is no promise."},
		{"before the re-check", course.Outlook{Prospect: course.Forecast, Latest: 3}, "perhaps even at the re-check already, from 2026-04-13, if it goes on so, which is no promise."},
		{"levelling off", course.Outlook{Prospect: course.Levelling, Plateau: 83.6, Low: 77.4, High: 89.2}, "levelling off at about 84 % (77 to 89)."},
		{"no date", course.Outlook{Prospect: course.NoDate}, "no date can be given."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, of := aCourse(tt.outlook)
			if got := For("en").Prospect(c, of, recheck); got != shared+tt.want {
				t.Errorf("got  %q\nwant %q", got, shared+tt.want)
			}
		})
	}
}

func TestEvenWhen(t *testing.T) {
	levelling, of := aCourse(course.Outlook{Prospect: course.Levelling, Plateau: 83.6, Low: 77.4, High: 89.2})
	levelling.All.Prospect, levelling.Lowest = course.Levelling, of
	all := func(o course.Outlook) *course.Course {
		c, _ := aCourse(course.Outlook{})
		c.All = o
		return c
	}
	for _, tt := range []struct {
		course *course.Course
		want   string
	}{
		{nil, "No date of evenness can be given: too few sessions."},
		{all(course.Outlook{}), "No date of evenness can be given: too few sessions."},
		{all(course.Outlook{Prospect: course.Reached}), "By all sessions together all six are now as likely even as not, which visits have to confirm."},
		{all(course.Outlook{Prospect: course.Forecast, Date: 41, Earliest: 21, Latest: 93}), "Even in all six about 2026-05-10 (2026-04-20 to 2026-07-01), if it goes on so."},
		{all(course.Outlook{Prospect: course.Forecast, Latest: 14}), "Perhaps even in all six at the re-check already, from 2026-04-13, if it goes on so."},
		{all(course.Outlook{Prospect: course.Forecast, Latest: 15}), "Even in all six about 2026-04-13 (2026-04-13 to 2026-04-14), if it goes on so."},
		{levelling, "No date of evenness can be given: external rotation 90° flexion: levelling off at about 84 % (77 to 89)."},
		{all(course.Outlook{Prospect: course.NoDate}), "No date of evenness can be given: the course does not make one likely enough."},
	} {
		if got := For("en").EvenWhen(tt.course, recheck); got != tt.want {
			t.Errorf("got  %q\nwant %q", got, tt.want)
		}
	}
}

func TestRatio(t *testing.T) {
	band := protocol.Band{Low: number("0.70"), High: number("1.00")}
	ratio := func(side shoulder.Side, value string, place measure.BandRelation) *measure.Ratio {
		r := &measure.Ratio{External: &measure.Score{}, Value: number(value), Band: band, Relation: place}
		r.External.Side, r.External.Position = side, shoulder.AtSide
		return r
	}
	right, left := ratio(shoulder.Right, "0.698", measure.BelowBand), ratio(shoulder.Left, "0.85", measure.WithinBand)
	const want = "External to internal rotation ratio with the arm at the side (published 0.70 to 1.00): " +
		"right 0.698, below the published band; left 0.85, within the published band."
	if got := For("en").Ratio(right, left); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if got := For("en").Ratio(); got != "" {
		t.Errorf("no ratio: %q", got)
	}
}

func TestTogether(t *testing.T) {
	good, even := atLeast("75", "%"), atLeast("90", "%")
	for _, tt := range []struct {
		name string
		now  course.Moment
		want string
	}{
		{"in doubt", course.Moment{Index: 89.97, Low: 80.12, High: 101.04, GoodEnough: 0.971, Even: 0.4961}, "all 3 sessions together: LSI 89.97 % (80.1 to 101.0), probability of at least 75 %: 97 %, of at least 90 %: 49.6 %"},
		{"nearly certain", course.Moment{Index: 110, Low: 95, High: 127, GoodEnough: 0.9999, Even: 0.9999}, "all 3 sessions together: LSI 110.0 % (95.0 to 127.0), probability of at least 75 %: more than 99 %, of at least 90 %: more than 99 %"},
		{"hardly possible", course.Moment{Index: 50, Low: 40, High: 62, GoodEnough: 0.0004, Even: 0.0001}, "all 3 sessions together: LSI 50.0 % (40.0 to 62.0), probability of at least 75 %: less than 1 %, of at least 90 %: less than 1 %"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			of := &course.TestCourse{Sessions: 3, Moments: []course.Moment{tt.now}}
			if got := For("en").Together(of, good, even); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// A label that is followed by a colon takes no second one before it.
func TestOnSide(t *testing.T) {
	for language, want := range map[string][2]string{
		"en": {"On the right since the last test: no change is clear.", "On the right: no change is clear since the last session or the first."},
		"de": {"Rechts seit der letzten Messung: keine Veränderung klar.", "Rechts: seit der letzten und der ersten Sitzung ist keine Veränderung klar."},
		"fr": {"Du côté droit depuis le dernier test\u00a0: aucun changement net.", "Du côté droit\u00a0: aucun changement n’est net depuis la dernière séance ni depuis la première."},
	} {
		c := For(language)
		since := c.Sentence(c.changedSince(c.phrases.sinceLastTest, nil, 0))
		for i, sentence := range []string{since, c.Changed(nil, nil, 1)} {
			if got := c.OnSide(shoulder.Right, sentence); got != want[i] {
				t.Errorf("%s: %q, want %q", language, got, want[i])
			}
		}
	}
}

// A cell of the table has room for six signs beside the mark.
func TestDifferenceMarkedFitsItsCell(t *testing.T) {
	for _, tt := range []struct{ from, to, want string }{
		{"20", "119.9", "+99.9*"}, {"18", "128", "+110*"}, {"128", "18", "-110*"}, {"20", "119.96", "+100*"},
	} {
		from, to := number(tt.from), number(tt.to)
		k := measure.Change{From: from, To: to, Difference: to.Sub(from), Unit: "N", Detectable: 20, Direction: measure.Improved}
		if got := For("en").DifferenceMarked(&k); got != tt.want {
			t.Errorf("from %s to %s N: %s, want %s", tt.from, tt.to, got, tt.want)
		}
	}
}
