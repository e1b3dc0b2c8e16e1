package record

import (
	"net/http"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
)

// planned lists the fullUrls of the plan and its goals, and fails if one is
// not an update of what its identifier finds.
func planned(t *testing.T, b *fhir.Bundle) map[string]bool {
	t.Helper()
	urls := map[string]bool{}
	for _, e := range b.Entry {
		switch r := e.Resource.(type) {
		case *fhir.CarePlan, *fhir.Goal:
			urls[e.FullURL] = true
			want := r.Type() + "?identifier=" + fhir.SystemResult + "|"
			if e.Request.Method != http.MethodPut || !strings.HasPrefix(e.Request.URL, want) || e.Request.IfNoneExist != "" {
				t.Errorf("%s: request %+v, want a conditional update", r.Type(), e.Request)
			}
		default:
			if e.Request.Method != http.MethodPost || e.Request.IfNoneExist == "" {
				t.Errorf("%s: request %+v, want a conditional create", r.Type(), e.Request)
			}
		}
	}
	return urls
}

func TestLivingPlanStaysTheSame(t *testing.T) {
	first, second := newSent(), twoVisits()
	first.visit(firstVisit, "60", "150", "4")
	before, after := first.answer(t, LivingTransaction), second.answer(t, LivingTransaction)
	if before.BundleType != "transaction" || after.BundleType != "transaction" {
		t.Errorf("types = %s, %s, want transaction", before.BundleType, after.BundleType)
	}
	earlier, kept := planned(t, before), 0
	for url := range planned(t, after) {
		if earlier[url] {
			kept++
		}
	}
	// The plan and each rotation's long-term goal are there at both visits.
	if kept < 3 {
		t.Errorf("%d of the earlier plan and goals are updated, want at least 3", kept)
	}
}

func TestLivingPlanReplacesNothing(t *testing.T) {
	s := twoVisits()
	earlier := &fhir.CarePlan{InstantiatesCanonical: []string{fhir.CanonicalPlanDefinition + "evenreach-default|1.0.0"}, Status: "draft", Intent: "proposal"}
	earlier.ID = "plan1"
	earlier.Subject = &fhir.Reference{Reference: "Patient/p1"}
	s.also(earlier, "plan1")
	replaces := func(o Output) int {
		for _, e := range s.answer(t, o).Entry {
			if c, ok := e.Resource.(*fhir.CarePlan); ok {
				return len(c.Replaces)
			}
		}
		t.Fatal("no CarePlan")
		return 0
	}
	if got := replaces(Transaction); got != 1 {
		t.Errorf("a new plan replaces %d, want the earlier one", got)
	}
	if got := replaces(LivingTransaction); got != 0 {
		t.Errorf("a living plan replaces %d, want none: it is the same plan", got)
	}
}

func TestLivingPlansOfOthersAreOthers(t *testing.T) {
	s, other := twoVisits(), twoVisits()
	for _, e := range other.bundle.Entry {
		switch r := e.Resource.(type) {
		case *fhir.Patient:
			r.ID = "p2"
		case *fhir.Observation:
			r.Subject = &fhir.Reference{Reference: "Patient/p2"}
		}
	}
	other.bundle.Entry[0].FullURL = "https://record.example/fhir/Patient/p2"
	mine := planned(t, s.answer(t, LivingTransaction))
	for url := range planned(t, other.answer(t, LivingTransaction)) {
		if mine[url] {
			t.Errorf("%s is the plan of two patients", url)
		}
	}
}
