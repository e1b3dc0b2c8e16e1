package record

import (
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// corrected gives an Observation another value, as a record does: its next version.
func corrected(s *sent, id, newtons string) {
	for _, e := range s.bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && o.ID == id {
			o.Value, o.Status, o.Meta = quantity(newtons, "N"), "corrected", &fhir.Meta{VersionID: "2"}
		}
	}
}

// A note and a new version of every input change no result.
func TestNotesStoreNothingNew(t *testing.T) {
	for _, o := range []Output{Transaction, LivingTransaction} {
		s := threeVisits()
		f := newlyPosted(t, s, o)
		before := f.state()
		for _, e := range s.bundle.Entry {
			if r, ok := e.Resource.(*fhir.Observation); ok {
				r.Note, r.Meta = notes("seated"), &fhir.Meta{VersionID: "7", LastUpdated: "2026-11-02T10:00:00Z"}
			}
		}
		for _, answer := range []*fhir.Bundle{s.answer(t, o), f.into(s).answer(t, o)} {
			if p := f.post(answer); p.created+p.updated > 0 || f.state() != before {
				t.Errorf("%s: %+v, want nothing stored", o, p)
			}
		}
	}
}

// A corrected trial corrects the results in their place: one index a position and day.
func TestCorrectedTrial(t *testing.T) {
	for _, o := range []Output{Transaction, LivingTransaction} {
		s := twoVisits()
		f := newlyPosted(t, s, o)
		before := f.addresses("Observation/")
		last := s.bundle.Entry[len(s.bundle.Entry)-1].Resource.(*fhir.Observation) // pain
		for _, e := range s.bundle.Entry {
			if r, ok := e.Resource.(*fhir.Observation); ok && r.Effective == last.Effective && r.BodySite != nil && hasCode(r.BodySite, fhir.SNOMEDRightShoulder) && r.Method != nil {
				corrected(s, r.ID, "70")
			}
		}
		p := f.settle(s, o)
		if got := f.addresses("Observation/"); !slices.Equal(got, before) || p.updated == 0 {
			t.Errorf("%s: %+v, results %v, want those of before, updated: %v", o, p, got, before)
		}
		if n := len(f.having("DiagnosticReport", "status", "partial")); n != 1 {
			t.Errorf("%s: %d reports, want one", o, n)
		}
		if n := len(f.having("CarePlan", "status", "draft")); n != 1 {
			t.Errorf("%s: %d drafts, want one", o, n)
		}
	}
}

// A result whose measurement turns out to be of another position is withdrawn.
func TestResultThatIsNoLongerFound(t *testing.T) {
	s := onePosition("60")
	f := newlyPosted(t, s, LivingTransaction)
	for _, e := range s.bundle.Entry {
		if r, ok := e.Resource.(*fhir.Observation); ok {
			r.Component[0].Value = coded(shoulder.Flexion90.String())
		}
	}
	f.settle(s, LivingTransaction)
	indices := 0
	for _, at := range f.having("Observation", "status", "preliminary") {
		if concept := f.files[at].content["code"].(map[string]any)["coding"].([]any)[0].(map[string]any); concept["code"] == fhir.CodeLimbSymmetryIndex {
			indices++
		}
	}
	if withdrawn := f.having("Observation", "status", "entered-in-error"); indices != 1 || len(withdrawn) == 0 {
		t.Errorf("%d indices count and %v are withdrawn, want one and the old ones", indices, withdrawn)
	}
	// The correction was wrong: the first result stands again, as a new one.
	for _, e := range s.bundle.Entry {
		if r, ok := e.Resource.(*fhir.Observation); ok {
			r.Component[0].Value = coded(shoulder.AtSide.String())
		}
	}
	withdrawn := len(f.having("Observation", "status", "entered-in-error"))
	if p := f.settle(s, LivingTransaction); p.created == 0 || len(f.having("Observation", "status", "entered-in-error")) <= withdrawn {
		t.Errorf("%+v, want the first index created again and the second withdrawn", p)
	}
}

