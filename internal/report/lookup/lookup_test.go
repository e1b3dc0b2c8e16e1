package lookup

import (
	"slices"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func assessed(e *shoulder.Episode, day int) *assess.Assessment {
	return assess.Assess(e, protocol.Default(), shouldertest.Day(day))
}

// Of two conditions in one session the belt-stabilised one decides; the next
// session continues the series.
func TestSeriesHasOneIndexASession(t *testing.T) {
	e := shouldertest.Episode(
		shouldertest.Visit{ER: [3]string{"60"}},
		shouldertest.Visit{Day: 14, ER: [3]string{"70", "50"}},
	)
	belt := shouldertest.Visit{Day: 14, ER: [3]string{"80"}, Belt: true}.Session()
	e.Sessions[1].Trials = append(e.Sessions[1].Trials, belt.Trials...)
	a := assessed(e, 14)
	var got []string
	for _, s := range Series(a, shoulder.External, shoulder.AtSide) {
		got = append(got, s.Index.Text(0))
	}
	if want := []string{"60", "80"}; !slices.Equal(got, want) {
		t.Errorf("series %v, want %v", got, want)
	}
	if last := a.Readiness.Rotations[0].Positions[0].Symmetry; Series(a, shoulder.External, shoulder.AtSide)[1] != last {
		t.Error("the series does not end with the index that decides")
	}
	if s := Series(a, shoulder.Internal, shoulder.AtSide); len(s) != 0 {
		t.Errorf("%d indices of a rotation that was not measured", len(s))
	}
}

func TestUnlike(t *testing.T) {
	e := shouldertest.Episode(shouldertest.Visit{ER: [3]string{"60", "60"}})
	for i := range e.Sessions[0].Trials {
		if trial := &e.Sessions[0].Trials[i]; trial.Position == shoulder.AtSide && trial.Side == shoulder.Left {
			trial.Contraction = shoulder.Break
		}
	}
	for _, tt := range []struct {
		name     string
		day      int
		position shoulder.ArmPosition
		want     bool
	}{
		{"make against break", 0, shoulder.AtSide, true},
		{"tested alike", 0, shoulder.Flexion90, false},
		{"not tested", 0, shoulder.Abduction90, false},
		{"too old to matter", 43, shoulder.AtSide, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := Unlike(assessed(e, tt.day), shoulder.External, tt.position); got != tt.want {
				t.Errorf("got %v", got)
			}
		})
	}
}

// The default protocol decides with measurements of up to 42 days.
func TestCurrent(t *testing.T) {
	a := assessed(shouldertest.Episode(shouldertest.Visit{}), 100)
	if limit := a.Protocol.Pairing.Current.Value; limit.Cmp(exact.Int(42)) != 0 {
		t.Fatalf("limit %v", limit)
	}
	for day, want := range map[int]bool{58: true, 57: false, 100: true} {
		if got := Current(a, shouldertest.Day(day)); got != want {
			t.Errorf("day %d: %v, want %v", day, got, want)
		}
	}
}
