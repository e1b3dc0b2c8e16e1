package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/wording"
)

// A red flag that holds stands before everything else in every form, with its numbers, also
// where the record has a gap: the first flag in the summary, whatever the summary has no room
// for. Source: "the first thing on every page, form, note, card and in the conclusion, in plain
// words, with the two numbers that show it and their dates", our rule of safety.
func TestARedFlagComesFirst(t *testing.T) {
	held := 0
	for _, s := range append(allStories(), scenarios(t)...) {
		incomplete := *s.episode
		incomplete.Incomplete = true
		s.episode = &incomplete
		a := s.assess()
		if !a.Readiness.Examine() {
			continue
		}
		held++
		for _, language := range wording.Languages() {
			w := wording.For(language)
			first := New(a, s.issues, w).first.alarms
			if len(first) < 2 || first[1] != w.Flag(&a.Readiness.Flags[0]) {
				t.Errorf("%s, %s: the summary says %q, want the first flag behind what to do", language, s.name, first)
			}
			gap := w.Alarms(&readiness.Readiness{Incomplete: true}, a.Plan)[0]
			inOrder(t, language+" "+s.name+" alarms", strings.Join(w.Alarms(a.Readiness, a.Plan), "\n"), first[1], gap)
			gap = w.Plain().Alarms(&readiness.Readiness{Incomplete: true})[0]
			call := w.Plain().Alarms(&readiness.Readiness{Flags: a.Readiness.Flags[:1]})
			inOrder(t, language+" "+s.name+" patient's alarms", strings.Join(w.Plain().Alarms(a.Readiness), "\n"), call[1], gap)
			if cards := Cards(a, w); cards[0].Topic != TopicRedFlag || cards[0].Detail[0] != first[1] {
				t.Errorf("%s, %s: the first card is %+v, want the flag", language, s.name, cards[0])
			}
		}
	}
	if held == 0 {
		t.Error("no story holds a red flag")
	}
}

// inOrder wants two texts in a form, one behind the other.
func inOrder(t *testing.T, name, text, first, then string) {
	t.Helper()
	if i, k := strings.Index(text, first), strings.Index(text, then); i < 0 || k < i {
		t.Errorf("%s: %q at %d, %q at %d, want the one before the other", name, first, i, then, k)
	}
}
