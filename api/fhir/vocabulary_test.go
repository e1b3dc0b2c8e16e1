package fhirapi

import (
	"fmt"
	"regexp"
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// codePattern is a FHIR code that needs no escaping anywhere.
var codePattern = regexp.MustCompile(`^[a-z0-9]+([+-]|-[a-z0-9]+)*$`)

func TestEveryCodeIsExplained(t *testing.T) {
	for name, all := range map[string][]concept{"shoulder": concepts(), "input-issue": inputIssues()} {
		if len(all) == 0 {
			t.Errorf("%s has no codes", name)
		}
		seen := map[string]bool{}
		for _, c := range all {
			if !codePattern.MatchString(c.Code) || seen[c.Code] {
				t.Errorf("%s: code %q is malformed or given twice", name, c.Code)
			}
			seen[c.Code] = true
			if c.Display == "" || c.Definition == "" || c.Display == c.Definition {
				t.Errorf("%s: %s has display %q and definition %q; want one of each", name, c.Code, c.Display, c.Definition)
			}
		}
	}
}

func TestEveryDefinitionIsUsed(t *testing.T) {
	used := map[string]bool{}
	for _, c := range concepts() {
		used[c.Code] = true
	}
	for code := range definitions {
		if !used[code] {
			t.Errorf("%s is defined and no code", code)
		}
	}
}

// A code in several groups is one concept: it reads the same everywhere.
func TestSharedCodesReadAlike(t *testing.T) {
	known := map[string]concept{}
	for _, g := range groups() {
		for _, c := range g.concepts {
			if first, shared := known[c.Code]; shared && first != c {
				t.Errorf("%s in %s: %q, elsewhere %q", c.Code, g.id, c, first)
			}
			known[c.Code] = c
		}
	}
}

// The groups go up to the last value of each enumeration: behind it there is no
// further one.
func TestNoValueIsForgotten(t *testing.T) {
	last := map[string]fmt.Stringer{
		"side":             shoulder.Left + 1,
		"arm position":     shoulder.Scaption90 + 1,
		"support":          shoulder.Unsupported + 1,
		"contraction type": shoulder.Break + 1,
		"method":           shoulder.Isokinetic + 1,
		"pain context":     shoulder.PainWorst24h + 1,
		"load phase":       shoulder.LoadSport + 1,
		"red flag":         redflag.Codes[len(redflag.Codes)-1] + 1,
		"doubt":            measure.ComparisonDeclined + 1,
		"muscle grade":     shoulder.Grade5 + 1,
		"verdict":          readiness.NotApplicable + 1,
		"rule":             readiness.Rules[len(readiness.Rules)-1] + 1,
		"step":             readiness.Steps[len(readiness.Steps)-1] + 1,
		"overall":          readiness.Overall(len(readiness.Overalls)),
		"certainty":        measure.ClearlyMet + 1,
		"demand hold":      readiness.HeldByStatus + 1,
		"direction":        measure.PossiblyImproved + 1,
		"outlook":          course.NoDate + 1,
		"irritability":     plan.LowIrritability + 1,
		"purpose":          plan.FullFunction + 1,
		"aim":              plan.AimPain + 1,
		"ask":              plan.AskPassive + 1,
		"caution":          plan.GrowingPatient + 1,
	}
	for name, beyond := range last {
		if code := codeOf(beyond); code != "" {
			t.Errorf("%s has a further value %q that is not published", name, code)
		}
	}
	if len(kindDefinitions) != len(fault.Kinds()) || len(cautionNames) != int(plan.GrowingPatient)+1 {
		t.Error("a kind of issue or a caution has no text")
	}
}

// codeOf is the code of a value, empty if it has none: the enumerations answer
// for a value that they do not have with a text for the unknown or the most
// careful one, or panic.
func codeOf(v fmt.Stringer) (code string) {
	defer func() {
		if recover() != nil {
			code = ""
		}
	}()
	switch code = v.String(); code {
	case "unknown", "unstated", "load-none":
		return ""
	}
	return code
}
