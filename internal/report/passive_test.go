package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// A low active elevation is commented on by its passive range: much larger by 30 degrees
// and more, or below the 135 degrees that open an elevated position too.
//
// Source: redFlag.passiveExcess (30 degrees) and range (75 % of 180 degrees) of the default
// protocol.
func TestPassiveRangeIsCommentedOn(t *testing.T) {
	for _, tt := range []struct{ active, passive, want string }{
		{"110", "140", "Passive flexion, 140 degrees: much more than active"},
		{"110", "139", ""},
		{"110", "134", "Passive flexion, 134 degrees: limited too"},
		{"140", "175", ""},
		{"110", "", ""},
	} {
		e := newEpisode(func(v *visit) {
			v.on("2026-03-02")
			v.force(er, side, list("80"), list("100"))
			v.active(shoulder.Flexion, tt.active, "")
			v.active(shoulder.Abduction, "170", "")
			if tt.passive != "" {
				v.session.Ranges = append(v.session.Ranges, shoulder.Range{
					Source: v.next(), Movement: shoulder.Flexion, Side: shoulder.Right, Degrees: exact.MustParse(tt.passive),
				})
			}
		})
		text := spaced(Text(story{episode: e, asOf: day("2026-03-02")}.assess(), nil, words()))
		if tt.want != "" && !strings.Contains(text, tt.want) || tt.want == "" && strings.Contains(text, "Passive flexion, ") {
			t.Errorf("active %s, passive %s: want %q in\n%s", tt.active, tt.passive, tt.want, text)
		}
	}
}
