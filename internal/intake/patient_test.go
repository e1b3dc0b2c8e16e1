package intake

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func patientOf(id string, identifiers ...fhir.Identifier) *fhir.Patient {
	p := &fhir.Patient{}
	p.ID, p.Identifier = id, identifiers
	return p
}

var mrn = fhir.Identifier{System: "urn:oid:1.2.3", Value: "12345"}

func identified(id fhir.Identifier) option {
	return func(o *fhir.Observation) { o.Subject = &fhir.Reference{Identifier: &id} }
}

func containing(p *fhir.Patient) option {
	return func(o *fhir.Observation) {
		o.Contained = []fhir.Resource{p}
		o.Subject = &fhir.Reference{Reference: "#" + p.ID}
	}
}

func TestPatient(t *testing.T) {
	const urn = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"
	const absolute = "http://example.org/fhir/Patient/p1"
	entries := func(entries ...fhir.Entry) *fhir.Bundle { return &fhir.Bundle{Entry: entries} }
	at := func(url string, r fhir.Resource) fhir.Entry { return fhir.Entry{FullURL: url, Resource: r} }
	tests := []struct {
		name    string
		bundle  *fhir.Bundle
		subject fhir.Reference
		patient string
	}{
		{"references only", bundle(strengthOf("a"), strengthOf("b")), fhir.Reference{Reference: "Patient/p1"}, "Patient/p1"},
		{"relative to a Patient with an id", bundle(patientOf("p1"), strengthOf("a")), fhir.Reference{Reference: "Patient/p1"}, "Patient/p1"},
		{"absolute and relative", entries(at(absolute, patientOf("p1")), at("", strengthOf("a")), at("", strengthOf("b", about(absolute)))),
			fhir.Reference{Reference: "Patient/p1"}, absolute},
		{"absolute and relative without the Patient", bundle(strengthOf("a"), strengthOf("b", about(absolute))), fhir.Reference{Reference: "Patient/p1"}, absolute},
		{"relative to the server of the entry", entries(at("http://example.org/fhir/Observation/a", strengthOf("a")), at("", strengthOf("b", about(absolute)))),
			fhir.Reference{Reference: "Patient/p1"}, absolute},
		{"absolute only", bundle(strengthOf("a", about(absolute))), fhir.Reference{Reference: absolute}, absolute},
		{"of a version", bundle(strengthOf("a", about("Patient/p1/_history/3")), strengthOf("b")), fhir.Reference{Reference: "Patient/p1"}, "Patient/p1"},
		{"urn", entries(at(urn, patientOf("", mrn)), at("", strengthOf("a", about(urn)))), fhir.Reference{Reference: urn, Identifier: &mrn}, "urn:oid:1.2.3|12345"},
		{"urn and an id", entries(at(urn, patientOf("p1")), at("", strengthOf("a", about(urn))), at("", strengthOf("b"))), fhir.Reference{Reference: "Patient/p1"}, "Patient/p1"},
		{"urn without anything else", bundle(strengthOf("a", about(urn))), fhir.Reference{Reference: urn}, urn},
		{"identifier", bundle(strengthOf("a", identified(mrn)), strengthOf("b", identified(mrn))), fhir.Reference{Identifier: &mrn}, "urn:oid:1.2.3|12345"},
		{"identifier of the Patient", bundle(patientOf("p1", mrn), strengthOf("a", identified(mrn)), strengthOf("b")), fhir.Reference{Reference: "Patient/p1"}, "Patient/p1 urn:oid:1.2.3|12345"},
		{"identifier beside a reference", bundle(strengthOf("a", func(o *fhir.Observation) { o.Subject.Identifier = &mrn }), strengthOf("b", identified(mrn))),
			fhir.Reference{Reference: "Patient/p1", Identifier: &mrn}, "Patient/p1 urn:oid:1.2.3|12345"},
		{"contained", bundle(strengthOf("a", containing(patientOf("x", mrn))), strengthOf("b", containing(patientOf("y", mrn)))),
			fhir.Reference{Identifier: &mrn}, "urn:oid:1.2.3|12345"},
		{"contained, the same as the one sent", bundle(patientOf("p1", mrn), strengthOf("a", containing(patientOf("x", mrn)))),
			fhir.Reference{Reference: "Patient/p1", Identifier: &mrn}, "Patient/p1 urn:oid:1.2.3|12345"},
		{"of one server, with an identifier", entries(at(absolute, patientOf("p1", mrn)), at("", strengthOf("a"))),
			fhir.Reference{Reference: "Patient/p1"}, absolute + " urn:oid:1.2.3|12345"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: tt.bundle, Involved: shoulder.Right})
			if tt.patient == urn {
				wantIssues(t, r.Issues, "warning temporary-address Bundle")
			} else {
				wantIssues(t, r.Issues)
			}
			if diff := cmp.Diff(tt.subject, r.Subject); diff != "" {
				t.Errorf("Subject (-want +got)\n%s", diff)
			}
			if r.Patient != tt.patient {
				t.Errorf("Patient = %q, want %q", r.Patient, tt.patient)
			}
		})
	}
}

