package intake

import (
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// malformedEntry is an entry that is not valid FHIR R4, with what could be made out of it.
func malformedEntry(made fhir.Resource) fhir.Entry {
	return fhir.Entry{Resource: &fhir.Malformed{Read: made, Issues: []fault.Issue{{Severity: fault.Error, Kind: fault.Structure, Path: "Bundle.entry", Detail: "expected an object"}}}}
}

// An entry that is not FHIR R4 is dropped. It counts as missing if it may be the latest measurement of the patient's
// shoulder, or may forbid load, as far as it could be made out.
func TestMalformedEntries(t *testing.T) {
	const last, earlier = "2026-11-20T11:00:00Z", "2026-11-01"
	procedure := func(c *fhir.CodeableConcept, sites ...*fhir.CodeableConcept) *fhir.Procedure {
		p := repairOf("x", "2026-10-01", sites...)
		p.Code = c
		return p
	}
	condition := func(c *fhir.CodeableConcept) *fhir.Condition {
		return &fhir.Condition{Code: c, Subject: subjectP1()}
	}
	right := snomedConcept(fhir.SNOMEDRightShoulder)
	const therapy, appendectomy, diabetes, glucose = "91251008", "80146002", "73211009", "2345-7" // SNOMED CT and LOINC
	tests := []struct {
		name       string
		made       fhir.Resource
		incomplete bool
	}{
		{"no resource", nil, true},
		{"no type", &fhir.Untyped{}, true},
		{"no type, of the patient", &fhir.Untyped{Subject: subjectP1()}, true},
		{"no type, of another patient", &fhir.Untyped{Subject: &fhir.Reference{Reference: "Patient/p2"}}, false},
		{"of a type that is not read", &fhir.Other{TypeName: "Transport"}, false},
		{"strength of the latest day", strengthOf("x", at(last)), true},
		{"strength of an earlier day", strengthOf("x", at(earlier)), false},
		{"strength of no day", strengthOf("x", undated()), true},
		{"strength of nobody", strengthOf("x", at(last), func(o *fhir.Observation) { o.Subject = nil }), true},
		{"strength of another patient", strengthOf("x", at(last), about("Patient/p2")), false},
		{"strength of a device", strengthOf("x", at(last), about("Device/d1")), false},
		{"an Observation of something", &fhir.Observation{Subject: subjectP1()}, true},
		{"an Observation with a code system alone", observation("x", coding(fhir.SystemLOINC, ""), nil), true},
		{"an Observation of glucose", observation("x", coding(fhir.SystemLOINC, glucose), nil, at(last)), false},
		{"a body mass", observation("x", coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), nil, at(last)), false},
		{"handedness", observation("x", coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness), nil, at(last)), false},
		{"a permitted load, whatever its day", observation("x", coding(fhir.SystemShoulder, fhir.CodePermittedLoad), nil, at(earlier)), true},

		{"a procedure", procedure(nil), true},
		{"a repair of the cuff", procedure(snomedConcept(fhir.SNOMEDCuffRepair)), true},
		{"an operation on the shoulder", procedure(snomedConcept(appendectomy), right), true},
		{"physical therapy of the shoulder", procedure(snomedConcept(therapy), right), false},
		{"an appendectomy", procedure(snomedConcept(appendectomy)), false},

		{"a condition", condition(nil), true},
		{"a history of repair", condition(snomedConcept(fhir.SNOMEDHistoryOfCuffRepair)), true},
		{"a tear", condition(snomedConcept(fhir.SNOMEDFullThicknessTear)), true},
		{"diabetes", condition(snomedConcept(diabetes)), false},
		{"a goal", &fhir.Goal{Subject: subjectP1()}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bundle(strengthOf("s"))
			b.Entry = append(b.Entry, malformedEntry(tt.made))
			r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
			if used := 1 + len(r.Episode.Unread); r.Episode.Incomplete != tt.incomplete || r.Used != used {
				t.Errorf("incomplete %t, %d used, want %t and %d (source: ours); issues %v", r.Episode.Incomplete, r.Used, tt.incomplete, used, summary(r.Issues))
			}
			if n := count(r.Issues, fault.Structure); n != 1 {
				t.Errorf("%d issues say that the entry is not FHIR R4, want 1", n)
			}
		})
	}
}

// The first hundred entries that are not FHIR R4 are listed, and the others counted.
func TestMalformedEntriesAreCounted(t *testing.T) {
	for n, want := range map[int]string{99: "", 100: "", 101: "found 1 more", 103: "found 3 more"} {
		b := bundle(strengthOf("s"))
		for range n {
			b.Entry = append(b.Entry, malformedEntry(&fhir.Goal{}))
		}
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
		listed, rest := 0, ""
		for _, i := range r.Issues {
			if i.Path == "Bundle.entry" {
				listed++
			} else {
				rest += i.Diagnostic
			}
		}
		b.Entry = append(b.Entry, malformedEntry(strengthOf("x", undated())))
		if !readInput(t, Input{Bundle: b, Involved: shoulder.Right}).Episode.Incomplete {
			t.Errorf("a measurement behind %d such entries does not count as missing", n)
		}
		if listed != min(n, 100) || rest != want || len(r.Issues) != min(n, 101) {
			t.Errorf("%d entries: %d listed, and %q in %d issues, want at most 100, and %q", n, listed, rest, len(r.Issues), want)
		}
	}
}

// Entries of which nobody can tell what they are count as missing, and are counted likewise.
func TestUnreadableEntriesAreCounted(t *testing.T) {
	for n, want := range map[int]string{1: "", 100: "", 102: "found 2 more"} {
		b := bundle(strengthOf("s"))
		for range n {
			b.Entry = append(b.Entry, malformedEntry(nil))
		}
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
		listed, rest := count(r.Issues, fault.InputIncomplete), ""
		for _, i := range r.Issues {
			if i.Kind == fault.InputIncomplete {
				rest += i.Diagnostic
			}
		}
		if listed != min(n, 101) || rest != want || !r.Episode.Incomplete {
			t.Errorf("%d entries: %d issues, %q, missing %t, want at most 101, %q and true", n, listed, rest, r.Episode.Incomplete, want)
		}
	}
}

// A Patient that is not FHIR R4 beside another may be somebody else. Alone, the other resources tell who it is.
func TestMalformedPatients(t *testing.T) {
	const several = "error several-patients Bundle.entry[3].resource"
	for _, tt := range []struct {
		name    string
		patient fhir.Resource // that can be read
		made    *fhir.Patient // of one that cannot
		want    string        // the refusal, if it is one
	}{
		{"another", patientOf("p1"), patientOf("p2"), several},
		{"the same", patientOf("p1"), patientOf("p1"), ""},
		{"without an id", patientOf("p1"), patientOf(""), ""},
		{"the only one", &fhir.Encounter{}, patientOf("p2"), ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := bundle(tt.patient, strengthOf("s"))
			b.Entry = append(b.Entry, malformedEntry(&fhir.Goal{}), malformedEntry(tt.made))
			reading, err := Read(Input{Bundle: b, Involved: shoulder.Right})
			if (err != nil) != (tt.want != "") {
				t.Fatalf("Read = %+v, %v, want a refusal: %q", reading, err, tt.want)
			}
			if err == nil {
				if reading.Subject.Reference != "Patient/p1" {
					t.Errorf("subject %+v, want p1", reading.Subject)
				}
				return
			}
			if got := summary(refused(t, Input{Bundle: b, Involved: shoulder.Right}).Issues); !slices.Contains(got, several) {
				t.Errorf("issues %v, want %s", got, several)
			}
		})
	}
}
