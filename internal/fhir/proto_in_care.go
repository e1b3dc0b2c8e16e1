package fhir

import (
	cppb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/care_plan_go_proto"
	goalpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/goal_go_proto"
)

func (r *reader) goal(p *goalpb.Goal) *Goal {
	g := &Goal{
		Common:            r.common(p, p.Identifier),
		LifecycleStatus:   readCode(r, "lifecycleStatus", p.LifecycleStatus, goalStatuses),
		AchievementStatus: r.conceptOf("achievementStatus", p.AchievementStatus),
		Category:          r.conceptList("category", p.Category),
		Description:       inline(r, "description", p.Description, (*reader).concept),
		Subject:           r.referenceOf("subject", p.Subject),
		StartDate:         r.date("startDate", p.GetStart().GetDate()),
		Target:            repeated(r, &r.targets, "target", p.Target, (*reader).target),
		Addresses:         r.referenceList("addresses", p.Addresses),
		Note:              repeated(r, &r.annotations, "note", p.Note, (*reader).annotation),
		OutcomeReference:  r.referenceList("outcomeReference", p.OutcomeReference),
	}
	r.require(g.LifecycleStatus != "", "lifecycleStatus")
	r.require(!g.Description.IsEmpty(), "description")
	r.require(!g.Subject.IsEmpty(), "subject")
	return g
}

func (r *reader) target(p *goalpb.Goal_Target) Target {
	return Target{
		Measure: r.conceptOf("measure", p.Measure),
		Detail:  r.targetDetail(p.Detail),
		DueDate: r.date("dueDate", p.GetDue().GetDate()),
	}
}

func (r *reader) targetDetail(p *goalpb.Goal_Target_DetailX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *goalpb.Goal_Target_DetailX_Quantity:
		return r.quantityValue("detailQuantity", c.Quantity)
	case *goalpb.Goal_Target_DetailX_CodeableConcept:
		return r.conceptValue("detailCodeableConcept", c.CodeableConcept)
	case *goalpb.Goal_Target_DetailX_StringValue:
		return r.stringValue("detailString", c.StringValue)
	case *goalpb.Goal_Target_DetailX_Boolean:
		return booleanValue(c.Boolean)
	case *goalpb.Goal_Target_DetailX_Integer:
		return integerValue(c.Integer)
	case *goalpb.Goal_Target_DetailX_Range:
		return OtherValue("Range")
	case *goalpb.Goal_Target_DetailX_Ratio:
		return OtherValue("Ratio")
	default:
		return r.noChoice("detail")
	}
}

func (r *reader) carePlan(p *cppb.CarePlan) *CarePlan {
	c := &CarePlan{
		Common:                r.common(p, p.Identifier),
		InstantiatesCanonical: r.canonicals("instantiatesCanonical", p.InstantiatesCanonical),
		Replaces:              r.referenceList("replaces", p.Replaces),
		Status:                readCode(r, "status", p.Status, planStatuses),
		Intent:                readCode(r, "intent", p.Intent, planIntents),
		Category:              r.conceptList("category", p.Category),
		Title:                 r.str("title", p.Title),
		Description:           r.str("description", p.Description),
		Subject:               r.referenceOf("subject", p.Subject),
		Encounter:             r.referenceOf("encounter", p.Encounter),
		Period:                optional(r, &r.periods, "period", p.Period, (*reader).period),
		Created:               r.dateTime("created", p.Created),
		Author:                r.referenceOf("author", p.Author),
		Addresses:             r.referenceList("addresses", p.Addresses),
		SupportingInfo:        r.referenceList("supportingInfo", p.SupportingInfo),
		Goal:                  r.referenceList("goal", p.Goal),
		Activity:              repeated(r, &r.activities, "activity", p.Activity, (*reader).activity),
		Note:                  repeated(r, &r.annotations, "note", p.Note, (*reader).annotation),
	}
	r.require(c.Status != "", "status")
	r.require(c.Intent != "", "intent")
	r.require(!c.Subject.IsEmpty(), "subject")
	return c
}

func (r *reader) activity(p *cppb.CarePlan_Activity) Activity {
	return Activity{Detail: optional(r, &r.details, "detail", p.Detail, (*reader).activityDetail)}
}

func (r *reader) activityDetail(p *cppb.CarePlan_Activity_Detail) ActivityDetail {
	d := ActivityDetail{
		Kind:                  readCode(r, "kind", p.Kind, activityKinds),
		InstantiatesCanonical: r.canonicals("instantiatesCanonical", p.InstantiatesCanonical),
		Code:                  r.conceptOf("code", p.Code),
		ReasonCode:            r.conceptList("reasonCode", p.ReasonCode),
		ReasonReference:       r.referenceList("reasonReference", p.ReasonReference),
		Goal:                  r.referenceList("goal", p.Goal),
		Status:                readCode(r, "status", p.Status, activityStatuses),
		StatusReason:          r.conceptOf("statusReason", p.StatusReason),
		DoNotPerform:          p.GetDoNotPerform().GetValue(),
		ScheduledPeriod:       optional(r, &r.periods, "scheduledPeriod", p.GetScheduled().GetPeriod(), (*reader).period),
		ScheduledString:       r.str("scheduledString", p.GetScheduled().GetStringValue()),
		Description:           r.str("description", p.Description),
	}
	r.require(d.Status != "", "status")
	return d
}
