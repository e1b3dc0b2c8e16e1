package measure

import (
	"math"
	"testing"

	"evenreach.example/internal/protocol"
)

// The rules about exchanged sides, each alone, by numbers that can be followed by hand. Logs are logarithms of involved over
// comparison; the protocol's limits are 130 % for a single index, 115 % for most, and a false alarm in 0.5 %.

// logs are tests of one session with a standard error of the logarithm of 1 %.
func logs(of ...float64) (pairs []pair) {
	for _, x := range of {
		pairs = append(pairs, pair{involved: &Score{}, comparison: &Score{}, log: x, variance: 0.0001})
	}
	return pairs
}

func rules(z float64, before ...float64) *doubtFinder {
	return &doubtFinder{p: protocol.Default(), z: z, ratios: before}
}

// With a standard error of 0.1 for a session, that of its difference from the mean of n sessions before is 0.1 x sqrt(1 + 1/n):
// 0.141, 0.122 and 0.115 for n of 1, 2 and 3. A false alarm of 0.5 % asks for a logarithm of the likelihood ratio of 5.30.
func TestSidesThatFitExchanged(t *testing.T) {
	tests := []struct {
		name   string
		z      float64
		before []float64
		now    []float64
		want   bool
		hand   string
	}{
		{"as before", 2, []float64{-0.4}, []float64{-0.4, -0.4}, false, "0 errors off"},
		{"the other way round", 2, []float64{-0.4}, []float64{0.4, 0.4}, true, "0.8/0.141 = 5.7 off, exchanged 0; 16 > 5.3"},
		{"the other way round, by the mean", 2, []float64{-0.4}, []float64{0.2, 0.6}, true, "the mean is 0.4"},
		{"less the other way round", 2, []float64{-0.4}, []float64{0.2, 0.2}, true, "4.2 off, exchanged 1.4; 8 > 5.3"},
		{"too little the other way round", 2, []float64{-0.4}, []float64{0.1, 0.1}, false, "exchanged 2.1 off"},
		{"too far the other way round", 2, []float64{-0.4}, []float64{0.8, 0.8}, false, "exchanged 2.8 off"},
		{"little above after little below", 2, []float64{-0.15}, []float64{0.15, 0.15}, false, "2.1 off; 2.25 < 5.3"},
		{"too little against what else it may be", 2, []float64{-0.1414}, []float64{0.3535, 0.3535}, false, "3.5 off, exchanged 1.5; (12.25 - 2.25) / 2 = 5.0 < 5.3"},
		{"within what is usual", 4, []float64{-0.25}, []float64{0.25, 0.25}, false, "3.5 off < 4"},
		{"two before, by their mean", 2, []float64{-0.2, -0.6}, []float64{0.4, 0.4}, true, "0.8/0.122 = 6.5 off, exchanged 0"},
		{"two before, near the limit", 2, []float64{-0.4, -0.4}, []float64{0.19, 0.19}, true, "0.59/0.122 = 4.8 off, exchanged 1.7; 10 > 5.3"},
		{"the oldest of four is past", 2, []float64{5, -0.4, -0.4, -0.4}, []float64{0.4, 0.4}, true, "the mean of three is -0.4"},
		{"nothing before", 2, nil, []float64{0.4, 0.4}, false, "nothing to fit"},
		{"one test", 2, []float64{-0.4}, []float64{0.4}, false, "one test shows no session"},
	}
	for _, tt := range tests {
		if got := rules(tt.z, tt.before...).fitsExchanged(logs(tt.now...), 0.1); got != tt.want {
			t.Errorf("%s: %v, want %v (by hand: %s)", tt.name, got, tt.want, tt.hand)
		}
	}
}

// The mean of n sessions has a standard error of 0.1 / sqrt(n).
func TestSidesThatAreAlwaysExchanged(t *testing.T) {
	tests := []struct {
		name   string
		before []float64
		now    float64
		want   bool
		hand   string
	}{
		{"nothing before", nil, 0.3, false, "no session before"},
		{"one before, too little", []float64{0.1}, 0.1, false, "0.1 < 2 x 0.071"},
		{"one before", []float64{0.2}, 0.1, true, "0.15 > 0.141"},
		{"two before", []float64{0.2, 0.2}, 0.1, true, "0.167 > 0.115"},
		{"two before, one below", []float64{-0.2, 0.2}, 0.1, false, "0.033 < 0.115"},
		{"the oldest of three is past", []float64{-5, 0.2, 0.2}, 0.1, true, "0.167 > 0.115"},
	}
	for _, tt := range tests {
		if got := rules(2, tt.before...).alwaysAbove(tt.now, 0.1); got != tt.want {
			t.Errorf("%s: %v, want %v (by hand: %s)", tt.name, got, tt.want, tt.hand)
		}
	}
}

