package measure

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
)

// The limits are those of the default protocol: 97.5 and 90 %, and the contrary as improbable.
func TestCertaintyOf(t *testing.T) {
	for probability, want := range map[float64]Certainty{
		1: ClearlyMet, 0.975: ClearlyMet, 0.9749: ProbablyMet, 0.9: ProbablyMet, 0.8999: NotClear, 0.5: NotClear,
		0.1001: NotClear, 0.0999: ProbablyNot, 0.0251: ProbablyNot, 0.0249: ClearlyNot, 0: ClearlyNot,
	} {
		got := CertaintyOf(probability, protocol.Default())
		if got != want {
			t.Errorf("CertaintyOf(%v) is %v, want %v", probability, got, want)
		}
		if got.Met() && got.Not() {
			t.Errorf("%v is both met and not", got)
		}
	}
}

// A change of 10 that counts at 95 % is a standard error of 10 / (1.96 sqrt 2) = 3.608 of one
// value: a margin of 10 is 2.772 of them, 5 are 1.386 and 2 are 0.554, of which the standard
// normal distribution gives 0.9972, 0.9171 and 0.7102.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, table of the normal distribution.
func TestCertaintyOfMargin(t *testing.T) {
	for margin, want := range map[int64]Certainty{10: ClearlyMet, 5: ProbablyMet, 2: NotClear, 0: NotClear, -2: NotClear, -5: ProbablyNot, -10: ClearlyNot} {
		if got := CertaintyOfMargin(exact.Int(margin), exact.Int(10), protocol.Default()); got != want {
			t.Errorf("a margin of %d is %v, want %v", margin, got, want)
		}
	}
	if got := CertaintyOfMargin(exact.Int(0), exact.Int(0), protocol.Default()); got != ClearlyMet {
		t.Errorf("without error it is %v, want clearly met", got)
	}
}

// A gain as large as the change that can be detected at 95 % is above zero with 97.5 %; one of
// 8 / 10.9 of it is 1.44 standard errors, of which the normal distribution gives 0.925.
func TestCertaintyOfGain(t *testing.T) {
	for difference, want := range map[int64]Certainty{11: ClearlyMet, 8: ProbablyMet, 5: NotClear, 0: NotClear, -5: NotClear, -8: ProbablyNot, -11: ClearlyNot} {
		if got := CertaintyOfGain(&Change{Difference: exact.Int(difference), Detectable: 10.9}, protocol.Default()); got != want {
			t.Errorf("a gain of %d is %v, want %v", difference, got, want)
		}
	}
}
