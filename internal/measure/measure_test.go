package measure

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

const (
	right = shoulder.Right
	left  = shoulder.Left
)

func near(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s = %v, want %v within %v (%s)", what, got, want, tolerance, source)
	}
}

func TestLimbSymmetryIndex(t *testing.T) {
	tests := []struct {
		name                 string
		involved, comparison string
		want                 string
		source               string
	}{
		{"external rotation at the side", "6.2", "12.4", "50.00", "one patient, PMC7394793 table 1"},
		{"internal rotation at the side", "9.8", "20.8", "47.12", "one patient, PMC7394793 table 1"},
		{"abduction at 90 degrees", "4.0", "12.3", "32.52", "one patient, PMC7394793 table 1"},
		{"forward elevation at 70 degrees", "4.3", "14.1", "30.50", "one patient, PMC7394793 table 1"},
		{"equal sides", "100", "100", "100.00", "definition"},
		{"stronger involved side is not clamped", "110", "100", "110.00", "definition"},
		{"silent involved side", "0", "100", "0.00", "definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, trial(right, tt.involved), trial(left, tt.comparison)))
			if len(m.Symmetries) != 1 {
				t.Fatalf("%d symmetries, want 1", len(m.Symmetries))
			}
			if got := m.Symmetries[0].Index.Text(2); got != tt.want {
				t.Errorf("index(%s, %s) = %s, want %s (%s)", tt.involved, tt.comparison, got, tt.want, tt.source)
			}
		})
	}
}

// The curve of 42 patients after cuff repair, in per cent of the other side.
//
// Source: J Shoulder Elbow Surg 1996;5(1):12-17, doi:10.1016/S1058-2746(96)80025-5.
func TestRecoveryCurveAgainstTheThreshold(t *testing.T) {
	even := protocol.Default().Symmetry.Even
	tests := []struct {
		name, index string
		even        bool
	}{
		{"6 months flexion", "78", false}, {"6 months abduction", "80", false}, {"6 months external rotation", "79", false},
		{"12 months flexion", "84", false}, {"12 months abduction is on the edge", "90", true}, {"12 months external rotation", "91", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, trial(right, tt.index), trial(left, "100")))
			if got := even.Met(m.Symmetries[0].Index); got != tt.even {
				t.Errorf("index %s even = %v, want %v (90 per cent rule)", tt.index, got, tt.even)
			}
		})
	}
}

func TestPairingRefuses(t *testing.T) {
	tests := []struct {
		name                 string
		involved, comparison shoulder.Trial
		want                 Mismatch
		source               string
	}{
		{"make against break", trial(right, "100"), trial(left, "146.9", byBreak), ContractionDiffers, "Shah et al. 2020: break 46.9 % above make"},
		{"force against torque", trial(right, "100"), trial(left, "25", inTorque), DimensionDiffers, "dimension"},
		{"hand-held against isokinetic", trial(right, "100"), trial(left, "100", by(shoulder.Isokinetic)), InstrumentDiffers, "common practice"},
		{"another position", trial(right, "100"), trial(left, "100", at(shoulder.Abduction90)), NoComparison, "design of the index"},
		{"another rotation", trial(right, "100"), trial(left, "100", turning(shoulder.Internal)), NoComparison, "definition"},
		{"silent comparison side", trial(right, "100"), trial(left, "0"), ComparisonZero, "division by zero"},
		{"comparison side not measured", trial(right, "100"), trial(right, "100"), NoComparison, "definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, tt.involved, tt.comparison))
			if len(m.Symmetries) != 0 || len(m.Unpaired) != 1 || m.Unpaired[0].Reason != tt.want {
				t.Errorf("symmetries %d, unpaired %+v, want none and %v (%s)", len(m.Symmetries), m.Unpaired, tt.want, tt.source)
			}
		})
	}
}

