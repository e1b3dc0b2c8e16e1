package intake

import (
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func focusedOn(references ...string) option {
	return func(o *fhir.Observation) {
		for _, r := range references {
			o.Focus = append(o.Focus, fhir.Reference{Reference: r})
		}
	}
}

func derivedFrom(references ...string) option {
	return func(o *fhir.Observation) {
		for _, r := range references {
			o.DerivedFrom = append(o.DerivedFrom, fhir.Reference{Reference: r})
		}
	}
}

// confirmationOf says of measurements that they are right, or that they are not.
func confirmationOf(id string, yes bool, options ...option) *fhir.Observation {
	return statedBy(id, fhir.CodeMeasurementConfirmed, fhir.Boolean(yes), options...)
}

// confirmedIDs lists the ids of the Observations with a confirmed trial.
func confirmedIDs(r *Reading) string {
	var ids []string
	for _, s := range r.Episode.Sessions {
		for _, trial := range s.Trials {
			if trial.Confirmed {
				ids = append(ids, tail(r.Sources[trial.Source].Reference.Reference)[len("Observation/"):])
			}
		}
	}
	return strings.Join(ids, " ")
}

func TestConfirmation(t *testing.T) {
	const at2, at3 = " Bundle.entry[2].resource", " Bundle.entry[3].resource"
	unresolved := func(elements ...string) (issues []string) {
		for _, e := range elements {
			issues = append(issues, "warning reference-unresolved"+at2+"."+e)
		}
		return issues
	}
	id := fhir.Identifier{System: "urn:site", Value: "1"}
	byIdentifier := func(id fhir.Identifier) option {
		return func(o *fhir.Observation) { o.Focus = []fhir.Reference{{Identifier: &id}} }
	}
	containing := func(o *fhir.Observation) { o.Contained = []fhir.Resource{strengthOf("a")} }
	tests := []struct {
		name   string
		stated []fhir.Resource // beside two strengths, a and b
		want   string
		bad    []string
	}{
		{"one", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"))}, "a", nil},
		{"by derivedFrom", []fhir.Resource{confirmationOf("c", true, derivedFrom("Observation/b"))}, "b", nil},
		{"both", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), derivedFrom("Observation/b"))}, "a b", nil},
		{"absolute", []fhir.Resource{confirmationOf("c", true, focusedOn("http://example.org/fhir/Observation/a"))}, "a", nil},
		{"by identifier", []fhir.Resource{confirmationOf("c", true, byIdentifier(id))}, "b", nil},
		{"of the sent version", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/b/_history/2"))}, "b", nil},
		{"on the day of the measurement", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-20"))}, "a", nil},
		{"earlier on that day", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-20T08:00:00Z"))}, "a", nil},

		{"before that day", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-19"))}, "", unresolved("focus[0]")},
		{"no performer", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), by())}, "", []string{"warning performer-missing" + at2 + ".performer"}},
		{"by the patient", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), by(fhir.Reference{Reference: "Patient/p1"}))}, "",
			[]string{"warning performer-missing" + at2 + ".performer"}},
		{"no date", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), undated())}, "", []string{"warning date-missing" + at2}},
		{"no target", []fhir.Resource{confirmationOf("c", true)}, "", []string{"warning required-missing" + at2 + ".focus"}},
		{"in words", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), value(fhir.String("yes")))}, "", []string{"warning value-kind" + at2 + ".valueString"}},

		{"not there", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/z"))}, "", unresolved("focus[0]")},
		{"not there, the others count", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/z", "Observation/a"), derivedFrom("Observation/b", "Observation/y"))}, "a b",
			unresolved("derivedFrom[1]", "focus[0]")},
		{"a contained one", []fhir.Resource{confirmationOf("c", true, focusedOn("#a"), containing)}, "", unresolved("focus[0]")},
		{"an identifier that nothing has", []fhir.Resource{confirmationOf("c", true, byIdentifier(fhir.Identifier{System: "urn:site", Value: "9"}))}, "", unresolved("focus[0]")},
		{"an identifier without a system", []fhir.Resource{confirmationOf("c", true, byIdentifier(fhir.Identifier{Value: "3"})), strengthOf("d", named(fhir.Identifier{Value: "3"}))}, "", unresolved("focus[0]")},
		{"nothing", []fhir.Resource{confirmationOf("c", true, focusedOn(""))}, "", unresolved("focus[0]")},
		{"another version", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/b/_history/1"))}, "", unresolved("focus[0]")},
		{"itself", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/c"))}, "", unresolved("focus[0]")},
		{"the patient", []fhir.Resource{confirmationOf("c", true, focusedOn("Patient/p1", "Observation/a"))}, "a", unresolved("focus[0]")},
		{"no strength", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/f")), flexionOf("f")}, "", unresolved("focus[0]")},
		{"a strength that is not used", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/d")), strengthOf("d", value(ucum("701", "N")))}, "",
			append(unresolved("focus[0]"), "warning implausible-value"+at3+".valueQuantity.value")},

		{"withdrawn later", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a", "Observation/b")), confirmationOf("d", false, focusedOn("Observation/a"), at("2026-11-22"))}, "b", nil},
		{"withdrawn earlier", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a")), confirmationOf("d", false, focusedOn("Observation/a"), at("2026-11-20"))}, "a", nil},
		{"withdrawn on the same day", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a")), confirmationOf("d", false, focusedOn("Observation/a"))}, "", nil},
		{"withdrawn at some time of the day", []fhir.Resource{confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-21T18:00:00Z")), confirmationOf("d", false, focusedOn("Observation/a"))}, "", nil},
		{"withdrawn earlier that day", []fhir.Resource{
			confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-21T18:00:00Z")),
			confirmationOf("d", false, focusedOn("Observation/a"), at("2026-11-21T17:59:59Z")),
		}, "a", nil},
		{"withdrawn between", []fhir.Resource{
			confirmationOf("c", true, focusedOn("Observation/a"), at("2026-11-20")), confirmationOf("d", false, focusedOn("Observation/a"), at("2026-11-21")),
			confirmationOf("e", true, focusedOn("Observation/a"), at("2026-11-22")),
		}, "a", nil},
		{"withdrawn by nobody", []fhir.Resource{confirmationOf("d", false, focusedOn("Observation/a"), by(), at("2026-11-22")), confirmationOf("c", true, focusedOn("Observation/a"))}, "",
			[]string{"information performer-missing" + at2 + ".performer"}},
		{"withdrawn on no day", []fhir.Resource{confirmationOf("d", false, focusedOn("Observation/a"), undated()), confirmationOf("c", true, focusedOn("Observation/a"))}, "",
			[]string{"warning date-missing" + at2}},
		{"withdrawn in the future", []fhir.Resource{confirmationOf("d", false, focusedOn("Observation/a"), at("2027-01-01")), confirmationOf("c", true, focusedOn("Observation/a"))}, "",
			[]string{"warning date-future" + at2 + ".effectiveDateTime"}},
		{"another version withdrawn", []fhir.Resource{confirmationOf("d", false, focusedOn("Observation/b/_history/1"), at("2026-11-22")), confirmationOf("c", true, focusedOn("Observation/b"))}, "", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, append([]fhir.Resource{strengthOf("a"), strengthOf("b", named(id), version("2", ""))}, tt.stated...)...)
			wantIssues(t, r.Issues, tt.bad...)
			if got := confirmedIDs(r); got != tt.want {
				t.Errorf("confirmed %q, want %q", got, tt.want)
			}
			if len(r.Episode.Sessions) != 1 {
				t.Errorf("%d sessions, want that of the strengths", len(r.Episode.Sessions))
			}
		})
	}
}

// Every trial of the Observation is confirmed.
func TestConfirmationOfTrials(t *testing.T) {
	r := read(t, strengthOf("a", value(nil), with(fhir.CodeTrial, ucum("90", "N")), with(fhir.CodeTrial, ucum("95", "N"))), confirmationOf("c", true, focusedOn("Observation/a")))
	if got, want := confirmedIDs(r), "a a"; got != want {
		t.Errorf("confirmed %q, want %q", got, want)
	}
}

func TestConfirmationByURN(t *testing.T) {
	const urn = "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	b := bundle(confirmationOf("c", true, focusedOn(urn)))
	b.Entry = append(b.Entry, fhir.Entry{FullURL: urn, Resource: strengthOf("")})
	r := readInput(t, Input{Bundle: b, Involved: shoulder.Right, Received: received})
	wantIssues(t, r.Issues)
	if !r.Episode.Sessions[0].Trials[0].Confirmed {
		t.Error("not confirmed, want it found by its fullUrl")
	}
}

// A confirmation changes the answer, so it is one of its sources, and what it is
// about is part of what it says.
func TestConfirmationIsASource(t *testing.T) {
	source := func(references ...string) Source {
		r := read(t, strengthOf("a"), strengthOf("b"), confirmationOf("c", true, focusedOn(references...)), painOf("p", fhir.Integer(1), at("2026-11-24")))
		if len(r.Sources) != 4 || r.Used != 4 {
			t.Fatalf("%d sources, %d used, want 4 and 4", len(r.Sources), r.Used)
		}
		return r.Sources[2] // in order of time
	}
	one := source("Observation/a")
	if one.Kind != "Observation" || one.Reference.Reference != "Observation/c" || one.Received != "true" {
		t.Errorf("source %+v, want the confirmation", one)
	}
	if other := source("Observation/b"); other.Identity == one.Identity {
		t.Errorf("identity %q whatever is confirmed, want another", one.Identity)
	}
	if again := source("Observation/a", "Observation/a"); again.Identity != one.Identity {
		t.Errorf("identity %q for the same said twice, want %q", again.Identity, one.Identity)
	}
}

// R4: focus is what was observed, where that is not the subject.
func TestFocusOfAMeasurement(t *testing.T) {
	focus := func(r fhir.Reference) option { return func(o *fhir.Observation) { o.Focus = []fhir.Reference{r} } }
	const other = "warning patient-other Bundle.entry[1].resource.focus[0]"
	tests := []struct {
		name string
		o    *fhir.Observation
		want []string
	}{
		{"the patient", strengthOf("x", focusedOn("Patient/p1")), nil},
		{"the patient by address", strengthOf("x", focusedOn("http://example.org/fhir/Patient/p1")), nil},
		{"the patient by identifier", strengthOf("x", focus(fhir.Reference{Identifier: &mrn})), nil},
		{"another patient", strengthOf("x", focusedOn("Patient/p2")), []string{other}},
		{"another patient by identifier", strengthOf("x", focus(fhir.Reference{Identifier: &fhir.Identifier{System: mrn.System, Value: "6"}})), []string{other}},
		{"a relative of the patient", strengthOf("x", focusedOn("RelatedPerson/r1")), []string{other}},
		{"a device", strengthOf("x", focusedOn("Device/d1")), []string{other}},
		{"a name", strengthOf("x", focus(fhir.Reference{Display: "A. Person"})), []string{other}},
		{"the patient and another", strengthOf("x", focusedOn("Patient/p1", "Patient/p2")), []string{"warning patient-other Bundle.entry[1].resource.focus[1]"}},
		{"range of another", flexionOf("x", focusedOn("Patient/p2")), []string{other}},
		{"pain of another", painOf("x", fhir.Integer(8), focusedOn("Patient/p2")), []string{other}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("good"), tt.o, patientOf("p1", mrn))
			wantIssues(t, r.Issues, tt.want...)
			if got, want := r.Used, 2-len(tt.want); got != want {
				t.Errorf("Used = %d, want %d", got, want)
			}
		})
	}
	wantIssues(t, read(t, strengthOf("s", focusedOn("http://example.org/fhir/Patient/p1"))).Issues) // no Patient sent
}

// A confirmation of nothing that is there is no source of the answer; one of a strength is, whatever was measured before.
func TestConfirmationOfNothingIsNoSource(t *testing.T) {
	earlier := flexionOf("f", at("2026-11-19"))
	if r := read(t, earlier, strengthOf("a"), confirmationOf("c", true, focusedOn("Observation/z"))); r.Used != 2 || len(r.Sources) != 2 {
		t.Errorf("%d used, %d sources, want the range and the strength", r.Used, len(r.Sources))
	}
	r := read(t, earlier, strengthOf("a"), confirmationOf("c", true, focusedOn("Observation/a")))
	if got := confirmedIDs(r); got != "a" || r.Used != 3 {
		t.Errorf("confirmed %q of %d, want a of 3", got, r.Used)
	}
}
