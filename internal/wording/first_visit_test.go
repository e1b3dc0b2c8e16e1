package wording

import (
	"strings"
	"testing"

	"evenreach.example/internal/readiness"
)

// At a first visit nothing is said to go on, in any language, on either page; at a later one it is. Source: ours: what was
// not measured before is not known to be under way.
func TestNothingGoesOnAtAFirstVisit(t *testing.T) {
	goesOn := map[string][]string{
		"en": {"goes on", "Go on"}, "de": {"geht weiter", "weiter mit"}, "fr": {"continue", "encore vos exercices"},
	}
	for language, words := range goesOn {
		c := For(language)
		for _, affected := range []bool{false, true} {
			for _, first := range []bool{false, true} {
				r := &readiness.Readiness{Overall: readiness.Strengthening, ComparisonAffected: affected, FirstVisit: first}
				r.Motions = []readiness.MotionReadiness{{Positions: make([]readiness.PositionReadiness, 3)}, {Positions: make([]readiness.PositionReadiness, 3)}}
				for i, says := range []string{c.Decision(r), c.Plain().Decision(r)} {
					if strings.Contains(says, words[i]) == first {
						t.Errorf("%s, first visit %t: %q", language, first, says)
					}
				}
			}
		}
	}
}
