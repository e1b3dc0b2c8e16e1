package wording

import (
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/healing"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// What a healed repair bears is not said to a patient whose tests do not allow it: a line that
// names sport would be read as leave for it.
func TestHealingIsNoLeaveForSport(t *testing.T) {
	operated := time.Date(2025, 10, 17, 0, 0, 0, 0, time.UTC)
	for _, language := range Languages() {
		p := For(language).Plain()
		for _, phase := range []shoulder.LoadPhase{shoulder.LoadElevated, shoulder.LoadFunctional, shoulder.LoadSport} {
			state := healing.State{Phase: phase, Next: phase, Basis: healing.ByTime, Repair: &shoulder.Repair{Date: operated}, Days: 210}
			for _, overall := range readiness.Overalls {
				r := &readiness.Readiness{Overall: overall, Tissue: readiness.Tissue{Healing: state}}
				named := strings.Contains(strings.Join(p.Healing(r), " "), term(p.c.plainTerms.loadPhase, phase))
				want := (phase < shoulder.LoadFunctional || overall == readiness.ReadyForFunctional) && !r.Examine()
				if named != want {
					t.Errorf("%s, %v, %v: the phase is named %v, want %v: %q", language, phase, overall, named, want, p.Healing(r))
				}
			}
		}
	}
}