func TestCarryForward(t *testing.T) {
	tests := []struct {
		name   string
		days   int
		paired bool
	}{
		{"a week", 7, true}, {"on the limit", 42, true}, {"a day over", 43, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, trial(left, "100")), on(tt.days, trial(right, "90")))
			if got := len(m.Symmetries) == 1; got != tt.paired {
				t.Fatalf("paired after %d days = %v, want %v (protocol: 42 days)", tt.days, got, tt.paired)
			}
			if tt.paired && (!m.Symmetries[0].CarriedForward || m.Symmetries[0].Days != tt.days) {
				t.Errorf("carried forward = %v after %d days, want it marked", m.Symmetries[0].CarriedForward, m.Symmetries[0].Days)
			}
			if !tt.paired && m.Unpaired[0].Reason != TooOld {
				t.Errorf("reason = %v, want %v", m.Unpaired[0].Reason, TooOld)
			}
		})
	}
}

func TestSameSessionGoesBeforeCarriedForward(t *testing.T) {
	m := measured(on(0, trial(left, "50")), on(7, trial(right, "90"), trial(left, "100")))
	if got := m.Symmetries[0].Index.Text(0); got != "90" || m.Symmetries[0].CarriedForward {
		t.Errorf("index = %s, carried %v, want 90 of the same session", got, m.Symmetries[0].CarriedForward)
	}
}

// A later measurement of the comparison side is never used for an earlier
// session.
func TestNothingIsCarriedBackwards(t *testing.T) {
	m := measured(on(0, trial(right, "90")), on(7, trial(left, "100")))
	if len(m.Symmetries) != 0 {
		t.Errorf("%d symmetries, want 0", len(m.Symmetries))
	}
}

func TestLeverArmTurnsForceIntoTorque(t *testing.T) {
	lever := func(side shoulder.Side, metres string) shoulder.Lever {
		return shoulder.Lever{Source: 900, Side: side, Metres: exact.MustParse(metres)}
	}
	tests := []struct {
		name   string
		levers []shoulder.Lever
		left   shoulder.Trial
		want   string
		source string
	}{
		{"equal levers change nothing", []shoulder.Lever{lever(shoulder.SideUnknown, "0.2555")}, trial(left, "100"), "90.00", "90/100"},
		{"longer lever on the involved side", []shoulder.Lever{lever(right, "0.26"), lever(left, "0.25")}, trial(left, "100"), "93.60", "90 x 0.26 / (100 x 0.25)"},
		{"torque on the other side", []shoulder.Lever{lever(right, "0.25")}, trial(left, "25", inTorque), "90.00", "90 x 0.25 / 25"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := on(0, trial(right, "90"), tt.left)
			s.Levers = tt.levers
			m := measured(s)
			if len(m.Symmetries) != 1 {
				t.Fatalf("unpaired: %+v", m.Unpaired)
			}
			if got := m.Symmetries[0].Index.Text(2); got != tt.want || m.Symmetries[0].Dimension != shoulder.Torque {
				t.Errorf("index = %s of %vs, want %s of torques (%s)", got, m.Symmetries[0].Dimension, tt.want, tt.source)
			}
		})
	}
}

func TestTorqueOfForceAndLever(t *testing.T) {
	s := on(0, trial(right, "100"))
	s.Levers = []shoulder.Lever{{Source: 900, Metres: exact.MustParse("0.2555")}}
	scores := Scores(episode(s), protocol.Default())
	near(t, "torque", scores[0].Torque.Float64(), 25.55, 1e-9, "100 N at 0.146 of 1.75 m: Drillis and Contini 1966")
}

func TestEstimatedLever(t *testing.T) {
	height := &shoulder.Measured{Source: 901, Value: exact.MustParse("1.75")}
	forces, mixed := on(0, trial(right, "100"), trial(left, "110")), on(0, trial(right, "100"), trial(left, "28", inTorque))
	forces.Height, mixed.Height = height, height
	score := Scores(episode(forces), protocol.Default())[0]
	near(t, "torque", score.Torque.Float64(), 25.55, 1e-9, "Drillis and Contini 1966: 0.146 x 1.75 m x 100 N")
	if !score.LeverEstimated {
		t.Error("an estimated lever arm must be marked")
	}
	if s := measured(forces).Symmetries[0]; s.Dimension != shoulder.Force || s.LeverEstimated {
		t.Error("two forces are compared as they are")
	}
	if s := measured(mixed).Symmetries[0]; !s.LeverEstimated || s.Index.Text(2) != "91.25" {
		t.Errorf("index = %s, estimated %v, want 91.25 (25.55 of 28 N.m), marked", s.Index.Text(2), s.LeverEstimated)
	}
}

