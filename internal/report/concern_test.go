package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// Two visits that would be ready, with an arm that is no longer held steady, less range,
// and a comparison shoulder that hurts: each is said on every page, for the patient too.
func TestConcernsAreOnEveryPage(t *testing.T) {
	both := []shoulder.ArmPosition{shoulder.Flexion90, shoulder.Abduction90}
	visit := shouldertest.Visit{ER: shouldertest.All("95"), IR: shouldertest.All("95"), Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "2", Steady: both}
	later := visit
	later.Day, later.Flexion, later.Steady, later.Unsteady = 14, "144", nil, both
	e := shouldertest.Episode(visit, later)
	e.Sessions[1].Pains = append(e.Sessions[1].Pains, shoulder.Pain{
		Source: shouldertest.Next(), Side: shoulder.Left, Context: shoulder.PainDuringResistedTest, Score: exact.Int(8),
	})
	a := assess.Assess(e, protocol.Default(), shouldertest.Day(14))
	for _, language := range wording.Languages() {
		w := wording.For(language)
		said := append(w.Concerns(a.Readiness), w.Plain().Concerns(a.Readiness)...)
		if len(said) != 6 {
			t.Fatalf("%s: %q, want three concerns twice", language, said)
		}
		pages := [...]string{Text(a, nil, w), FullText(a, nil, w), ProgressNote(a, nil, w), New(a, nil, w).Conclusion(), Patient(a, w)}
		if equal := w.Plain().Decision(&readiness.Readiness{Overall: readiness.ReadyForFunctional}); strings.Contains(bare(pages[4]), bare(firstSentence(equal))) {
			t.Errorf("%s: the patient reads %q beside a concern", language, equal)
		}
		for i, page := range pages {
			lines := said[:3]
			if i == len(pages)-1 {
				lines = said[3:]
			}
			for _, line := range lines {
				if !strings.Contains(bare(page), bare(line)) {
					t.Errorf("%s: page %d does not say %q", language, i, line)
				}
			}
		}
		for i, page := range pages[:3] {
			if !strings.Contains(page, "8/10") {
				t.Errorf("%s: page %d does not show the pain of the comparison shoulder", language, i)
			}
		}
	}
}

func firstSentence(s string) string { first, _, _ := strings.Cut(s, ". "); return first }
