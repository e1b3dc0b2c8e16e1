package healing

import (
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func unread(days int) change {
	return func(e *shoulder.Episode) {
		e.Unread = append(e.Unread, shoulder.Permit{Source: 6, When: after(days), Phase: shoulder.LoadSubmaximalAtSide})
	}
}

// What could not be read permits no more than the least that it may have said, until a
// later statement replaces it.
func TestAnUnreadStatementHoldsBack(t *testing.T) {
	const careful = shoulder.LoadSubmaximalAtSide
	undated := func(phase shoulder.LoadPhase) change {
		return func(e *shoulder.Episode) { e.Unread = append(e.Unread, shoulder.Permit{Source: 6, Phase: phase}) }
	}
	otherSide := func(e *shoulder.Episode) { e.Unread[0].Side = e.Involved.Other() }
	tests := []struct {
		name  string
		of    *shoulder.Episode
		phase shoulder.LoadPhase
		basis Basis
	}{
		{"without a repair", of(unread(100)), careful, Unread},
		{"after a repair", of(repair(0), unread(280)), careful, Unread},
		{"without a date", of(repair(0), undated(none)), none, Unread},
		{"without a date, although permitted later", of(repair(0), undated(careful), permit(290, sport)), careful, Unread},
		{"a permit of a later day", of(repair(0), unread(280), permit(281, sport)), sport, Permitted},
		{"a permit of the same day", of(repair(0), unread(280), permit(280, sport)), careful, Unread},
		{"an examination of a later day", of(unread(280), examined(after(281), true, true)), sport, NoRepair},
		{"before the repair", of(repair(0), func(e *shoulder.Episode) {
			e.Unread = append(e.Unread, shoulder.Permit{When: after(-10), Phase: careful})
		}), sport, ByTime},
		{"not yet made", of(unread(400)), sport, NoRepair},
		{"of the other side", of(unread(100), otherSide), sport, NoRepair},
		{"more than the weeks permit", of(repair(0), undated(sport)), sport, ByTime},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := At(tt.of, protocol.Default(), after(300))
			if s.Phase != tt.phase || s.Basis != tt.basis || !s.NextDate.IsZero() {
				t.Errorf("%v by %d, next on %v, want %v by %d (source: ours)", s.Phase, s.Basis, s.NextDate, tt.phase, tt.basis)
			}
		})
	}
}