// Most is more than half, of two at least, and over the limit is more than 115 %.
func TestMostIndicesAbove(t *testing.T) {
	limit, above, below := math.Log(1.15), math.Log(1.2), math.Log(1.1)
	for name, tt := range map[string]struct {
		now  []float64
		want bool
	}{
		"one":              {[]float64{above}, false},
		"one of two":       {[]float64{above, below}, false},
		"two of two":       {[]float64{above, above}, true},
		"two of three":     {[]float64{above, below, above}, true},
		"two on the limit": {[]float64{limit, limit}, false},
		"none":             {nil, false},
	} {
		if got := rules(2).overMost(logs(tt.now...)); got != tt.want {
			t.Errorf("%s: %v, want %v (protocol: 115 %%)", name, got, tt.want)
		}
	}
}

// A single index is over the limit beyond 130 % and beyond its own error; the highest is named.
func TestSingleIndicesAbove(t *testing.T) {
	limit := math.Log(1.3)
	all := logs(limit+0.1, limit+0.3, limit+0.2, limit, 0.1)
	uncertain := logs(limit + 0.5)
	uncertain[0].variance = 1
	if highest, above := rules(2).highest(all); highest != &all[1] || above != 3 {
		t.Errorf("%d, the highest %+v; want 3, the second", above, highest)
	}
	if highest, above := rules(2).highest(append(uncertain, all[:2]...)); highest == nil || highest.log != all[1].log || above != 2 {
		t.Errorf("%d, the highest %+v; want 2 beside an uncertain one", above, highest)
	}
	if highest, above := rules(2).highest(logs(limit, 0)); highest != nil || above != 0 {
		t.Errorf("%d, the highest %+v; want none on the limit", above, highest)
	}
	for _, of := range [][]float64{{0.1, 0.3, 0.2}, {0.3, 0.1}, {-0.3, -0.1}} {
		if got := clearest(logs(of...)).log; got != map[int]float64{3: 0.3, 2: math.Max(of[0], of[1])}[len(of)] {
			t.Errorf("of %v %v is the clearest", of, got)
		}
	}
}

// Sides are settled where both numbers of every test were confirmed.
func TestConfirmedPairs(t *testing.T) {
	above := math.Log(1.2)
	half, whole := logs(above, above), logs(above, above)
	for i := range whole {
		half[i].involved.Confirmed = true
		whole[i].involved.Confirmed, whole[i].comparison.Confirmed = true, true
	}
	if half[0].confirmed() || !whole[0].confirmed() {
		t.Errorf("confirmed %v by one number and %v by both, want false and true", half[0].confirmed(), whole[0].confirmed())
	}
	d := rules(2)
	if d.swapped(nil, whole) || !d.confirmedAbove {
		t.Errorf("confirmed above %v, want it noted and nothing in doubt", d.confirmedAbove)
	}
	even := logs(0, 0)
	for i := range even {
		even[i].involved.Confirmed, even[i].comparison.Confirmed = true, true
	}
	if d.swapped(nil, even) || !d.confirmedAbove {
		t.Error("an even session takes back what was confirmed before")
	}
	if fresh := rules(2); fresh.swapped(nil, even) || fresh.confirmedAbove {
		t.Error("an even session confirms that a side is the stronger one")
	}
}

// Trials without strength are far from any that has some.
func TestTrialsWithoutStrength(t *testing.T) {
	limit := protocol.Default().Doubt.TrialRatio
	for _, tt := range []struct {
		middle, trial float64
		want          bool
	}{{0, 0, false}, {0, 10, true}, {10, 0, true}, {10, 10, false}} {
		if got := farFrom(tt.middle, tt.trial, limit); got != tt.want {
			t.Errorf("%v beside %v: %v, want %v (by definition)", tt.trial, tt.middle, got, tt.want)
		}
	}
}
