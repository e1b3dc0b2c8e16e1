package redflag

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Better is less pain, and more of anything else, than what raised the flag.
func TestBetterThanWhatRaisedTheFlag(t *testing.T) {
	for _, tt := range []struct {
		code       Code
		now, since int
		want       bool
	}{
		{SuddenStrengthLoss, 40, 50, true}, {SuddenStrengthLoss, 40, 40, false}, {SuddenStrengthLoss, 40, 30, false},
		{RangeLoss, 90, 100, true}, {CannotLift, 70, 60, false}, {NearZeroForce, 0, 8, true},
		{PainSurge, 8, 6, true}, {PainSurge, 8, 8, false}, {PainSurge, 8, 9, false},
		{HighRestPain, 8, 6, true}, {HighRestPain, 8, 8, false}, {HighRestPain, 8, 9, false},
	} {
		f := Flag{Code: tt.code, Now: Measured{Value: exact.Int(int64(tt.now))}, Since: Measured{Value: exact.Int(int64(tt.since))}}
		if got := f.Better(); got != tt.want {
			t.Errorf("%v: %d after %d is better: %v, want %v (by definition)", tt.code, tt.since, tt.now, got, tt.want)
		}
	}
}

// Almost no strength of a rotation is found whatever else was tested in the session, and a grade of almost none is answered
// by a single strength of a later day.
func TestAlmostNoneBesideOthers(t *testing.T) {
	weak := one(right, shoulder.External, shoulder.AtSide, "5", "5", "5")
	strong := one(right, shoulder.AbductionMotion, shoulder.AtSide, "100", "100", "100")
	for name, tt := range map[string]struct {
		of   *shoulder.Episode
		want string
	}{
		"a weak rotation beside a strong abduction":  {episode(visit(0, weak, strong)), "near-zero-force"},
		"a weak abduction beside a strong rotation":  {episode(visit(0, one(right, shoulder.External, shoulder.AtSide, "100", "100", "100"), one(right, shoulder.AbductionMotion, shoulder.AtSide, "5", "5", "5"))), "near-zero-force"},
		"a grade of 1, then 100 N":                   {episode(visit(0, grade(right, shoulder.Grade1)), visit(14, one(right, shoulder.External, shoulder.AtSide, "100", "100", "100"))), ""},
		"a grade of 1, then 100 N of the other side": {episode(visit(0, grade(right, shoulder.Grade1)), visit(14, one(left, shoulder.External, shoulder.AtSide, "100", "100", "100"))), "near-zero-force"},
	} {
		if got := codes(found(tt.of)); got != tt.want {
			t.Errorf("%s: %q, want %q (safety rules, 1)", name, got, tt.want)
		}
	}
}
