package reliability

import (
	"errors"
	"math"
	"testing"
)

// Weir 2005, data set A.
var weir = [][]float64{
	{146, 140}, {148, 152}, {170, 152}, {90, 99}, {157, 145}, {156, 153}, {176, 167}, {205, 218},
}

// Shrout and Fleiss 1979, table 2 (data from memory).
var shroutFleiss = [][]float64{
	{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7},
}

func TestPublishedStudies(t *testing.T) {
	analysed := func(rows [][]float64) *TwoWay {
		s, err := AnalyseTwoWay(rows, 95)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	w, sf := analysed(weir), analysed(shroutFleiss)
	const weirSource, sfSource = "Weir 2005, data set A", "Shrout and Fleiss 1979"
	tests := []struct {
		name      string
		got, want float64
		tolerance float64
		source    string
	}{
		{"mean square of error", w.MSError, 57.107143, 1e-6, weirSource},
		{"SEM", w.SEMConsistency, 7.556927, 1e-6, weirSource},
		{"SEM as printed", w.SEMConsistency, 7.6, 0.05, weirSource + ", page 236"},
		{"ICC(2,1)", w.ICC21.Value, 0.949975, 1e-6, weirSource},
		{"ICC(3,1)", w.ICC31.Value, 0.947016, 1e-6, weirSource},
		{"ICC(1,1)", sf.ICC11.Value, 0.165742, 1e-6, sfSource},
		{"ICC(2,1)", sf.ICC21.Value, 0.289764, 1e-6, sfSource},
		{"ICC(3,1)", sf.ICC31.Value, 0.714841, 1e-6, sfSource},
		// Intervals of the same data as the R package psych documents them.
		{"ICC(1,1) low", sf.ICC11.Low, -0.133, 1e-3, sfSource + ", psych::ICC, from memory"},
		{"ICC(1,1) high", sf.ICC11.High, 0.723, 1e-3, sfSource + ", psych::ICC, from memory"},
		{"ICC(2,1) low", sf.ICC21.Low, 0.019, 1e-3, sfSource + ", psych::ICC, from memory"},
		{"ICC(2,1) high", sf.ICC21.High, 0.761, 1e-3, sfSource + ", psych::ICC, from memory"},
		{"ICC(3,1) low", sf.ICC31.Low, 0.342, 1e-3, sfSource + ", psych::ICC, from memory"},
		{"ICC(3,1) high", sf.ICC31.High, 0.946, 1e-3, sfSource + ", psych::ICC, from memory"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if math.IsNaN(tt.got) || math.Abs(tt.got-tt.want) > tt.tolerance {
				t.Errorf("%s = %.6f, want %.6f within %g (%s)", tt.name, tt.got, tt.want, tt.tolerance, tt.source)
			}
		})
	}
}

func TestPerfectAgreement(t *testing.T) {
	s, err := AnalyseTwoWay([][]float64{{100, 100}, {120, 120}, {80, 80}}, 95)
	if err != nil {
		t.Fatal(err)
	}
	if s.SEMConsistency > 1e-9 || s.ICC21.Value < 1-1e-9 || s.ICC31.Value < 1-1e-9 { // binary rounding
		t.Errorf("SEM %v, ICC %v, %v, want 0, 1, 1 (definition)", s.SEMConsistency, s.ICC21.Value, s.ICC31.Value)
	}
}

func TestTwoWayRefuses(t *testing.T) {
	tests := []struct {
		name string
		rows [][]float64
		want error
	}{
		{"nobody", nil, ErrTooFew},
		{"two subjects", [][]float64{{1, 2}, {3, 4}}, ErrTooFew},
		{"one trial", [][]float64{{1}, {2}, {3}}, ErrTooFew},
		{"ragged", [][]float64{{1, 2}, {3, 4}, {5}}, ErrRagged},
		{"no spread", [][]float64{{5, 5}, {5, 5}, {5, 5}}, ErrNoSpread},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := AnalyseTwoWay(tt.rows, 95); !errors.Is(err, tt.want) {
				t.Errorf("err = %v, want %v", err, tt.want)
			}
		})
	}
}