func TestVariationOfTrials(t *testing.T) {
	tests := []struct {
		name      string
		values    string
		want      float64
		tolerance float64
		source    string
	}{
		{"three trials", "100 105 95", 5.0, 1e-9, "by hand: s = 5, mean = 100"},
		{"close trials", "84.9 86.9 85.9", 1.1641, 5e-5, "sample SD 1 over 85.9"},
		{"published trials, dominant side", "76.5 80.9 77.8", 2.8833, 5e-5, "Awatani et al. 2016, means of three trials"},
		{"published trials, other side", "62.3 68.2 71.0", 6.6121, 5e-5, "Awatani et al. 2016, means of three trials"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var s shoulder.Session
			var values []float64
			for v := range strings.FieldsSeq(tt.values) {
				s.Trials = append(s.Trials, trial(right, v))
				values = append(values, exact.MustParse(v).Float64())
			}
			got := Scores(episode(s), protocol.Default())[0].Variation
			near(t, "CV", got, tt.want, tt.tolerance, tt.source)
			mean, sd := stat.MeanStdDev(values, nil)
			near(t, "CV", got, 100*sd/mean, 1e-9, "gonum stat")
		})
	}
}

func TestSingleTrialHasNoVariation(t *testing.T) {
	if v := Scores(episode(on(0, trial(right, "100"))), protocol.Default())[0].Variation; !math.IsNaN(v) {
		t.Errorf("variation of one trial = %v, want none", v)
	}
}

func TestScoreRule(t *testing.T) {
	s := on(0, trial(right, "90"), trial(right, "99"), trial(right, "96"))
	maximum, err := protocol.Load([]byte(`{"id":"clinic","trials":{"score":"maximum"}}`))
	if err != nil {
		t.Fatal(err)
	}
	if got := Scores(episode(s), protocol.Default())[0].Value.Text(1); got != "95.0" {
		t.Errorf("mean = %s, want 95.0 (by hand)", got)
	}
	if got := Scores(episode(s), maximum)[0].Value.Text(1); got != "99.0" {
		t.Errorf("maximum = %s, want 99.0 (by hand)", got)
	}
}

func TestOutlierIsNamedAndKept(t *testing.T) {
	odd := trial(right, "60")
	score := Scores(episode(on(0, trial(right, "98"), trial(right, "102"), odd)), protocol.Default())[0]
	if score.Outlier != odd.Source || score.Trials != 3 {
		t.Errorf("outlier = %d of %d trials, want %d of 3 (60 is 40 %% off the median 100 of the others)", score.Outlier, score.Trials, odd.Source)
	}
}

func TestOfTwoGroupsNeitherStandsApart(t *testing.T) {
	s := on(0, trial(right, "60"), trial(right, "61"), trial(right, "90"), trial(right, "92"))
	if score := Scores(episode(s), protocol.Default())[0]; score.Outlier >= 0 {
		t.Errorf("outlier = %d, want none: 90 bears 92 out, and 61 bears 60 out", score.Outlier)
	}
}

func TestConditionSetsTheError(t *testing.T) {
	painful := func(s shoulder.Session) shoulder.Session {
		s.Pains = []shoulder.Pain{{Context: shoulder.PainDuringResistedTest, Score: exact.Int(4)}}
		return s
	}
	tests := []struct {
		name    string
		session shoulder.Session
		want    string
	}{
		{"hand-held, supported", on(0, trial(right, "80")), "10"},
		{"belt-stabilised", on(0, trial(right, "80", by(shoulder.BeltStabilised))), "10"},
		{"hand-held, arm free", on(0, trial(right, "80", unsupported)), "14"},
		{"painful", painful(on(0, trial(right, "80"))), "14"},
		{"painful in spite of the belt", painful(on(0, trial(right, "80", by(shoulder.BeltStabilised)))), "14"},
		{"pain without a side is not the other shoulder's", painful(on(0, trial(left, "80"))), "10"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Scores(episode(tt.session), protocol.Default())[0].ErrorPercent.Value.String()
			if got != tt.want {
				t.Errorf("SEM = %s %%, want %s %% (protocol: 10 stabilised or usual, 14 painful or unstabilised)", got, tt.want)
			}
		})
	}
}

