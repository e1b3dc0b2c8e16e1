// Package apply writes the proposed plan as the operation apply of a PlanDefinition answers it: one CarePlan that stands
// alone, with one activity, a RequestGroup, whose actions are the requests of the plan.
//
// Source: FHIR R4 4.0.1, operation apply of PlanDefinition; the extension cqf-messages.
package apply

import (
	"fmt"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// messages is the extension that refers to what was left out, corrected or missing.
const messages = "http://hl7.org/fhir/StructureDefinition/cqf-messages"

// Context is what the caller says besides the patient; empty for nothing.
type Context struct {
	Encounter    string // reference
	Practitioner string // reference
}

// CarePlan is the plan of an answer that is a collection, in JSON. Nothing in it refers to what is not in it, but for the
// patient, what the context names and what was there before.
func CarePlan(answer *fhir.Bundle, about Context) ([]byte, error) {
	plan, goals, outcome := parts(answer)
	if plan == nil {
		return nil, fmt.Errorf("the answer has no plan")
	}
	alone := *plan
	alone.Identifier, alone.SupportingInfo, alone.Author, alone.Text = nil, nil, nil, nil
	alone.Goal, alone.Activity = nil, nil
	if about.Encounter != "" {
		alone.Encounter = &fhir.Reference{Reference: about.Encounter}
	}
	if about.Practitioner != "" {
		alone.Contributor = []fhir.Reference{{Reference: about.Practitioner}}
	}
	ids := map[string]string{}
	for i, g := range goals {
		id := fmt.Sprintf("goal-%d", i+1)
		ids[g.url] = "#" + id
		contained := *g.goal
		contained.ID, contained.Identifier, contained.Addresses, contained.ExpressedBy, contained.OutcomeReference = id, nil, nil, nil, nil
		alone.Contained = append(alone.Contained, &contained)
		alone.Goal = append(alone.Goal, fhir.Reference{Reference: "#" + id})
	}
	if outcome != nil {
		contained := *outcome
		contained.ID = "messages"
		alone.Contained = append(alone.Contained, &contained)
		alone.Extension = append(slices.Clip(alone.Extension), fhir.Extension{URL: messages, Value: &fhir.Reference{Reference: "#messages"}})
	}
	return withRequests(fhirjson.Encode(&alone), &alone, plan.Activity, ids)
}

type goalAt struct {
	url  string
	goal *fhir.Goal
}

// parts are the plan of an answer, its goals, and what was said of the input.
func parts(answer *fhir.Bundle) (plan *fhir.CarePlan, goals []goalAt, outcome *fhir.OperationOutcome) {
	for i := range answer.Entry {
		switch r := answer.Entry[i].Resource.(type) {
		case *fhir.CarePlan:
			plan = r
		case *fhir.Goal:
			goals = append(goals, goalAt{answer.Entry[i].FullURL, r})
		case *fhir.OperationOutcome:
			outcome = r
		}
	}
	return plan, goals, outcome
}

// object is a JSON object, whose members are written in the order of their names.
type object = map[string]any

// withRequests adds the RequestGroup and the requests of activities to a plan, whose JSON the text is.
func withRequests(text []byte, plan *fhir.CarePlan, activities []fhir.Activity, goals map[string]string) ([]byte, error) {
	var members map[string]jsontext.Value
	var contained []any
	if err := json.Unmarshal(text, &members); err != nil {
		return nil, err
	}
	if has := members["contained"]; len(has) > 0 {
		if err := json.Unmarshal(has, &contained); err != nil {
			return nil, err
		}
	}
	group := object{"resourceType": "RequestGroup", "id": "requests", "status": "draft", "intent": "proposal", "subject": subjectOf(plan)}
	encountered(group, plan)
	if len(plan.InstantiatesCanonical) > 0 {
		group["instantiatesCanonical"] = plan.InstantiatesCanonical
	}
	var actions []any
	for i := range activities {
		id := fmt.Sprintf("request-%d", i+1)
		contained = append(contained, requestOf(id, plan, activities[i].Detail, goals))
		actions = append(actions, actionOf(id, activities[i].Detail))
	}
	if len(actions) > 0 {
		group["action"] = actions
	}
	all := make(object, len(members)+2)
	for name, value := range members {
		all[name] = value
	}
	all["contained"] = append(contained, group)
	all["activity"] = []any{object{"reference": object{"reference": "#requests"}}}
	return json.Marshal(all, json.Deterministic(true))
}

func subjectOf(plan *fhir.CarePlan) object {
	subject := object{}
	if plan.Subject != nil && plan.Subject.Reference != "" {
		subject["reference"] = plan.Subject.Reference
	}
	if plan.Subject != nil && plan.Subject.Display != "" {
		subject["display"] = plan.Subject.Display
	}
	return subject
}

// encountered adds the encounter of the plan, if it has one.
func encountered(request object, plan *fhir.CarePlan) {
	if plan.Encounter != nil {
		request["encounter"] = object{"reference": plan.Encounter.Reference}
	}
}

// requestOf is one activity as a request, which is an option until somebody chooses it.
func requestOf(id string, plan *fhir.CarePlan, d *fhir.ActivityDetail, goals map[string]string) object {
	request := object{"resourceType": "ServiceRequest", "id": id, "status": "draft", "intent": "option", "subject": subjectOf(plan)}
	encountered(request, plan)
	if d.Code != nil {
		request["code"] = conceptOf(d.Code)
	}
	if p := d.ScheduledPeriod; p != nil {
		period := object{}
		if p.Start != "" {
			period["start"] = p.Start
		}
		if p.End != "" {
			period["end"] = p.End
		}
		request["occurrencePeriod"] = period
	}
	if d.Description != "" {
		request["patientInstruction"] = d.Description
	}
	var serves []any
	for _, g := range d.Goal {
		if at := goals[g.Reference]; at != "" {
			serves = append(serves, object{"reference": at})
		}
	}
	if len(serves) > 0 {
		request["supportingInfo"] = serves
	}
	return request
}

func actionOf(id string, d *fhir.ActivityDetail) object {
	action := object{"resource": object{"reference": "#" + id}}
	if d.Code != nil && d.Code.Text != "" {
		action["title"] = d.Code.Text
	}
	if d.Description != "" {
		action["description"] = d.Description
	}
	return action
}

func conceptOf(c *fhir.CodeableConcept) object {
	concept := object{}
	if c.Text != "" {
		concept["text"] = c.Text
	}
	var codings []any
	for _, one := range c.Coding {
		coding := object{"code": one.Code}
		if one.System != "" {
			coding["system"] = one.System
		}
		if one.Display != "" {
			coding["display"] = one.Display
		}
		codings = append(codings, coding)
	}
	if len(codings) > 0 {
		concept["coding"] = codings
	}
	return concept
}
