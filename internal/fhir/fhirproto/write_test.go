package fhirproto_test

import (
	"errors"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirproto"
)

func TestAppendRefuses(t *testing.T) {
	const resource = "Bundle.entry[0].resource"
	observation := func(change func(*fhir.Observation)) *fhir.Bundle {
		o := &fhir.Observation{Status: "final", Code: words("c")}
		change(o)
		return bundleOf([]fhir.Resource{o})
	}
	tests := []struct {
		name   string
		bundle *fhir.Bundle
		path   string
	}{
		{"no Bundle", nil, "Bundle"},
		{"unknown Bundle type", &fhir.Bundle{BundleType: "bogus"}, "Bundle.type"},
		{"unknown method", &fhir.Bundle{Entry: []fhir.Entry{{Request: &fhir.Request{Method: "post"}}}}, "Bundle.entry[0].request.method"},
		{"resource not read", bundleOf([]fhir.Resource{&fhir.Other{TypeName: "Medication"}}), resource},
		{"resource that is nil", bundleOf([]fhir.Resource{(*fhir.Observation)(nil)}), resource},
		{"contained resource that is nil", observation(func(o *fhir.Observation) { o.Contained = []fhir.Resource{nil} }), resource + ".contained[0]"},
		{"parameters", bundleOf([]fhir.Resource{&fhir.Parameters{}}), resource},
		{"unknown status", observation(func(o *fhir.Observation) { o.Status = "bogus" }), resource + ".status"},
		{"status in capitals", observation(func(o *fhir.Observation) { o.Status = "FINAL" }), resource + ".status"},
		{"unknown comparator", observation(func(o *fhir.Observation) { o.Value = &fhir.Quantity{Comparator: "~"} }), resource + ".valueQuantity.comparator"},
		{"decimal that is none", observation(func(o *fhir.Observation) { o.Value = &fhir.Quantity{Value: "12,5"} }), resource + ".valueQuantity.value"},
		{"comparator where none can be", observation(func(o *fhir.Observation) {
			o.ReferenceRange = []fhir.ReferenceRange{{Low: &fhir.Quantity{Value: "1", Comparator: "<"}}}
		}), resource + ".referenceRange[0].low.comparator"},
		{"value of another element", observation(func(o *fhir.Observation) { o.Value = fhir.Code("x") }), resource + ".value"},
		{"component value of another element", observation(func(o *fhir.Observation) {
			o.Component = []fhir.Component{{Code: words("c"), Value: fhir.URI("x")}}
		}), resource + ".component[0].value"},
		{"effective of another element", observation(func(o *fhir.Observation) { o.Effective = fhir.String("x") }), resource + ".effective"},
		{"instant without a time", observation(func(o *fhir.Observation) { o.Issued = "2026-10-05" }), resource + ".issued"},
		{"dateTime that is none", observation(func(o *fhir.Observation) { o.Effective = fhir.DateTime("yesterday") }), resource + ".effectiveDateTime"},
		{"date with a time", bundleOf([]fhir.Resource{&fhir.Patient{BirthDate: "2026-10-05T09:30:00Z"}}), resource + ".birthDate"},
		{"two schedules", bundleOf([]fhir.Resource{&fhir.CarePlan{Activity: []fhir.Activity{{Detail: &fhir.ActivityDetail{
			ScheduledPeriod: fullPeriod(), ScheduledString: "daily",
		}}}}}), resource + ".activity[0].detail.scheduled"},
		{"identifier of a Provenance", bundleOf([]fhir.Resource{&fhir.Provenance{Common: fullCommon("v")}}), resource + ".identifier"},
		{"identifiers of a QuestionnaireResponse", bundleOf([]fhir.Resource{&fhir.QuestionnaireResponse{Common: fullCommon("q")}}), resource + ".identifier"},
		{"decimal of an extension", observation(func(o *fhir.Observation) {
			o.Extension = []fhir.Extension{{URL: "urn:x", Value: fhir.Decimal("1.50")}}
		}), resource + ".extension[0].value"},
		{"identifier of an OperationOutcome", bundleOf([]fhir.Resource{&fhir.OperationOutcome{Common: fullCommon("o")}}), resource + ".identifier"},
		{"contained resource with an unknown status", observation(func(o *fhir.Observation) {
			o.Contained = []fhir.Resource{&fhir.Observation{Status: "bogus"}}
		}), resource + ".contained[0].status"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := fhirproto.Append(nil, tt.bundle)
			var refusal *fault.Errors
			if !errors.As(err, &refusal) {
				t.Fatalf("Append: %v, want a refusal", err)
			}
			if got := refusal.Issues[0]; len(refusal.Issues) != 1 || got.Kind != fault.Internal || got.Path != tt.path {
				t.Errorf("Append: %v, want one internal error at %s", err, tt.path)
			}
		})
	}
}

func TestAppendOutcomeRefuses(t *testing.T) {
	if _, err := fhirproto.AppendOutcome(nil, nil); err == nil {
		t.Error("AppendOutcome(nil, nil) is accepted")
	}
	_, err := fhirproto.AppendOutcome(nil, &fhir.OperationOutcome{Issue: []fhir.OutcomeIssue{{Severity: "error", Code: "bogus"}}})
	want := "internal at OperationOutcome.issue[0].code: found a code that is not in the value set; expected one that is"
	if err == nil || err.Error() != want {
		t.Errorf("AppendOutcome: %v, want %s", err, want)
	}
}

// What Encode leaves out, Append leaves out.
func TestAppendLeavesOutWhatEncodeLeavesOut(t *testing.T) {
	tests := []struct {
		name  string
		build func() *fhir.Observation
	}{
		{"empty parts", func() *fhir.Observation {
			return &fhir.Observation{
				Category: []fhir.CodeableConcept{{}, words("kept"), {Coding: []fhir.Coding{{}}}}, Subject: &fhir.Reference{},
				Performer: []fhir.Reference{{}}, BodySite: &fhir.CodeableConcept{}, Note: []fhir.Annotation{{}, {Text: "kept"}},
			}
		}},
		{"empty values", func() *fhir.Observation {
			return &fhir.Observation{
				Value: &fhir.Quantity{}, Effective: &fhir.Period{},
				Component: []fhir.Component{{Code: words("c"), Value: fhir.String("")}, {Code: words("d"), Value: &fhir.CodeableConcept{}}, {Value: fhir.DateTime("")}},
			}
		}},
		{"nil values", func() *fhir.Observation {
			return &fhir.Observation{Value: (*fhir.Quantity)(nil), Effective: (*fhir.Period)(nil)}
		}},
		{"values that cannot be written", func() *fhir.Observation {
			return &fhir.Observation{
				Value: fhir.OtherValue("Range"), Effective: fhir.OtherValue("Timing"),
				Component: []fhir.Component{{Code: words("c"), Value: fhir.OtherValue("Ratio")}},
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := tt.build()
			o.Status, o.Code = "final", words("c")
			checkWriting(t, bundleOf([]fhir.Resource{o}))
		})
	}
}
