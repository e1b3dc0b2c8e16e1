package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
)

func replacing(target fhir.Reference) option {
	return func(o *fhir.Observation) {
		o.Extension = append(o.Extension, fhir.Extension{URL: fhir.ExtensionReplaces, Value: &target})
	}
}

func during(start, end string) option {
	return func(o *fhir.Observation) { o.Effective = &fhir.Period{Start: start, End: end} }
}

func writtenUnit(value fhir.Decimal, unit, code string) option {
	return func(o *fhir.Observation) {
		o.Value = &fhir.Quantity{Value: value, Unit: unit, System: fhir.SystemUCUM, Code: code}
	}
}

func shownAs(name string) option {
	return func(o *fhir.Observation) { o.Subject = &fhir.Reference{Display: name} }
}

// What says that a measurement is not what it looks like. A pain is there besides, so that
// there is always something to assess.
func TestMeantOtherwise(t *testing.T) {
	id := fhir.Identifier{System: "urn:site", Value: "1"}
	doe := patientOf("p1")
	doe.Name = []fhir.HumanName{{Family: "Muster-Beispiel", Given: []string{"Eva", "Maria"}}}
	const (
		first  = "Bundle.entry[2].resource"
		second = "Bundle.entry[3].resource"
		own    = "information required-missing " + first
	)
	one := func(o ...option) []fhir.Resource { return []fhir.Resource{strengthOf("a", o...)} }
	tests := []struct {
		name   string
		given  []fhir.Resource
		used   int // beside the pain
		issues []string
	}{
		{"replaced by reference", []fhir.Resource{strengthOf("a"), strengthOf("b", replacing(fhir.Reference{Reference: "Observation/a"}))}, 1, []string{"warning duplicate " + first}},
		{"replaced, in the other order", []fhir.Resource{strengthOf("b", replacing(fhir.Reference{Reference: "Observation/a"})), strengthOf("a")}, 1, []string{"warning duplicate " + second}},
		{"replaced by identifier", []fhir.Resource{strengthOf("a", named(id)), strengthOf("b", replacing(fhir.Reference{Identifier: &id}))}, 1, []string{"warning duplicate " + first}},
		{"replaced by a text, which names nothing", []fhir.Resource{strengthOf("a"), strengthOf("b", func(o *fhir.Observation) {
			o.Extension = []fhir.Extension{{URL: fhir.ExtensionReplaces, Value: fhir.String("Observation/a")}}
		})}, 2, nil},
		{"named by another extension", []fhir.Resource{strengthOf("a"), strengthOf("b", func(o *fhir.Observation) {
			o.Extension = []fhir.Extension{{URL: "https://site.example/compared-with", Value: &fhir.Reference{Reference: "Observation/a"}}}
		})}, 2, nil},
		{"the replacement was withdrawn", []fhir.Resource{strengthOf("a"), strengthOf("b", replacing(fhir.Reference{Reference: "Observation/a"}), standing("entered-in-error"))}, 1, []string{"warning status-retracted " + second + ".status"}},
		{"the replacement is not final", []fhir.Resource{strengthOf("a"), strengthOf("b", replacing(fhir.Reference{Reference: "Observation/a"}), standing("preliminary"))}, 0, []string{"warning duplicate " + first, "warning status-retracted " + second + ".status"}},
		{"replaces something that is not here", one(replacing(fhir.Reference{Reference: "Observation/x"})), 1, nil},

		{"focus on another person", one(func(o *fhir.Observation) { o.Focus = []fhir.Reference{{Reference: "Patient/p2"}} }), 0, []string{"warning patient-other " + first + ".focus[0]"}},
		{"focus on a relative", one(func(o *fhir.Observation) { o.Focus = []fhir.Reference{{Reference: "RelatedPerson/r"}} }), 0, []string{"warning patient-other " + first + ".focus[0]"}},

		{"an hour", one(during("2026-11-20T10:00:00Z", "2026-11-20T11:00:00Z")), 1, nil},
		{"no end", one(during("2026-11-20T10:00:00Z", "")), 1, nil},
		{"a day", one(during("2026-11-20", "2026-11-20")), 1, nil},
		{"just a day, by hours", one(during("2026-11-19T10:00:00Z", "2026-11-20T10:00:00Z")), 1, nil},
		{"a second more than a day", one(during("2026-11-19T10:00:00Z", "2026-11-20T10:00:01Z")), 0, []string{"warning date-missing " + first + ".effectivePeriod"}},
		{"a permitted load for a month", []fhir.Resource{permitOf("load-elevated", during("2026-11-01", "2026-11-30"))}, 1, nil},
		{"a month", one(during("2026-11-01", "2026-11-30")), 0, []string{"warning date-missing " + first + ".effectivePeriod"}},
		{"an end that is a month", one(during("2026-11-01", "2026-11")), 0, []string{"warning date-missing " + first + ".effectivePeriod"}},
		{"an end before the start", one(during("2026-11-20", "2026-11-19")), 0, []string{"warning date-missing " + first + ".effectivePeriod"}},
		{"the year 1", one(at("0001-01-01")), 0, []string{"warning date-missing " + first + ".effectiveDateTime"}},

		{"pounds beside newtons", one(writtenUnit("100", "lbs", "N")), 0, []string{"warning unit-unknown " + first + ".valueQuantity.unit"}},
		{"newtons beside pounds", one(writtenUnit("40", "Newton", "[lbf_av]")), 0, []string{"warning unit-unknown " + first + ".valueQuantity.unit"}},
		{"newton metres beside newtons", one(writtenUnit("40", "Nm", "N")), 0, []string{"warning unit-unknown " + first + ".valueQuantity.unit"}},
		{"pounds beside pounds of force", one(writtenUnit("40", "lbs", "[lbf_av]")), 1, nil},
		{"newtons beside newtons", one(writtenUnit("40", "newtons", "N")), 1, nil},
		{"a text that is no unit", one(writtenUnit("40", "peak", "N")), 1, nil},

		{"shown under another name", one(shownAs("Otto Fremd")), 0, []string{"warning patient-other " + first + ".subject.display"}},
		{"another given name", one(shownAs("Otto Muster-Beispiel")), 0, []string{"warning patient-other " + first + ".subject.display"}},
		{"shown as the Patient", one(shownAs("MUSTER-BEISPIEL, Eva")), 1, []string{own}},
		{"with a title", one(shownAs("Frau Eva Muster-Beispiel")), 1, []string{own}},
		{"the family name alone", one(shownAs("Muster-Beispiel")), 1, []string{own}},
		{"no name at all", one(shownAs("123")), 1, []string{own}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, append([]fhir.Resource{doe, painOf("p", fhir.Integer(1))}, tt.given...)...)
			if r.Used-1 != tt.used {
				t.Errorf("%d used, want %d", r.Used-1, tt.used)
			}
			wantIssues(t, r.Issues, tt.issues...)
		})
	}
}
