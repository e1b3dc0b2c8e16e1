package record

import (
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/shoulder"
)

func TestReferencesOutside(t *testing.T) {
	const home = "https://record.example/fhir/"
	business := &fhir.Identifier{System: "https://hospital.example/id", Value: "42"}
	reading := func(subject string, sources ...string) *intake.Reading {
		r := &intake.Reading{Subject: fhir.Reference{Reference: subject}}
		for _, s := range sources {
			r.Sources = append(r.Sources, intake.Source{Reference: fhir.Reference{Reference: s}, Kind: "Observation"})
		}
		return r
	}
	tests := []struct {
		name    string
		reading *intake.Reading
		in      fhir.Reference
		want    string
		logical fhir.Identifier
		why     string
	}{
		{
			"relative stays", reading("Patient/1", "Observation/1"),
			fhir.Reference{Reference: "Observation/1"}, "Observation/1", fhir.Identifier{}, "as the inputs did",
		},
		{
			"absolute becomes relative beside a relative patient", reading("Patient/1", home+"Observation/1"),
			fhir.Reference{Reference: home + "Observation/1"}, "Observation/1", fhir.Identifier{}, "the answer goes back to that server",
		},
		{
			"absolute stays beside an absolute patient", reading(home+"Patient/1", home+"Observation/1"),
			fhir.Reference{Reference: home + "Observation/1"}, home + "Observation/1", fhir.Identifier{}, "as the inputs did",
		},
		{
			"absolute stays when inputs come from two servers", reading("Patient/1", home+"Observation/1", "https://other.example/fhir/Observation/1"),
			fhir.Reference{Reference: home + "Observation/1"}, home + "Observation/1", fhir.Identifier{}, "relative would be ambiguous",
		},
		{
			"what is no RESTful address stays", reading("Patient/1", home+"Observation/1"),
			fhir.Reference{Reference: "https://record.example/document"}, "https://record.example/document", fhir.Identifier{}, "nothing to cut",
		},
		{
			"another type is left out", reading("Patient/1"),
			fhir.Reference{Reference: "https://record.example/fhir/Encounter/1"}, "", fhir.Identifier{}, "R4 Observation.derivedFrom refers to no Encounter",
		},
		{
			"another type leaves its business identifier", reading("Patient/1"),
			fhir.Reference{Reference: "Encounter/1", Identifier: business}, "", *business, "what still tells it",
		},
		{
			"a urn becomes its business identifier", reading("Patient/1"),
			fhir.Reference{Reference: "urn:uuid:0", Identifier: business}, "", *business, "a urn resolves only in the Bundle that was sent",
		},
		{
			"a urn without one becomes a logical reference", reading("Patient/1"),
			fhir.Reference{Reference: "urn:uuid:0"}, "", fhir.Identifier{System: "urn:ietf:rfc:3986", Value: "urn:uuid:0"}, "R4 Identifier.system for a URI",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := newReferenceRewriter(tt.reading).reference(tt.in, "Observation")
			var logical fhir.Identifier
			if got.Identifier != nil {
				logical = *got.Identifier
			}
			if got.Reference != tt.want || logical != tt.logical {
				t.Errorf("%q %+v, want %q %+v (%s)", got.Reference, logical, tt.want, tt.logical, tt.why)
			}
			if got.Reference == "" && got.TypeName != "Observation" {
				t.Errorf("type %q, want Observation: a logical reference does not tell", got.TypeName)
			}
		})
	}
}

// FHIR R4: DiagnosticReport.encounter and the others refer to an Encounter only.
func TestEncounterIsOne(t *testing.T) {
	for reference, kept := range map[string]bool{
		"Encounter/1": true,
		"https://record.example/fhir/Encounter/1":       true,
		"https://record.example/visits/1":               true,
		"Encounter/1/_history/2":                        true,
		"urn:uuid:7d9c1a53-7a53-4c41-9c2e-3f4b6a6a7d10": true,
		"":                                      true, // by its identifier
		"Patient/1":                             false,
		"https://record.example/fhir/Patient/1": false,
		"Patient/1/_history/2":                  false,
	} {
		if got := (referenceRewriter{}).encounter(&fhir.Reference{Reference: reference}); (got != nil) != kept {
			t.Errorf("%q is kept: %t, want %t", reference, got != nil, kept)
		}
	}
}

func TestSubjectIsNeverMissing(t *testing.T) {
	if got := (referenceRewriter{}).subject(fhir.Reference{}); got.Display == "" {
		t.Errorf("%+v, want at least a display: CarePlan.subject is 1..1", got)
	}
}

// One Observation that told several things is one source.
func TestInputsAreListedOnce(t *testing.T) {
	in := newInputs([]intake.Source{
		{Path: "Bundle.entry[0].resource", Reference: fhir.Reference{Reference: "Observation/1"}, Kind: "Observation"},
		{Path: "Bundle.entry[0].resource", Reference: fhir.Reference{Reference: "Observation/1"}, Kind: "Observation"},
		{Path: "Bundle.entry[1].resource", Kind: "Observation", Received: "80 N"},
		{Path: "Bundle.entry[2].resource", Reference: fhir.Reference{Reference: "Procedure/1"}, Kind: "Procedure"},
	}, referenceRewriter{})
	got := in.measured([]shoulder.SourceID{0, 1, 2}, []shoulder.SourceID{1, 3, 99, -1})
	if len(got) != 2 || got[0].Reference != "Observation/1" || got[1].Display != "80 N" {
		t.Errorf("%+v, want the first Observation once, the nameless one by its value, and nothing else", got)
	}
}

func TestDateTime(t *testing.T) {
	at := func(text string) time.Time {
		when, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		return when
	}
	tests := []struct {
		name string
		when time.Time
		want string
	}{
		{"with its offset", at("2026-03-02T09:30:00+01:00"), "2026-03-02T09:30:00+01:00"},
		{"with a fraction", at("2026-03-02T09:30:00.25Z"), "2026-03-02T09:30:00.25Z"},
		{"a day", at("2026-03-02T00:00:00Z"), "2026-03-02"},
		{"the end of a day", at("2026-03-02T23:59:59Z"), "2026-03-02"},
		{"midnight elsewhere is a time", at("2026-03-02T00:00:00+01:00"), "2026-03-02T00:00:00+01:00"},
	}
	for _, tt := range tests {
		if got := new(builder).dateTime(tt.when); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}
