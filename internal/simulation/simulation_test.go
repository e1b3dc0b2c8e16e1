package simulation

import (
	"math"
	"testing"
)

// The seed is fixed, so the figures do not move from run to run; the bounds
// allow for the smaller number of patients than in the report.
func TestIntervalCoversAndProbabilityIsCalibrated(t *testing.T) {
	for _, sem := range Errors {
		r, err := Run(1, 300, sem)
		if err != nil {
			t.Fatal(err)
		}
		if c := r.Coverage(); c < 88.5 || c > 91.5 {
			t.Errorf("SEM %d %%: the 90 %% interval covers the truth in %.2f %%, want 88.5 to 91.5", sem, c)
		}
		for i, bin := range r.Neutral {
			share := bin.Sum / float64(bin.Count)
			fourErrors := 400 * math.Sqrt(share*(1-share)/float64(bin.Count))
			if bin.Count < 100 || math.Abs(bin.Deviation()) > fourErrors {
				t.Errorf("SEM %d %%, tenth %d: off by %.1f points in %d predictions", sem, i, bin.Deviation(), bin.Count)
			}
		}
	}
}

func TestTheProductBeatsASingleSession(t *testing.T) {
	for _, sem := range Errors {
		r, err := Run(1, 300, sem)
		if err != nil {
			t.Fatal(err)
		}
		single, product := r.Decisions[SingleSession], r.Decisions[Product]
		if product.DeclaredWrongly*single.Declared > single.DeclaredWrongly*product.Declared {
			t.Errorf("SEM %d %%: wrong among the declared %d of %d, single session %d of %d",
				sem, product.DeclaredWrongly, product.Declared, single.DeclaredWrongly, single.Declared)
		}
		if product.HeldBack > single.HeldBack {
			t.Errorf("SEM %d %%: held back %d of %d, single session %d", sem, product.HeldBack, product.Even, single.HeldBack)
		}
	}
}

func TestSameSeedSameResult(t *testing.T) {
	a, errA := Run(7, 20, 10)
	b, errB := Run(7, 20, 10)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if *a != *b {
		t.Error("the same seed gave another result")
	}
	c, err := Run(8, 20, 10)
	if err != nil {
		t.Fatal(err)
	}
	if *a == *c {
		t.Error("another seed gave the same result")
	}
}
