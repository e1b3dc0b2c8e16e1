package intake

import (
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// A subject that has a name alone is the Patient's if it has the family name and a given name of the Patient, or
// nothing but words of one name. Source: ours; FHIR R4 4.0.1, HumanName, whose parts may all be left out.
func TestNameOfTheSubject(t *testing.T) {
	name := func(family string, given ...string) fhir.HumanName {
		return fhir.HumanName{Family: family, Given: given}
	}
	tests := []struct {
		name  string
		names []fhir.HumanName
		shown string
		same  bool
	}{
		{"a given name and the family name", []fhir.HumanName{name("Muster", "Eva", "Maria")}, "Frau Dr. Maria Muster", true},
		{"the given name alone", []fhir.HumanName{name("Muster", "Eva")}, "Eva", true},
		{"an earlier name", []fhir.HumanName{name("Muster", "Eva"), name("Beispiel", "Eva")}, "Eva Beispiel", true},
		{"the Patient has no name", nil, "Otto Fremd", true},
		{"the Patient has an empty name", []fhir.HumanName{{}}, "Otto Fremd", true},
		{"another, behind an empty name", []fhir.HumanName{{}, name("Muster", "Eva")}, "Otto Fremd", false},
		{"another family name", []fhir.HumanName{name("Muster", "Eva")}, "Eva Fremd", false},
		{"no family name to compare", []fhir.HumanName{name("", "Eva")}, "Eva Fremd", false},
		{"an empty given name", []fhir.HumanName{name("Muster", "", "Eva")}, "Otto Muster", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := patientOf("p1")
			p.Name = tt.names
			r := read(t, p, painOf("p", fhir.Integer(1)), strengthOf("a", shownAs(tt.shown)))
			if used := r.Used == 2; used != tt.same {
				t.Errorf("used: %t, want %t; issues %v", used, tt.same, summary(r.Issues))
			}
		})
	}
}

// How a printed page names the patient: by name, else by a record number, else by what the Observations refer to.
func TestNameOnPrintedPages(t *testing.T) {
	letters := func(n int) string { return strings.Repeat("é", n) }
	withNames := func(p *fhir.Patient, names ...fhir.HumanName) *fhir.Patient {
		p.Name = names
		return p
	}
	noValue := fhir.Identifier{System: "urn:oid:9"}
	tests := []struct {
		name  string
		given []fhir.Resource
		want  string
	}{
		{"given and family name", []fhir.Resource{withNames(patientOf("p1", mrn), fhir.HumanName{Family: "Muster", Given: []string{"Eva", "Maria"}})}, "Eva Maria Muster"},
		{"as it is written", []fhir.Resource{withNames(patientOf("p1", mrn), fhir.HumanName{Text: " Muster,\tEva ", Family: "Muster"})}, "Muster, Eva"},
		{"the first that is not empty", []fhir.Resource{withNames(patientOf("p1", mrn), fhir.HumanName{}, fhir.HumanName{Text: "Eva"})}, "Eva"},
		{"just a line", []fhir.Resource{withNames(patientOf("p1"), fhir.HumanName{Text: letters(48)})}, letters(48)},
		{"more than a line", []fhir.Resource{withNames(patientOf("p1"), fhir.HumanName{Text: letters(49)})}, letters(47) + "…"},
		{"a record number", []fhir.Resource{withNames(patientOf("p1", mrn), fhir.HumanName{})}, mrn.Value},
		{"an identifier without a value", []fhir.Resource{patientOf("p1", noValue)}, "Patient/p1"},
		{"no Patient", nil, "Patient/p1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := read(t, append(tt.given, strengthOf("s"))...).Episode.Person.Name; got != tt.want {
				t.Errorf("named %q, want %q", got, tt.want)
			}
		})
	}
	if got := read(t, strengthOf("s", identified(mrn))).Episode.Person.Name; got != mrn.Value {
		t.Errorf("an identifier alone: named %q, want %q", got, mrn.Value)
	}
}

// Identifiers tell that resources are about one patient, whatever stands before them.
func TestIdentifiersOfThePatient(t *testing.T) {
	const p1 = "Patient/p1"
	both := func(reference string) option {
		return func(o *fhir.Observation) { o.Subject = &fhir.Reference{Reference: reference, Identifier: &mrn} }
	}
	nobody := func(o *fhir.Observation) { o.Subject = nil }
	for name, given := range map[string][]fhir.Resource{
		"the identifier alone comes first": {strengthOf("b", identified(mrn)), strengthOf("a", both(p1))},
		"behind no subject":                {strengthOf("x", nobody), strengthOf("a", both(p1)), strengthOf("b", identified(mrn))},
		"behind a reference alone":         {strengthOf("x"), strengthOf("a", both(p1)), strengthOf("b", identified(mrn))},
		"behind a group":                   {strengthOf("x", both("Group/g1")), strengthOf("a", both(p1)), strengthOf("b", identified(mrn))},
	} {
		if r := readInput(t, Input{Bundle: bundle(given...), Involved: shoulder.Right}); r.Subject.Reference != p1 {
			t.Errorf("%s: subject %+v, want %s", name, r.Subject, p1)
		}
	}
	// An identifier without a value is nobody's.
	empty := fhir.Identifier{System: mrn.System}
	r := read(t, patientOf("p1", empty), strengthOf("a", containing(patientOf("x", empty))))
	wantIssues(t, r.Issues, "information required-missing Bundle.entry[1].resource")
}

// References are listed once each, and an empty one not at all.
func TestReferencesOnce(t *testing.T) {
	a, b := fhir.Reference{Reference: "Condition/a"}, fhir.Reference{Reference: "Condition/b"}
	got := sortedReferences([]fhir.Reference{b, {}, a, b})
	if len(got) != 2 || got[0].Reference != a.Reference || got[1].Reference != b.Reference {
		t.Errorf("references %+v, want a and b", got)
	}
}

func TestListedValues(t *testing.T) {
	for want, values := range map[string][]shoulder.Side{"right": {shoulder.Right}, "right or left": {shoulder.Right, shoulder.Left}, "right, left or right": {shoulder.Right, shoulder.Left, shoulder.Right}} {
		if got := listed(values); got != want {
			t.Errorf("listed %v as %q, want %q", values, got, want)
		}
	}
}