func TestFieller(t *testing.T) {
	const t10 = 2.228138851964939 // Student's t, 10 degrees of freedom, 95 %: standard tables
	tests := []struct {
		name            string
		a, sa, b, sb, z float64
		want            Interval
		tolerance       float64
		source          string
	}{
		{"published example", 14, 3, 7, 2, t10, Interval{Bounded, 0.889734, 5.836045}, 1e-4, "DCSTATS test data, 95 %"},
		{
			"two groups of six", 13.8156018784828, 2.5318571014924607 / math.Sqrt(6), 7.373761350516429, 1.7214705715414245 / math.Sqrt(6), t10,
			Interval{Bounded, 1.436957, 2.487249}, 1e-5, "quotient calculator quoted by DCSTATS",
		},
		{"80 against 100 N", 80, 7, 100, 7, 1.959964, Interval{Bounded, 0.63731, 0.99339}, 1e-4, "worked by hand in the reference"},
		{"90 against 100 N", 90, 5, 100, 5, 1.644854, Interval{Bounded, 0.79494, 1.01732}, 1e-4, "worked by hand in the reference"},
		{"comparison side not told from zero", 0, 7, 7, 7, 1.96, Interval{Bounds: Unbounded}, 0, "g = 3.84"},
		{"no error", 90, 0, 100, 0, 1.644854, Interval{Bounded, 0.9, 0.9}, 1e-12, "definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Fieller(tt.a, tt.sa, tt.b, tt.sb, tt.z)
			if got.Bounds != tt.want.Bounds {
				t.Fatalf("bounds = %v, want %v (%s)", got.Bounds, tt.want.Bounds, tt.source)
			}
			if got.Bounds == Bounded {
				near(t, "low", got.Low, tt.want.Low, tt.tolerance, tt.source)
				near(t, "high", got.High, tt.want.High, tt.tolerance, tt.source)
			}
		})
	}
}

func TestFiellerExclusive(t *testing.T) {
	got := Fieller(50, 1, 1, 2, 1.96)
	if got.Bounds != Exclusive || got.Contains((got.Low+got.High)/2) || !got.Contains(got.Low-1) || !got.Contains(got.High+1) {
		t.Errorf("Fieller(50, 1, 1, 2) = %+v, want all but an interval: the numerator is told from zero, the denominator is not", got)
	}
}

// Duality: x is in the set exactly when the pivot is within z.
func TestFiellerIsTheSetOfThePivot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, label) }
		a, sa := draw("a", 0, 300), draw("sa", 0.1, 60)
		b, sb := draw("b", 0, 300), draw("sb", 0.1, 60)
		x, z := draw("x", -5, 5), draw("z", 0.5, 3)
		pivot := math.Abs(a-x*b) / math.Hypot(sa, x*sb)
		if math.Abs(pivot-z) < 1e-6 {
			return
		}
		if got := Fieller(a, sa, b, sb, z).Contains(x); got != (pivot < z) {
			t.Fatalf("contains(%v) = %v, but the pivot is %v against %v", x, got, pivot, z)
		}
	})
}

func TestProbabilityAtLeast(t *testing.T) {
	near(t, "on the threshold", ProbabilityAtLeast(0.9, 90, 9, 100, 10), 0.5, 1e-12, "symmetry of the normal distribution")
	near(t, "one standard deviation above", ProbabilityAtLeast(1, 110, 6, 100, 8), 0.841344746, 1e-9, "standard normal table, z = 1")
	near(t, "no error, above", ProbabilityAtLeast(0.9, 91, 0, 100, 0), 1, 0, "definition")
	near(t, "no error, below", ProbabilityAtLeast(0.9, 89, 0, 100, 0), 0, 0, "definition")
}

