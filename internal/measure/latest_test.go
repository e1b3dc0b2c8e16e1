package measure

import (
	"slices"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func measuredOf(e *shoulder.Episode) *Measurements { return Measure(e, protocol.Default()) }

// Of two conditions in one session the belt-stabilised one decides; the next
// session continues the series.
func TestOneIndexASessionDecides(t *testing.T) {
	e := shouldertest.Episode(
		shouldertest.Visit{ER: [3]string{"60"}},
		shouldertest.Visit{Day: 14, ER: [3]string{"70", "50"}},
	)
	belt := shouldertest.Visit{Day: 14, ER: [3]string{"80"}, Belt: true}.Session()
	e.Sessions[1].Trials = append(e.Sessions[1].Trials, belt.Trials...)
	m := measuredOf(e)
	var got []string
	for _, s := range m.DecidingIndices(shoulder.External, shoulder.AtSide) {
		got = append(got, s.Index.Text(0))
	}
	if want := []string{"60", "80"}; !slices.Equal(got, want) {
		t.Errorf("indices %v, want %v", got, want)
	}
	if s := m.DecidingIndices(shoulder.Internal, shoulder.AtSide); len(s) != 0 {
		t.Errorf("%d indices of a rotation that was not measured", len(s))
	}
	score := m.LatestScore(shoulder.Right, shoulder.External, shoulder.AtSide)
	if score == nil || score.Instrument != shoulder.BeltStabilised || score.Session != 1 {
		t.Errorf("latest score %+v, want that of the belt in the second session", score)
	}
	if score := m.LatestScore(shoulder.Right, shoulder.Internal, shoulder.AtSide); score != nil {
		t.Errorf("latest score %+v of a rotation that was not measured", score)
	}
}

func TestLatestUnpaired(t *testing.T) {
	e := shouldertest.Episode(shouldertest.Visit{ER: [3]string{"60", "60"}})
	for i := range e.Sessions[0].Trials {
		if trial := &e.Sessions[0].Trials[i]; trial.Position == shoulder.AtSide && trial.Side == shoulder.Left {
			trial.Contraction = shoulder.Break
		}
	}
	m := measuredOf(e)
	for _, tt := range []struct {
		name     string
		position shoulder.ArmPosition
		want     bool
	}{
		{"make against break", shoulder.AtSide, true},
		{"tested alike", shoulder.Flexion90, false},
		{"not tested", shoulder.Abduction90, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := m.LatestUnpaired(shoulder.External, tt.position); (got != nil) != tt.want {
				t.Errorf("got %v", got)
			}
		})
	}
}

// The default protocol decides with measurements of up to 42 days.
func TestCurrent(t *testing.T) {
	p := protocol.Default()
	if limit := p.Pairing.Current.Value; limit.Cmp(exact.Int(42)) != 0 {
		t.Fatalf("limit %v", limit)
	}
	for day, want := range map[int]bool{58: true, 57: false, 100: true} {
		if got := Current(shouldertest.Day(day), shouldertest.Day(100), p); got != want {
			t.Errorf("day %d: %v, want %v", day, got, want)
		}
	}
}

// Each score is by the body mass of its own session: the latest up to and including
// it. 100 N are 1.25 N/kg at 80 kg and 2 N/kg at 50 kg.
func TestStrengthByTheMassOfItsSession(t *testing.T) {
	visit := func(day int) shouldertest.Visit { return shouldertest.Visit{Day: day, ER: [3]string{"100"}} }
	e := shouldertest.Episode(visit(0), visit(14), visit(28), visit(42))
	mass := func(session int, kilograms string) {
		e.Sessions[session].Mass = &shoulder.Measured{Value: exact.MustParse(kilograms)}
	}
	mass(1, "80")
	mass(3, "50")
	want := []string{"none", "1.25", "1.25", "2.00"} // by session
	for _, s := range Scores(e, protocol.Default()) {
		got := "none"
		if byMass, ok := s.ByMass(); ok {
			got = byMass.Text(2)
		}
		if got != want[s.Session] {
			t.Errorf("session %d, %v side: %s N/kg, want %s", s.Session, s.Side, got, want[s.Session])
		}
	}
}

// The latest of each range and pain, however many sessions ago, in the order of the
// sessions.
func TestLatestRangesAndPains(t *testing.T) {
	m := measuredOf(shouldertest.Episode(
		shouldertest.Visit{Flexion: "100", Abduction: "90", Pain: "5"},
		shouldertest.Visit{Day: 14, Flexion: "120"},
		shouldertest.Visit{Day: 28, Pain: "2"},
	))
	var got []string
	for _, r := range m.LatestRanges() {
		got = append(got, r.Movement.String()+" "+r.Degrees.Text(0))
	}
	for _, p := range m.LatestPains() {
		got = append(got, p.Context.String()+" "+p.Score.Text(0))
	}
	if want := []string{"abduction 90", "flexion 120", "during-resisted-test 2"}; !slices.Equal(got, want) {
		t.Errorf("latest %q, want %q", got, want)
	}
	if r := m.LatestRange(shoulder.Flexion, shoulder.Right, true, protocol.Default()); !r.Same(m.LatestRanges()[1]) {
		t.Errorf("latest flexion %+v", r)
	}
	if r := m.LatestRange(shoulder.Flexion, shoulder.Right, false, protocol.Default()); r != nil {
		t.Errorf("passive range %+v, which was not measured", r)
	}
}
