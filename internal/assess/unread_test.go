package assess

import (
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// A statement about the load that could not be read never opens anything, whatever it may
// have said.
func TestAnUnreadStatementNeverOpens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		before := assessed(e).Readiness
		unread := shoulder.Permit{Phase: rapid.SampledFrom(shoulder.LoadPhases[:]).Draw(t, "phase")}
		if rapid.Bool().Draw(t, "dated") {
			unread.When = e.Sessions[rapid.IntRange(0, len(e.Sessions)-1).Draw(t, "session")].When
		}
		changed := clone(e)
		changed.Unread = append(changed.Unread, unread)
		opens(t, before, assessed(changed).Readiness)
	})
}

// Pain of an occasion that nobody recorded never opens anything.
func TestPainOfAnUnknownOccasionNeverOpens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		changed := clone(e)
		s := latest(changed)
		if s == nil {
			return
		}
		s.Pains = append(s.Pains, shoulder.Pain{Score: exact.Int(int64(rapid.IntRange(0, 10).Draw(t, "score")))})
		opens(t, assessed(e).Readiness, assessed(changed).Readiness)
	})
}
