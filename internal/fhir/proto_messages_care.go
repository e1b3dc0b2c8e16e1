package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	cppb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/care_plan_go_proto"
	goalpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/goal_go_proto"
)

func (w *messageWriter) goal(g *Goal) *goalpb.Goal {
	c := w.common(&g.Common)
	p := &goalpb.Goal{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		AchievementStatus: w.conceptOf("achievementStatus", g.AchievementStatus),
		Category:          w.conceptList("category", g.Category),
		Description:       w.conceptOf("description", &g.Description),
		Subject:           w.referenceOf("subject", g.Subject),
		Target:            messageChildren(w, "target", g.Target, (*messageWriter).target),
		Addresses:         w.referenceList("addresses", g.Addresses),
		Note:              w.annotationList(g.Note),
		OutcomeReference:  w.referenceList("outcomeReference", g.OutcomeReference),
	}
	if v, ok := messageCode(w, "lifecycleStatus", g.LifecycleStatus, goalStatuses); ok {
		p.LifecycleStatus = &goalpb.Goal_LifecycleStatusCode{Value: v}
	}
	if date := w.date("startDate", g.StartDate); date != nil {
		p.Start = &goalpb.Goal_StartX{Choice: &goalpb.Goal_StartX_Date{Date: date}}
	}
	return p
}

func (w *messageWriter) target(t *Target) *goalpb.Goal_Target {
	p := &goalpb.Goal_Target{
		Measure: w.conceptOf("measure", t.Measure),
		Detail:  w.targetDetail(t.Detail),
	}
	if date := w.date("dueDate", t.DueDate); date != nil {
		p.Due = &goalpb.Goal_Target_DueX{Choice: &goalpb.Goal_Target_DueX_Date{Date: date}}
	}
	return p
}

func (w *messageWriter) targetDetail(v Value) *goalpb.Goal_Target_DetailX {
	p := &goalpb.Goal_Target_DetailX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &goalpb.Goal_Target_DetailX_Quantity{Quantity: messageChild(w, "detailQuantity", v, (*messageWriter).quantity)}
	case *CodeableConcept:
		p.Choice = &goalpb.Goal_Target_DetailX_CodeableConcept{CodeableConcept: w.conceptOf("detailCodeableConcept", v)}
	case String:
		p.Choice = &goalpb.Goal_Target_DetailX_StringValue{StringValue: w.str(string(v))}
	case Boolean:
		p.Choice = &goalpb.Goal_Target_DetailX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	case Integer:
		p.Choice = &goalpb.Goal_Target_DetailX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	default:
		w.unwritable("detail")
	}
	return p
}

func (w *messageWriter) carePlan(r *CarePlan) *cppb.CarePlan {
	c := w.common(&r.Common)
	p := &cppb.CarePlan{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		InstantiatesCanonical: canonicalsOf(r.InstantiatesCanonical),
		Replaces:              w.referenceList("replaces", r.Replaces),
		Category:              w.conceptList("category", r.Category),
		Title:                 w.str(r.Title),
		Description:           w.str(r.Description),
		Subject:               w.referenceOf("subject", r.Subject),
		Encounter:             w.referenceOf("encounter", r.Encounter),
		Period:                messageChild(w, "period", r.Period, (*messageWriter).period),
		Created:               w.dateTime("created", r.Created),
		Author:                w.referenceOf("author", r.Author),
		Addresses:             w.referenceList("addresses", r.Addresses),
		SupportingInfo:        w.referenceList("supportingInfo", r.SupportingInfo),
		Goal:                  w.referenceList("goal", r.Goal),
		Activity:              messageChildren(w, "activity", r.Activity, (*messageWriter).activity),
		Note:                  w.annotationList(r.Note),
	}
	if v, ok := messageCode(w, "status", r.Status, planStatuses); ok {
		p.Status = &cppb.CarePlan_StatusCode{Value: v}
	}
	if v, ok := messageCode(w, "intent", r.Intent, planIntents); ok {
		p.Intent = &cppb.CarePlan_IntentCode{Value: v}
	}
	return p
}

func (w *messageWriter) activity(a *Activity) *cppb.CarePlan_Activity {
	return &cppb.CarePlan_Activity{Detail: messageChild(w, "detail", a.Detail, (*messageWriter).activityDetail)}
}

func (w *messageWriter) activityDetail(d *ActivityDetail) *cppb.CarePlan_Activity_Detail {
	p := &cppb.CarePlan_Activity_Detail{
		InstantiatesCanonical: canonicalsOf(d.InstantiatesCanonical),
		Code:                  w.conceptOf("code", d.Code),
		ReasonCode:            w.conceptList("reasonCode", d.ReasonCode),
		ReasonReference:       w.referenceList("reasonReference", d.ReasonReference),
		Goal:                  w.referenceList("goal", d.Goal),
		StatusReason:          w.conceptOf("statusReason", d.StatusReason),
		Scheduled:             w.scheduled(d),
		Description:           w.str(d.Description),
	}
	if v, ok := messageCode(w, "kind", d.Kind, activityKinds); ok {
		p.Kind = &cppb.CarePlan_Activity_Detail_KindCode{Value: v}
	}
	if v, ok := messageCode(w, "status", d.Status, activityStatuses); ok {
		p.Status = &cppb.CarePlan_Activity_Detail_StatusCode{Value: v}
	}
	if d.DoNotPerform {
		p.DoNotPerform = &dpb.Boolean{Value: true}
	}
	return p
}

// scheduled writes when an activity takes place, as a period or in words.
func (w *messageWriter) scheduled(d *ActivityDetail) *cppb.CarePlan_Activity_Detail_ScheduledX {
	p := &cppb.CarePlan_Activity_Detail_ScheduledX{}
	switch {
	case d.ScheduledPeriod != nil && d.ScheduledString != "":
		w.unwritable("scheduled")
	case d.ScheduledPeriod != nil:
		p.Choice = &cppb.CarePlan_Activity_Detail_ScheduledX_Period{Period: messageChild(w, "scheduledPeriod", d.ScheduledPeriod, (*messageWriter).period)}
	case d.ScheduledString != "":
		p.Choice = &cppb.CarePlan_Activity_Detail_ScheduledX_StringValue{StringValue: w.str(d.ScheduledString)}
	default:
		return nil
	}
	return p
}