func TestNotOnePatient(t *testing.T) {
	elsewhere := &fhir.Condition{Subject: &fhir.Reference{Reference: "Patient/p2"}}
	tests := []struct {
		name   string
		bundle *fhir.Bundle
		want   string
	}{
		{"two subjects", bundle(strengthOf("a"), strengthOf("b", about("Patient/p2"))), "error several-patients Bundle.entry[1].resource.subject"},
		{"two Patients", bundle(patientOf("p1"), patientOf("p2"), strengthOf("a")), "error several-patients Bundle.entry[1].resource"},
		{"a Patient that is not the subject", bundle(patientOf("p2"), strengthOf("a")), "error several-patients Bundle.entry[1].resource.subject"},
		{"a Condition of another", bundle(strengthOf("a"), elsewhere), "error several-patients Bundle.entry[1].resource.subject"},
		{"an Observation that is not read", bundle(strengthOf("a"), observation("b", coding(fhir.SystemLOINC, "2345-7"), nil, about("Patient/p2"))),
			"error several-patients Bundle.entry[1].resource.subject"},
		{"the same id on two servers", bundle(strengthOf("a", about("http://a.example/Patient/1")), strengthOf("b", about("http://b.example/Patient/1"))),
			"error several-patients Bundle.entry[1].resource.subject"},
		{"relative beside two servers", bundle(strengthOf("a", about("http://a.example/Patient/1")), strengthOf("b", about("http://b.example/Patient/1")), strengthOf("c", about("Patient/1"))),
			"error several-patients Bundle.entry[1].resource.subject"},
		{"two identifiers", bundle(strengthOf("a", identified(mrn)), strengthOf("b", identified(fhir.Identifier{System: mrn.System, Value: "6"}))),
			"error several-patients Bundle.entry[1].resource.subject"},
		{"an unknown urn beside the Patient", bundle(patientOf("p1"), strengthOf("a", about("urn:uuid:1"))), "error several-patients Bundle.entry[1].resource.subject"},
		{"no subject anywhere", bundle(strengthOf("a", func(o *fhir.Observation) { o.Subject = nil })), "error required-missing Bundle"},
		{"a subject by name only", bundle(strengthOf("a", func(o *fhir.Observation) { o.Subject = &fhir.Reference{Display: "A. Person"} })), "error required-missing Bundle"},
		{"contained without an identifier", bundle(strengthOf("a", containing(patientOf("x")))), "error required-missing Bundle"},
		{"contained and not there", bundle(strengthOf("a", about("#x"))), "error required-missing Bundle"},
		{"a group", bundle(strengthOf("a", about("Group/g1"))), "error required-missing Bundle"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wantIssues(t, refused(t, Input{Bundle: tt.bundle, Involved: shoulder.Right}).Issues, tt.want)
		})
	}
}

// Each pair of mentions is compared: what mergeRelative does without looking at
// pairs.
func TestMergeRelativeDropsTheEndsOfOthers(t *testing.T) {
	keys := rapid.SampledFrom([]string{"Patient/1", "Patient/2", "http://a.example/Patient/1", "http://b.example/Patient/2", "urn:uuid:1", "1"})
	rapid.Check(t, func(t *rapid.T) {
		var mentions, want []patientMention
		for _, key := range rapid.SliceOf(keys).Draw(t, "keys") {
			mentions = append(mentions, patientMention{key: key})
		}
		for _, m := range mentions {
			if !slices.ContainsFunc(mentions, func(o patientMention) bool { return o.key != m.key && tail(o.key) == m.key }) {
				want = append(want, m)
			}
		}
		if got := mergeRelative(slices.Clone(mentions)); !slices.Equal(got, want) {
			t.Fatalf("%v become %v, want %v", mentions, got, want)
		}
	})
}

func TestSubjectMissingBesideThePatient(t *testing.T) {
	r := read(t, patientOf("p1"), strengthOf("a", func(o *fhir.Observation) { o.Subject = nil }))
	wantIssues(t, r.Issues, "information required-missing Bundle.entry[1].resource")
	if r.Subject.Reference != "Patient/p1" || r.Patient != "Patient/p1" {
		t.Errorf("Subject = %+v, Patient = %q, want the one Patient", r.Subject, r.Patient)
	}
}

// The text of a refusal may be logged, so it holds nothing of the patient.
func TestTextsQuoteNoInput(t *testing.T) {
	const canary = "CANARY"
	o := strengthOf(canary, about("Patient/"+canary), at(canary))
	o.Status = "final"
	o.Code.Text = canary
	o.BodySite = &fhir.CodeableConcept{Text: canary, Coding: []fhir.Coding{{System: canary, Code: canary}}}
	o.Value = &fhir.Quantity{Value: canary, Unit: canary, System: canary, Code: canary}
	o.Component = []fhir.Component{component(canary, fhir.String(canary))}
	o.Method = ownConcept(canary)
	retracted := strengthOf("2"+canary, about("Patient/"+canary), func(o *fhir.Observation) { o.Status = canary })
	modified := strengthOf("3"+canary, about("Patient/"+canary), func(o *fhir.Observation) { o.ImplicitRules = canary })
	other := &fhir.Other{TypeName: canary, ID: canary}
	problems := refused(t, Input{Bundle: bundle(o, retracted, modified, other), AsOf: "2026-11-20"})
	if len(problems.Issues) < 8 {
		t.Fatalf("only %v, want a problem for each bad text", summary(problems.Issues))
	}
	for _, i := range problems.Issues {
		if strings.Contains(i.Detail, canary) || strings.Contains(i.Path, canary) {
			t.Errorf("%v at %s: %q quotes the input", i.Kind, i.Path, i.Detail)
		}
	}
	if strings.Contains(problems.Error(), canary) {
		t.Errorf("Error() = %q quotes the input", problems.Error())
	}
	bad := refused(t, Input{Bundle: bundle(o), AsOf: canary})
	if bad.Kind() != fault.BadParameter || strings.Contains(bad.Error(), canary) {
		t.Errorf("Error() = %q, want a bad parameter without a quote", bad.Error())
	}
}
