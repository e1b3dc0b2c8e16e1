package report

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/wording"
)

// While a red flag holds, no form in any language proposes an exercise, or any work
// that loads the shoulder; each says first what is to be done.
func TestAFlagLeavesNothingToTrain(t *testing.T) {
	held := 0
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		a := s.assess()
		if !a.Readiness.Examine() {
			return
		}
		held++
		forbidden := []string{w.Purpose(plan.BeginFunction), w.Purpose(plan.FullFunction), w.Purpose(plan.Strengthen)}
		d := protocol.Default().Dose
		for _, dose := range []protocol.Dose{d.Isometric, d.RhythmicStabilisation, d.Isotonic, d.Functional} {
			forbidden = append(forbidden, w.Dose(&plan.Exercise{Mode: plan.Isometric, Dose: dose}), w.Dose(&plan.Exercise{Dose: dose}))
		}
		for _, mode := range []plan.Mode{plan.Isometric, plan.RhythmicStabilisation, plan.Isotonic} {
			forbidden = append(forbidden, w.Plain().Mode(mode))
		}
		for _, phrase := range forbidden {
			if strings.Contains(text, phrase) {
				t.Errorf("%s proposes %q while a flag holds", form, phrase)
			}
		}
		if forPatients(form) && !strings.Contains(text, w.Plain().NoExercise(a.Plan)) {
			t.Errorf("%s does not say that there is no exercise", form)
		}
	})
	if held == 0 {
		t.Error("no story holds a red flag")
	}
}

// Every flag and doubt of a story is in every form, with its numbers.
func TestAlarmsAreInEveryForm(t *testing.T) {
	seen := map[redflag.Code]bool{}
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		a := s.assess()
		alarms := w.Alarms(a.Readiness, a.Plan)
		if forPatients(form) {
			alarms = w.Plain().Alarms(a.Readiness)
		}
		for _, alarm := range alarms {
			if !strings.Contains(bare(text), bare(alarm)) {
				t.Errorf("%s: no %q", form, alarm)
			}
		}
		for _, f := range a.Readiness.Flags {
			seen[f.Code] = true
		}
	})
	for _, code := range redflag.Codes {
		if code != redflag.ResistedBeforeClearance && !seen[code] {
			t.Errorf("no story raises %s", code)
		}
	}
}

// evenWords find a number of per cent that is called even, in the table, in the
// patient's words and in sentences, in both languages.
var evenWords = []*regexp.Regexp{
	regexp.MustCompile(`(\d+[.,]\d+) \S+ (?:to|bis) \S+ (?:even, confirmed|even, to be confirmed|gleich, bestätigt|gleich, unbestätigt)`),
	regexp.MustCompile(`(\d+[.,]\d+) %, (?:equal|gleich|diesmal gleich)[.;]`),
	regexp.MustCompile(`(?:limb symmetry index|Symmetrieindex) (\d+[.,]\d+) % (?:is even|ist seitengleich)`),
	regexp.MustCompile(`(?:even and confirmed, limb symmetry index|seitengleich und bestätigt, Symmetrieindex) (\d+[.,]\d+) %`),
}

// No number below the threshold is called even, on any page, in any language.
func TestNoNumberBelowTheThresholdIsCalledEven(t *testing.T) {
	found := 0
	everywhere(t, func(t *testing.T, s story, form, text string, _ *wording.Catalogue) {
		for _, words := range evenWords {
			for _, match := range words.FindAllStringSubmatch(text, -1) {
				found++
				percent, err := strconv.ParseFloat(strings.Replace(match[1], ",", ".", 1), 64)
				if err != nil || percent < 90 {
					t.Errorf("%s: %q", form, match[0])
				}
			}
		}
	})
	if found == 0 {
		t.Error("nothing is called even anywhere")
	}
}

// Every page of a repaired shoulder says when it was repaired, what is permitted
// now and what comes next.
func TestRepairIsOnEveryPage(t *testing.T) {
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		a := s.assess()
		lines := w.Healing(&a.Readiness.Tissue, a.Readiness.Examine())
		if forPatients(form) {
			lines = w.Plain().Healing(a.Readiness)
		}
		if len(a.Episode.Repairs) > 0 && len(lines) < 2 && !a.Readiness.Examine() {
			t.Errorf("%s: %q says too little", form, lines)
		}
		if i := slices.IndexFunc(lines, func(line string) bool { return !strings.Contains(bare(text), bare(line)) }); i >= 0 {
			t.Errorf("%s: no %q", form, lines[i])
		}
	})
}
