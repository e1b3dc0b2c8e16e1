package statistics

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// reference is testdata/reference.json, what NumPy, SciPy and lifelines say of invented
// numbers; testdata/reference.py makes it.
type reference struct {
	Percentiles struct{ Values, Fractions, Want []float64 }
	KaplanMeier struct {
		Times      []float64
		Happened   []bool
		Confidence float64
		Want       []struct {
			Time                   float64
			AtRisk, Happened, Left int
			Share, Low, High       float64
		}
	}
	Turnbull struct {
		Left  []float64
		Right []*float64
		Want  []struct{ Time, Share float64 }
	}
	Deviation struct {
		Differences                  []float64
		Confidence, Value, Low, High float64
	}
}

func readReference(t *testing.T) (r reference) {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err == nil {
		err = json.Unmarshal(text, &r)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

func TestPercentilesAreThoseOfNumPy(t *testing.T) {
	r := readReference(t).Percentiles
	for i, fraction := range r.Fractions {
		if got := Percentile(r.Values, fraction); !near(got, r.Want[i], 1e-9) {
			t.Errorf("Percentile(%v) = %v, want %v", fraction, got, r.Want[i])
		}
	}
}

func TestKaplanMeierIsThatOfLifelines(t *testing.T) {
	r := readReference(t).KaplanMeier
	all := make([]Observed, len(r.Times))
	for i := range all {
		all[i] = Observed{r.Times[i], r.Happened[i]}
	}
	got := KaplanMeier(all, r.Confidence)
	if len(got) != len(r.Want) || len(got) == 0 {
		t.Fatalf("%d steps, want %d", len(got), len(r.Want))
	}
	for i, want := range r.Want {
		g := got[i]
		if g.Time != want.Time || g.AtRisk != want.AtRisk || g.Happened != want.Happened || g.Left != want.Left {
			t.Errorf("step %d = %+v, want %+v", i, g, want)
		}
		low, high := want.Low, want.High
		if want.Share == 1 || want.Share == 0 { // lifelines gives no band there
			low, high = want.Share, want.Share
		}
		if !near(g.Share, want.Share, 1e-12) || !near(g.Low, low, 1e-9) || !near(g.High, high, 1e-9) {
			t.Errorf("at %v: %v (%v to %v), want %v (%v to %v)", g.Time, g.Share, g.Low, g.High, want.Share, low, high)
		}
	}
}

func TestTurnbullIsThatOfLifelines(t *testing.T) {
	r := readReference(t).Turnbull
	all := make([]Interval, len(r.Left))
	for i := range all {
		all[i] = Interval{r.Left[i], math.Inf(1)}
		if r.Right[i] != nil {
			all[i].Right = *r.Right[i]
		}
	}
	masses := Turnbull(all)
	if len(r.Want) < 10 {
		t.Fatalf("%d times to compare at, want more", len(r.Want))
	}
	for _, want := range r.Want {
		share, within := 1.0, false
		for _, m := range masses {
			within = within || m.Left < want.Time && want.Time < m.Right
			if m.Right <= want.Time {
				share -= m.Share
			}
		}
		if !within && !near(share, want.Share, 1e-4) {
			t.Errorf("at %v: %v, want %v", want.Time, share, want.Share)
		}
	}
}

func TestTurnbullByHand(t *testing.T) {
	inf := math.Inf(1)
	tests := []struct {
		name string
		all  []Interval
		want []Mass
	}{
		{"nobody", nil, nil},
		{"nobody seen", []Interval{{3, inf}, {5, inf}}, []Mass{{Interval{5, inf}, 1}}},
		{"two apart", []Interval{{0, 2}, {2, 4}}, []Mass{{Interval{0, 2}, 0.5}, {Interval{2, 4}, 0.5}}},
		{"one covers another", []Interval{{0, 9}, {2, 4}}, []Mass{{Interval{2, 4}, 1}}},
		// One of four in (0,1], and of the three that are left one in (2,3]: 1/4, 3/4.
		{"who left tells of the rest", []Interval{{0, 1}, {2, 3}, {1, inf}, {1, inf}}, []Mass{{Interval{0, 1}, 0.25}, {Interval{2, 3}, 0.75}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Turnbull(tt.all)
			if len(got) != len(tt.want) {
				t.Fatalf("masses %v, want %v", got, tt.want)
			}
			for i, m := range got {
				if m.Interval != tt.want[i].Interval || !near(m.Share, tt.want[i].Share, 1e-4) {
					t.Errorf("mass %v, want %v", m, tt.want[i])
				}
			}
		})
	}
}

func TestDeviationIsThatOfSciPy(t *testing.T) {
	r := readReference(t).Deviation
	got := OfDifferences(r.Differences, r.Confidence)
	if !near(got.Value, r.Value, 1e-9) || !near(got.Low, r.Low, 1e-6) || !near(got.High, r.High, 1e-6) || got.Pairs != len(r.Differences) {
		t.Errorf("OfDifferences = %+v, want %v (%v to %v)", got, r.Value, r.Low, r.High)
	}
}

// On drawn data of which the truth is known: with exponential times of mean 10, half have
// it after 10 ln 2. The tolerance is four standard errors of the share.
func TestKnownTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const n, mean = 4000, 10.0
	half := mean * math.Ln2
	var observed []Observed
	var intervals []Interval
	for range n {
		happens, leaves := mean*rng.ExpFloat64(), 30*rng.ExpFloat64()
		observed = append(observed, Observed{math.Min(happens, leaves), happens <= leaves})
		i := Interval{0, math.Inf(1)}
		for visit := 3 * rng.Float64(); visit < 40; visit += 1 + 3*rng.Float64() {
			if visit = math.Ceil(2*visit) / 2; visit >= happens {
				i.Right = visit
				break
			}
			i.Left = visit
		}
		intervals = append(intervals, i)
	}
	share, within := 1.0, false
	for _, s := range KaplanMeier(observed, 0.99) {
		if s.Time <= half {
			share, within = s.Share, s.Low <= 0.5 && 0.5 <= s.High
		}
	}
	if !near(share, 0.5, 0.04) || !within {
		t.Errorf("Kaplan-Meier: %v at the median, want 0.5 within the band", share)
	}
	happened := 0.0
	for _, m := range Turnbull(intervals) {
		if m.Right <= half {
			happened += m.Share
		}
	}
	if !near(happened, 0.5, 0.05) {
		t.Errorf("Turnbull: %v at the median, want 0.5", happened)
	}
}