// A later assessment without a new measurement leaves that of the visit as it was.
func TestLaterAssessmentKeepsTheVisits(t *testing.T) {
	s := twoVisits()
	f := newlyPosted(t, s, LivingTransaction)
	s.asOf = "2026-03-25"
	f.settle(s, LivingTransaction)
	if withdrawn := append(f.having("Observation", "status", "entered-in-error"), f.having("DiagnosticReport", "status", "entered-in-error")...); len(withdrawn) > 0 {
		t.Errorf("%v withdrawn, want none", withdrawn)
	}
}

// What a clinician has verified stays, and the new result says that it replaces it.
func TestVerifiedResultStays(t *testing.T) {
	s := onePosition("60")
	f := newlyPosted(t, s, Transaction)
	verified := f.addresses("Observation/")
	reports := f.addresses("DiagnosticReport/")
	for _, at := range append(slices.Clone(verified), reports...) {
		f.change(at, map[string]any{"status": "final", "performer": []any{map[string]any{"reference": "Practitioner/1"}}})
	}
	corrected(s, "o1", "80")
	corrected(s, "o2", "80")
	f.settle(s, Transaction)
	for _, at := range append(slices.Clone(verified), reports...) {
		if v := f.files[at].version; v != 2 {
			t.Errorf("%s has version %d, want 2: as the clinician left it", at, v)
		}
	}
	said := map[any]bool{}
	for _, at := range append(f.addresses("Observation/"), f.addresses("DiagnosticReport/")...) {
		for _, x := range list(f.files[at].content["extension"]) {
			x := x.(map[string]any)
			if x["url"] == fhir.ExtensionReplaces || x["url"] == fhir.ExtensionReportReplaces {
				said[x["valueReference"].(map[string]any)["reference"]] = true
			}
		}
	}
	if !said[reports[0]] || len(said) < 2 {
		t.Errorf("replaced are %v, want the report %s and the index", said, reports[0])
	}
}

// A release that mends a rule corrects what the faulty one said, also if it is not told
// what the record has.
func TestMendedRule(t *testing.T) {
	s := onePosition("80")
	a, reading := s.assessed(t, protocol.Default())
	a.Readiness.Motions[0].Step = readiness.StepFlexion90Supported // the fault
	f := newFiling(t)
	f.post(Build(a, reading, Options{Version: "1.0.0"}))
	faulty := f.state()
	if p := f.post(s.answer(t, Transaction)); p.created == 0 {
		t.Error("without the stored results nothing is created: the faulty ones stand alone")
	}
	f = newFiling(t)
	f.post(Build(a, reading, Options{Version: "1.0.0"}))
	if p := f.settle(s, Transaction); p.updated == 0 {
		t.Errorf("%+v, want the faulty results of %s updated", p, faulty)
	}
	if n := len(f.having("DiagnosticReport", "status", "partial")); n != 1 {
		t.Errorf("%d reports, want the right one alone", n)
	}
}

// Patient/p1 of two hospitals are two people, on whatever record their results meet.
func TestTwoHospitals(t *testing.T) {
	of := func(base string, ids ...fhir.Identifier) map[string][]string {
		s := onePosition("80")
		patient := s.bundle.Entry[0].Resource.(*fhir.Patient)
		patient.Identifier = ids
		for i := range s.bundle.Entry {
			if s.bundle.Entry[i].FullURL = ""; base != "" {
				e := &s.bundle.Entry[i]
				id := patient.ID
				if o, ok := e.Resource.(*fhir.Observation); ok {
					id = o.ID
				}
				e.FullURL = base + e.Resource.Type() + "/" + id
			}
		}
		return identifiersByKind(s.answer(t, LivingTransaction))
	}
	number := func(value string) fhir.Identifier { return fhir.Identifier{System: "urn:oid:1.2.3", Value: value} }
	tests := []struct {
		name       string
		one, other map[string][]string
	}{
		{"by the server", of("https://a.example/fhir/"), of("https://b.example/fhir/")},
		{"by the identifier", of("", number("1")), of("", number("2"))},
		{"by the identifier on one server", of("https://a.example/fhir/", number("1")), of("https://a.example/fhir/", number("2"))},
	}
	for _, tt := range tests {
		for kind, urls := range tt.one {
			for _, url := range urls {
				if slices.Contains(tt.other[kind], url) {
					t.Errorf("%s: %s %s is of both patients", tt.name, kind, url)
				}
			}
		}
	}
}
