package record

import (
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
)

// faulty is a record in which one Observation lacks its side.
func faulty() *sent {
	s := onePosition("80")
	s.observation(*coded(fhir.CodeExternalRotationStrength), firstVisit, "", quantity("12", "N"))
	return s
}

func TestReport(t *testing.T) {
	b := twoVisits().answer(t, Transaction)
	r := of[*fhir.DiagnosticReport](b)[0]
	if r.Status != "partial" {
		t.Errorf("status %s, want partial: data may be unverified (R4 diagnostic-report-status)", r.Status)
	}
	if r.Code.Coding[0].Code != "11508-9" || r.Category[0].Coding[0].Code != "PT" {
		t.Errorf("code %v in %v, want LOINC 11508-9 in PT (design section 5)", r.Code, r.Category)
	}
	if len(r.Result) != len(of[*fhir.Observation](b)) {
		t.Errorf("%d results, want every one of %d Observations", len(r.Result), len(of[*fhir.Observation](b)))
	}
	if r.Conclusion == "" || r.Text == nil || !hasCode(&r.ConclusionCode[0], "strengthening") {
		t.Errorf("conclusion %q %v, want words, a narrative and the overall status", r.Conclusion, r.ConclusionCode)
	}
	if len(r.PresentedForm) != 0 {
		t.Errorf("%d presented forms, want none: the narrative is the report, and others come when asked for", len(r.PresentedForm))
	}
}

func TestDroppedInputGoesWithTheReport(t *testing.T) {
	var expressions []string
	check := func(o *fhir.OperationOutcome) {
		for _, i := range o.Issue {
			expressions = append(expressions, i.Expression...)
		}
		if !slices.Contains(expressions, "Bundle.entry[5].resource") {
			t.Errorf("issues at %v, want one at the Observation without a side", expressions)
		}
	}
	stored := of[*fhir.DiagnosticReport](faulty().answer(t, Transaction))[0]
	check(stored.Contained[0].(*fhir.OperationOutcome))
	if x := stored.Extension[0]; x.URL != fhir.ExtensionMessages || x.Value.(*fhir.Reference).Reference != "#input-issues" {
		t.Errorf("extension %+v, want a pointer to the contained issues", x)
	}

	read := faulty().answer(t, Collection)
	check(of[*fhir.OperationOutcome](read)[0])
	report := of[*fhir.DiagnosticReport](read)[0]
	if len(report.Contained) != 0 || !lowerUUID.MatchString(report.Extension[0].Value.(*fhir.Reference).Reference) {
		t.Errorf("%v %+v, want a pointer to the entry of the collection", report.Contained, report.Extension)
	}
	complete := newSent()
	complete.visit(firstVisit, "60", "150", "2")
	if r := of[*fhir.DiagnosticReport](complete.answer(t, Transaction))[0]; len(r.Contained) != 0 || len(r.Extension) != 0 {
		t.Errorf("%v %v, want nothing contained: there is no issue", r.Contained, r.Extension)
	}
}

func TestProvenance(t *testing.T) {
	s := twoVisits()
	b := s.answer(t, Transaction)
	p := of[*fhir.Provenance](b)[0]
	if len(p.Target) != len(b.Entry)-2 {
		t.Errorf("%d targets, want all of %d entries but the Device and the Provenance itself", len(p.Target), len(b.Entry))
	}
	if p.Recorded != secondVisit || valueOf(p.Occurred) != secondVisit {
		t.Errorf("recorded %s, occurred %s; want the evaluation time %s: there is no clock", p.Recorded, valueOf(p.Occurred), secondVisit)
	}
	if p.Agent[0].Who.Reference != b.Entry[0].FullURL || p.Agent[0].Kind.Coding[0].Code != "assembler" {
		t.Errorf("agent %+v, want the Device as assembler", p.Agent[0])
	}
	sources := map[string]string{}
	for _, e := range p.Entity[:len(p.Entity)-1] {
		if e.Role != "source" {
			t.Errorf("role %s, want source", e.Role)
		}
		sources[e.What.Reference] = e.What.Display
	}
	if len(sources) != len(s.bundle.Entry)-1 || sources["Observation/o1"] != "60 N" {
		t.Errorf("sources %v, want each Observation with its value as received", sources)
	}
	last := p.Entity[len(p.Entity)-1]
	if last.Role != "derivation" || last.What.Identifier.Value != p.Policy[0] || p.Policy[0] != "https://evenreach.example/fhir/PlanDefinition/evenreach-default|2.0.0" {
		t.Errorf("protocol %+v, policy %v; want the protocol with its version", last, p.Policy)
	}
	if len(p.Identifier) != 0 {
		t.Error("R4 has no Provenance.identifier")
	}
}

func TestDevice(t *testing.T) {
	tests := []struct {
		name, version, want, condition string
	}{
		{"release", "1.2.3", "1.2.3", "identifier=https://evenreach.example/fhir/sid/software|1.2.3"},
		{"a plus sign in a query would read as a space", "1.2.3+5", "1.2.3+5", "identifier=https://evenreach.example/fhir/sid/software|1.2.3%2B5"},
		{"development build", "", "development", "identifier=https://evenreach.example/fhir/sid/software|development"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, reading := onePosition("80").assessed(t, protocol.Default())
			first := Build(a, reading, Options{Version: tt.version}).Entry[0]
			d := first.Resource.(*fhir.Device)
			if d.DeviceName[0].Name != "Evenreach" || d.Version[0].Value != tt.want || first.Request.IfNoneExist != tt.condition {
				t.Errorf("%s %s if %s, want Evenreach %s if %s", d.DeviceName[0].Name, d.Version[0].Value, first.Request.IfNoneExist, tt.want, tt.condition)
			}
		})
	}
}
