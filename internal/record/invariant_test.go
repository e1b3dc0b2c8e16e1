package record

import (
	"testing"

	"evenreach.example/internal/fhir"
)

// The invariants of FHIR R4 4.0.1 that computed resources could break.
func TestInvariants(t *testing.T) {
	for name, input := range everyInput(t) {
		for _, output := range []Output{Transaction, Collection} {
			b := input.answer(t, output)
			for _, o := range of[*fhir.Observation](b) {
				checkObservation(t, name, o)
			}
			for _, g := range of[*fhir.Goal](b) {
				for _, target := range g.Target {
					if target.Detail != nil && target.Measure == nil {
						t.Errorf("%s: gol-1: a target with a detail and no measure", name)
					}
				}
				if g.Description.Text == "" || g.Subject == nil {
					t.Errorf("%s: Goal.description and subject are 1..1", name)
				}
			}
			for _, c := range of[*fhir.CarePlan](b) {
				if c.Subject == nil || len(c.Activity) == 0 {
					t.Errorf("%s: a CarePlan needs a subject, and ours something to do", name)
				}
				for i, a := range c.Activity {
					if a.Detail == nil || a.Detail.Status == "" || a.Detail.Kind == "" {
						t.Errorf("%s: cpl-3: activity %d needs a detail with status and kind", name, i)
					}
				}
			}
			for _, r := range of[*fhir.DiagnosticReport](b) {
				checkContained(t, name, r)
			}
		}
	}
}

func checkObservation(t *testing.T, name string, o *fhir.Observation) {
	t.Helper()
	code := o.Code.Coding[0].Code
	switch {
	case code == fhir.CodeRotationCourse && o.Value == nil && o.DataAbsentReason == nil && len(o.Component) > 0: // its values are its components
	case (o.Value == nil) == (o.DataAbsentReason == nil), o.Value == nil && code != fhir.CodeStrengthCourse:
		t.Errorf("%s: %s: obs-6: a computed Observation has a value and no reason for its absence", name, code)
	}
	checkRanges(t, name+": "+code, o.ReferenceRange)
	for _, c := range o.Component {
		component := c.Code.Coding[0].Code
		if component == code {
			t.Errorf("%s: %s: obs-7: a component has the code of the Observation", name, code)
		}
		if (c.Value == nil) == (c.DataAbsentReason == nil) {
			t.Errorf("%s: %s: component %s needs either a value or a reason for its absence", name, code, component)
		}
		checkRanges(t, name+": "+component, c.ReferenceRange)
	}
}

func checkRanges(t *testing.T, where string, ranges []fhir.ReferenceRange) {
	t.Helper()
	for _, r := range ranges {
		if r.Low == nil && r.High == nil && r.Text == "" {
			t.Errorf("%s: obs-3: a reference range without low, high and text", where)
		}
	}
}

// dom-2 to dom-4: a contained resource is pointed at, has no version and
// contains nothing.
func checkContained(t *testing.T, name string, r *fhir.DiagnosticReport) {
	t.Helper()
	for _, contained := range r.Contained {
		o, ok := contained.(*fhir.OperationOutcome)
		if !ok {
			t.Fatalf("%s: the report contains a %s", name, contained.Type())
		}
		pointed := false
		for _, x := range r.Extension {
			if ref, ok := x.Value.(*fhir.Reference); ok && ref.Reference == "#"+o.ID {
				pointed = true
			}
		}
		if !pointed {
			t.Errorf("%s: dom-3: nothing points at the contained %s", name, o.ID)
		}
		if o.Meta != nil || len(o.Contained) > 0 {
			t.Errorf("%s: dom-2, dom-4: a contained resource has neither version nor contained resources", name)
		}
	}
}