func TestDetectable(t *testing.T) {
	tests := []struct {
		name            string
		sem, confidence float64
		want, tolerance float64
		source          string
	}{
		{"Holt inter-rater low", 4.80, 95, 13.29, 0.02 * 13.29, "Holt et al. 2016, 2 % for table rounding"},
		{"Holt inter-rater high", 8.60, 95, 23.70, 0.02 * 23.70, "Holt et al. 2016"},
		{"Holt fixed low", 6.60, 95, 18.40, 0.02 * 18.40, "Holt et al. 2016"},
		{"Holt fixed high", 11.00, 95, 30.04, 0.02 * 30.04, "Holt et al. 2016"},
		{"patients low", 7, 95, 19, 1, "doi:10.1016/j.jmpt.2025.10.004"},
		{"patients high", 14, 95, 38, 1, "doi:10.1016/j.jmpt.2025.10.004"},
		{"Weir at 95 %", 7.556927, 95, 20.946732, 1e-3, "Weir 2005, data set A; printed with z = 1.96"},
		{"Weir at 90 %", 7.556927, 90, 17.580293, 2e-3, "Weir 2005, data set A; printed with z = 1.645"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			near(t, "minimal detectable change", detectable(quantile(tt.confidence), tt.sem, tt.sem), tt.want, tt.tolerance, tt.source)
		})
	}
}

func TestChange(t *testing.T) {
	tests := []struct {
		name      string
		from, to  string
		direction Direction
		percent   string
		source    string
	}{
		{"80 to 95 N is within error", "80", "95", Unchanged, "18.75", "15 N against 1.96 x sqrt2 x 12.25 % of one trial x 87.5 = 29.7 N"},
		{"80 to 120 N is beyond", "80", "120", Improved, "50.00", "40 N against 33.9 N"},
		{"120 to 80 N is a decline", "120", "80", Declined, "-33.33", "40 N against 33.9 N"},
		{"20 to 33 N is within the floor", "20", "33", Unchanged, "65.00", "13 N against 1.96 x sqrt2 x 5 N = 13.86 N"},
		{"20 to 34 N is beyond the floor", "20", "34", Improved, "70.00", "14 N against 13.86 N"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, trial(right, tt.from)), on(14, trial(right, tt.to)))
			for _, c := range m.Changes {
				if c.Direction != tt.direction || c.Percent.Text(2) != tt.percent {
					t.Errorf("%v: %v, %s %%, want %v, %s %% (%s)", c.Against, c.Direction, c.Percent.Text(2), tt.direction, tt.percent, tt.source)
				}
			}
			if len(m.Changes) != 2 {
				t.Errorf("%d changes, want previous and baseline", len(m.Changes))
			}
		})
	}
}

func TestChangeKeepsConditionsApart(t *testing.T) {
	m := measured(on(0, trial(right, "80")), on(14, trial(right, "120", byBreak)))
	if len(m.Changes) != 0 {
		t.Errorf("changes = %+v, want none between make and break", m.Changes)
	}
}

