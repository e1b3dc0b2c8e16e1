package report

import (
	"fmt"
	"strings"
	"testing"

	"evenreach.example/internal/protocoltest"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// The forms keep to their lines and pages with demands, too, each story in one of the
// languages in turn.
func TestLengthsWithDemands(t *testing.T) {
	p, languages := protocoltest.WorkAndSport(t), wording.Languages()
	for i, s := range scenarios(t) {
		s.protocol = p
		checkLengths(t, s, wording.For(languages[i%len(languages)]), typeset.A4)
	}
}

// Many demands take no more room: their verdicts stand in a paragraph.
func TestLengthsWithManyDemands(t *testing.T) {
	p := *protocoltest.WorkAndSport(t)
	one := p.Demands[1]
	p.Demands = nil
	for i := range 12 {
		d := one
		d.ID, d.Title = fmt.Sprint("work-", i), map[string]string{"en": fmt.Sprint("overhead work of kind ", i)}
		p.Demands = append(p.Demands, d)
	}
	w := wording.For("en")
	for _, s := range stories() {
		s.protocol = &p
		a := s.assess()
		for form, most := range map[string]int{Text(a, s.issues, w): 60, ProgressNote(a, s.issues, w): 62, Patient(a, w): 45} {
			if n := strings.Count(form, "\n"); n > most {
				t.Errorf("%s: %d lines, want at most %d:\n%s", s.name, n, most, form)
			}
			if !strings.Contains(strings.Join(strings.Fields(form), " "), "of kind 11") {
				t.Errorf("%s: a demand is left out:\n%s", s.name, form)
			}
		}
	}
}
