package cdshooks

import (
	"github.com/go-json-experiment/json"

	"evenreach.example/internal/fhir"
)

// serviceRequest is a FHIR R4 ServiceRequest: what of one is written here and nowhere else.
type serviceRequest struct {
	ResourceType     string    `json:"resourceType"`
	Status           string    `json:"status"`
	Intent           string    `json:"intent"`
	Code             *concept  `json:"code,omitempty"`
	Subject          reference `json:"subject"`
	OccurrencePeriod *period   `json:"occurrencePeriod,omitempty"`
}

type concept struct {
	Coding []Coding `json:"coding,omitempty"`
	Text   string   `json:"text,omitempty"`
}

type reference struct {
	Reference string `json:"reference,omitempty"`
	Display   string `json:"display,omitempty"`
}

type period struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
}

// requests create a draft of a request for each activity that asks for a measurement. Exercises, which serve
// until the re-check, stay in the plan.
func requests(plan *fhir.CarePlan) (actions []Action) {
	for i := range plan.Activity {
		d := plan.Activity[i].Detail
		if d.Code == nil || isExercise(d.Code) {
			continue
		}
		text, err := json.Marshal(requestOf(d, plan.Subject), json.Deterministic(true))
		if err != nil {
			continue // a struct of texts cannot fail
		}
		actions = append(actions, Action{"create", "Request: " + d.Code.Text, text})
	}
	return actions
}

// isExercise reports whether an activity is an exercise, by its first coding.
func isExercise(c *fhir.CodeableConcept) bool {
	switch c.Coding[0].Code {
	case fhir.SNOMEDMuscleStrengthening, fhir.SNOMEDExerciseTherapy, fhir.SNOMEDPassiveExercise, fhir.SNOMEDStretching:
		return c.Coding[0].System == fhir.SystemSNOMED
	}
	return false
}

func requestOf(d *fhir.ActivityDetail, subject *fhir.Reference) serviceRequest {
	r := serviceRequest{ResourceType: "ServiceRequest", Status: "draft", Intent: "proposal", Code: &concept{Text: d.Code.Text}}
	for _, c := range d.Code.Coding {
		r.Code.Coding = append(r.Code.Coding, Coding{Code: c.Code, System: c.System, Display: c.Display})
	}
	if subject != nil {
		r.Subject = reference{subject.Reference, subject.Display}
	}
	if d.ScheduledPeriod != nil {
		r.OccurrencePeriod = &period{d.ScheduledPeriod.Start, d.ScheduledPeriod.End}
	}
	return r
}