func TestChangeOfRangeAndPain(t *testing.T) {
	session := func(n int, degrees, pain string, examiner shoulder.ExaminerID) shoulder.Session {
		return shoulder.Session{
			When:   day(n),
			Ranges: []shoulder.Range{{Movement: shoulder.Flexion, Side: right, Active: true, Degrees: exact.MustParse(degrees), Examiner: examiner}},
			Pains:  []shoulder.Pain{{Context: shoulder.PainWorst24h, Score: exact.MustParse(pain)}},
		}
	}
	tests := []struct {
		name        string
		from, to    shoulder.Session
		rangeChange Direction
		painChange  Direction
		source      string
	}{
		{"same examiner, 10 degrees and 2 points", session(0, "100", "5", 1), session(14, "110", "3", 1), Improved, Improved, "10 degrees same examiner; Farrar et al. 2001"},
		{"another examiner, 10 degrees and 1 point", session(0, "100", "5", 1), session(14, "110", "4", 2), Unchanged, Unchanged, "20 degrees otherwise"},
		{"unknown examiners, 20 degrees lost, 2 points more", session(0, "120", "3", 0), session(14, "100", "5", 0), Declined, Declined, "20 degrees otherwise"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, c := range measured(tt.from, tt.to).Changes {
				want := tt.rangeChange
				if c.Subject == PainChange {
					want = tt.painChange
				}
				if c.Direction != want {
					t.Errorf("%v against %v: %v, want %v (%s)", c.Subject, c.Against, c.Direction, want, tt.source)
				}
			}
		})
	}
}

func TestRatio(t *testing.T) {
	m := measured(on(0,
		trial(right, "6.2"), trial(left, "12.4"),
		trial(right, "9.8", turning(shoulder.Internal)), trial(left, "20.8", turning(shoulder.Internal))))
	want := map[shoulder.Side]string{right: "0.63265", left: "0.59615"}
	if len(m.Ratios) != 2 {
		t.Fatalf("%d ratios, want 2", len(m.Ratios))
	}
	for _, r := range m.Ratios {
		if got := r.Value.Text(5); got != want[r.External.Side] || r.Relation != BelowBand {
			t.Errorf("%v ratio = %s %v, want %s below (PMC7394793 table 1; band from 0.70)", r.External.Side, got, r.Relation, want[r.External.Side])
		}
	}
}

func TestNoUnaffectedSideNoSymmetry(t *testing.T) {
	e := episode(on(0, trial(right, "90"), trial(left, "100")))
	e.ComparisonAffected = true
	if m := Measure(e, protocol.Default()); len(m.Symmetries) != 0 {
		t.Errorf("%d symmetries, want none without an unaffected side", len(m.Symmetries))
	}
}

func TestDominanceCorrection(t *testing.T) {
	p, err := protocol.Load([]byte(`{"id":"clinic","symmetry":{"dominance":{"enabled":true}}}`))
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name   string
		hand   shoulder.Handedness
		want   string
		source string
	}{
		{"involved side dominant", shoulder.RightHanded, "90.00", "111/111 x 90: Tyler et al. 2005, 11 % in internal rotation at 90/90"},
		{"comparison side dominant", shoulder.LeftHanded, "110.89", "99.9 x 1.11"},
		{"not known", shoulder.HandednessUnknown, "99.90", "no correction"},
		{"ambidextrous", shoulder.Ambidextrous, "99.90", "no correction"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			options := []func(*shoulder.Trial){turning(shoulder.Internal), at(shoulder.Abduction90)}
			e := episode(on(0, trial(right, "99.9", options...), trial(left, "100", options...)))
			e.Handedness = tt.hand
			if got := Measure(e, p).Symmetries[0].Index.Text(2); got != tt.want {
				t.Errorf("index = %s, want %s (%s)", got, tt.want, tt.source)
			}
			if got := Measure(e, protocol.Default()).Symmetries[0].Index.Text(2); got != "99.90" {
				t.Errorf("default index = %s, want 99.90: correction is off", got)
			}
		})
	}
}

func TestFewTrialsFollowsTheProtocol(t *testing.T) {
	for _, tt := range []struct {
		minimum int64
		trials  int
		want    bool
	}{
		{1, 1, false},
		{2, 1, true},
		{2, 2, false},
		{3, 2, true},
		{3, 3, false},
	} {
		p := protocol.Default()
		p.Trials.Minimum.Value = exact.Int(tt.minimum)
		trials := make([]shoulder.Trial, tt.trials)
		for i := range trials {
			trials[i] = trial(right, "80")
		}
		if got := Scores(episode(on(0, trials...)), p)[0].FewTrials; got != tt.want {
			t.Errorf("%d trials of at least %d: few = %v, want %v (by the threshold)", tt.trials, tt.minimum, got, tt.want)
		}
	}
}
