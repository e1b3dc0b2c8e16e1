package readiness

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Nobody lifts the arm further than it can be moved.
func TestAnActiveRangeBeyondThePassiveOneIsAConcern(t *testing.T) {
	passive := func(m shoulder.Movement, side shoulder.Side, degrees string) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			s.Ranges = append(s.Ranges, shoulder.Range{Source: next(), Movement: m, Side: side, Degrees: exact.MustParse(degrees)})
		}
	}
	tests := []struct {
		name   string
		alter  func(*shoulder.Session)
		want   string
		source string
	}{
		{"flexion 90 passively, 170 actively", passive(shoulder.Flexion, shoulder.Right, "90"), "ranges-contradict", "by definition"},
		{"abduction 150 passively, 170 actively", passive(shoulder.Abduction, shoulder.Right, "150"), "ranges-contradict", "protocol: 20 degrees are a real change"},
		{"flexion 151 passively", passive(shoulder.Flexion, shoulder.Right, "151"), "", "protocol: 19 degrees are none"},
		{"flexion 180 passively", passive(shoulder.Flexion, shoulder.Right, "180"), "", "by definition"},
		{"the other side", passive(shoulder.Flexion, shoulder.Left, "90"), "", "by definition: not what is trained"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(complete(0, "100"), complete(14, "100"))
			tt.alter(&e.Sessions[1])
			r := judged(e)
			if got := kinds(r); got != tt.want || (r.Overall == ReadyForFunctional) != (tt.want == "") {
				t.Errorf("%q, %v, want %q (%s)", got, r.Overall, tt.want, tt.source)
			}
			again := complete(28, "100")
			if got := kinds(judged(episodeWith(e, again))); got != "" {
				t.Errorf("%q after another measurement, want none", got)
			}
		})
	}
}

// episodeWith is an episode with a further visit.
func episodeWith(e *shoulder.Episode, v visit) *shoulder.Episode {
	more := *e
	more.Sessions = append(more.Sessions, episode(v).Sessions...)
	return &more
}
