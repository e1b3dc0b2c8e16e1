package conformance

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/record"
)

// result is what the test reads of a resource of an answer.
type result struct {
	ResourceType          string
	Code                  concept
	ValueQuantity         *struct{}
	ReferenceRange        []struct{ Type concept }
	Component             []part
	HasMember             []reference
	DerivedFrom           []reference
	InstantiatesCanonical []string
	SupportingInfo        []reference
}

type concept struct{ Coding []coding }

type reference struct{ Reference string }

type part struct {
	Code           concept
	ValueQuantity  *struct{}
	ReferenceRange []struct{ Type concept }
}

// restated are numbers that follow by themselves from others or from an input: what a
// session measured, the strength or range that meets a threshold, a count.
var restated = []string{
	"involved-strength", "comparison-strength", "previous-value", "was-even", "range-needed",
	"current-value", "against-value", "limb-symmetry-index", "range-fraction",
}

// Every number of an answer leads to the inputs that it was computed from, and every
// threshold, verdict and method to its source in the PlanDefinition that the plan names.
func TestNumbersLeadToInputsAndSources(t *testing.T) {
	sources := citedCodes(t)
	for _, d := range answersAs(t, record.Transaction) {
		entries := resultsIn(t, d)
		var named []string
		for _, r := range entries {
			named = append(named, r.InstantiatesCanonical...)
		}
		if len(named) != 1 || sources[named[0]] == nil {
			t.Fatalf("%s: the plan names %v, want one published PlanDefinition", d.name, named)
		}
		for url, r := range entries {
			if r.ResourceType != "Observation" {
				continue
			}
			if inputs := inputsOf(entries, url, map[string]bool{}); len(inputs) == 0 && len(r.DerivedFrom) > 0 {
				t.Errorf("%s: %s leads to no input", d.name, r.Code.Coding[0].Code)
			} else if len(inputs) == 0 && !restsOnRepair(r) {
				t.Errorf("%s: %s has numbers and is derived from nothing", d.name, r.Code.Coding[0].Code)
			}
			for _, code := range uncited(r, sources[named[0]]) {
				t.Errorf("%s: %s: %s has no source in %s", d.name, r.Code.Coding[0].Code, code, named[0])
			}
		}
	}
}

// restsOnRepair reports whether a result has no number but the weeks since a repair:
// R4 derives an Observation from no Procedure, so that the plan names it.
func restsOnRepair(r result) bool {
	numbers := r.ValueQuantity != nil
	for _, c := range r.Component {
		code := c.Code.Coding[0].Code
		numbers = numbers || c.ValueQuantity != nil && code != "tissue-healed-value" && code != "function-permitted-value"
	}
	return !numbers
}

// inputsOf are the references to what was sent that a result is reached from.
func inputsOf(entries map[string]result, url string, seen map[string]bool) (inputs []string) {
	if seen[url] {
		return nil
	}
	seen[url] = true
	for _, from := range slices.Concat(entries[url].DerivedFrom, entries[url].HasMember) {
		if _, ours := entries[from.Reference]; ours {
			inputs = append(inputs, inputsOf(entries, from.Reference, seen)...)
		} else {
			inputs = append(inputs, from.Reference)
		}
	}
	return inputs
}

var position = regexp.MustCompile(`-(arm-at-side|flexion-90|abduction-90)$`)

// uncited are the codes of what a result has numbers or verdicts for, and of the types
// of its reference ranges, for which there is no source.
func uncited(r result, sources map[string]bool) (codes []string) {
	need := func(code string) {
		rule := position.ReplaceAllString(strings.TrimSuffix(code, "-value"), "")
		if !sources[code] && !sources[rule] && !slices.Contains(restated, code) {
			codes = append(codes, code)
		}
	}
	if r.ValueQuantity != nil {
		need(r.Code.Coding[0].Code)
	}
	ranges := r.ReferenceRange
	for _, c := range r.Component {
		ranges = append(ranges, c.ReferenceRange...)
		if c.ValueQuantity != nil && c.Code.Coding[0].System == ours && len(c.ReferenceRange) == 0 {
			need(c.Code.Coding[0].Code)
		}
	}
	for _, x := range ranges {
		if len(x.Type.Coding) > 0 {
			need(x.Type.Coding[0].Code)
		}
	}
	return codes
}

const ours = "https://evenreach.example/fhir/CodeSystem/shoulder"

// resultsIn are the resources of an answer by fullUrl.
func resultsIn(t *testing.T, d document) map[string]result {
	t.Helper()
	var bundle struct {
		Entry []struct {
			FullURL  string
			Resource result
		}
	}
	if err := json.Unmarshal(d.body, &bundle); err != nil {
		t.Fatal(err)
	}
	entries := map[string]result{}
	for _, e := range bundle.Entry {
		entries[e.FullURL] = e.Resource
	}
	return entries
}

// citedCodes are, of each published PlanDefinition, the codes of the actions that cite a
// source.
func citedCodes(t *testing.T) map[string]map[string]bool {
	t.Helper()
	type action struct {
		Code          []concept
		Documentation []struct{ Citation string }
		Action        []action
	}
	all := map[string]map[string]bool{}
	for _, d := range published() {
		var plan struct {
			URL, Version string
			Action       []action
		}
		if !strings.HasPrefix(d.name, "PlanDefinition-") {
			continue
		}
		if err := json.Unmarshal(d.body, &plan); err != nil {
			t.Fatal(err)
		}
		codes := map[string]bool{}
		for _, group := range plan.Action {
			for _, a := range group.Action {
				for _, c := range a.Code {
					codes[c.Coding[0].Code] = codes[c.Coding[0].Code] || len(a.Documentation) > 0 && a.Documentation[0].Citation != ""
				}
			}
		}
		all[plan.URL+"|"+plan.Version] = codes
	}
	return all
}
