package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// What is said of when strength was tested is true of each side. The numbers of days are
// counted on the calendar.
func TestWhenEachSideWasTested(t *testing.T) {
	both := func(v *visit) {
		v.on("2026-03-09")
		v.force(er, side, list("100.0"), list("100.0"))
	}
	alone := func(on string, s shoulder.Side, newtons string) func(*visit) {
		return func(v *visit) {
			v.on(on)
			v.trials(er, side, s, list(newtons))
		}
	}
	noStrength := func(on string) func(*visit) {
		return func(v *visit) {
			v.on(on)
			v.pain(shoulder.PainAtRest, "1")
		}
	}
	tests := []struct {
		name         string
		visits       []func(*visit)
		says, denies []string
	}{
		{
			"the left side alone at this visit",
			[]func(*visit){both, alone("2026-03-30", shoulder.Left, "130.0")},
			[]string{"Strength on the right was last tested on 2026-03-09, not at this visit.", "130.0 N", "tested apart"},
			[]string{"Strength was last tested", " even ", "100.0 %"},
		},
		{
			"the right side alone, 63 days after the left one",
			[]func(*visit){both, alone("2026-04-20", shoulder.Right, "100.0"), alone("2026-05-11", shoulder.Right, "80.0")},
			[]string{"Strength on the left was last tested on 2026-03-09, not at this visit.", "80.0 N", "tested apart"},
			[]string{"carried forward"},
		},
		{
			"a carried comparison, and a visit without strength 14 days later",
			[]func(*visit){both, alone("2026-04-20", shoulder.Right, "100.0"), noStrength("2026-05-04")},
			[]string{"Strength was last tested on 2026-04-20, not at this visit.", "Left side carried forward from 2026-03-09 (56 days earlier)."},
			nil,
		},
		{
			"both sides, each on a day of its own before this visit",
			[]func(*visit){both, alone("2026-03-16", shoulder.Left, "130.0"), noStrength("2026-03-30")},
			[]string{"Strength on the right was last tested on 2026-03-09, not at this visit.", "Strength on the left was last tested on 2026-03-16, not at this visit."},
			nil,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := newEpisode(tt.visits...)
			asOf := e.Sessions[len(e.Sessions)-1].When
			text := strings.Join(strings.Fields(Text(assess.Assess(e, protocol.Default(), asOf), nil, wording.For("en"))), " ")
			for _, phrase := range tt.says {
				if !strings.Contains(text, phrase) {
					t.Errorf("the page does not say %q:\n%s", phrase, text)
				}
			}
			for _, phrase := range tt.denies {
				if strings.Contains(text, phrase) {
					t.Errorf("the page says %q:\n%s", phrase, text)
				}
			}
		})
	}
}
