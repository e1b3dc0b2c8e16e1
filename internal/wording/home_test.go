package wording

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/plan"
)

// Loads by pencil and paper: the share of the strength, and what weighs as much, never more
// than that.
func TestLoadByHand(t *testing.T) {
	for _, tt := range []struct {
		language string
		unit     ForceUnit
		newtons  string
		want     string
		source   string
	}{
		{"en", Newton, "40.6", "Push with about 40 N at your hand, as much as 4 kg weigh.", "70 % of 58 N; 40.6 / 9.80665 = 4.14"},
		{"en", Newton, "70", "Push with about 70 N at your hand, as much as 7 kg weigh.", "70 % of 100 N; 70 / 9.80665 = 7.14"},
		{"en", Newton, "54.6", "Push with about 54 N at your hand, as much as 5.5 kg weigh.", "70 % of 78 N; 5.57"},
		{"en", Newton, "4.9", "Push with about 4 N at your hand.", "4.9 / 9.80665 = 0.4997, below half a kilogram"},
		{"de", Newton, "54.6", "Drücken Sie mit etwa 54 N an der Hand, so viel wie 5,5 kg wiegen.", "the same"},
		{"en", KilogramForce, "54.6", "Push with about 5.5 kgf at your hand, as much as 5.5 kg weigh.", "5.57"},
		{"en", PoundForce, "54.6", "Push with about 12.2 lbf at your hand, as much as 12 lb weigh.", "54.6 / 4.44822 = 12.27"},
	} {
		e := &plan.Exercise{Mode: plan.Isometric, Load: &plan.Load{Force: exact.MustParse(tt.newtons)}}
		if got := For(tt.language).InForce(tt.unit).Plain().Load(e); got != tt.want {
			t.Errorf("%s %s N in %s: %q, want %q (%s)", tt.language, tt.newtons, tt.unit, got, tt.want, tt.source)
		}
	}
}

// Each rotation in each trained position is told in words of its own.
func TestPicturesAreTold(t *testing.T) {
	for _, c := range languages {
		for name, table := range map[string][]string{"push": c.plainTerms.push, "pull": c.plainTerms.pull} {
			seen := map[string]bool{}
			for _, text := range table {
				if text == "" || seen[text] {
					t.Errorf("%s: %s: %q is empty or told twice", c.language, name, text)
				}
				seen[text] = true
			}
			if len(table) != len(english.plainTerms.push) || len(table) != 6 {
				t.Errorf("%s: %s: %d texts", c.language, name, len(table))
			}
		}
	}
}
