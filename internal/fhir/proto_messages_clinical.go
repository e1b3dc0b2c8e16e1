package fhir

import (
	conpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/condition_go_proto"
	encpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/encounter_go_proto"
	patpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/patient_go_proto"
	propb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/procedure_go_proto"
)

func (w *messageWriter) patient(r *Patient) *patpb.Patient {
	c := w.common(&r.Common)
	return &patpb.Patient{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		BirthDate: w.date("birthDate", r.BirthDate),
	}
}

func (w *messageWriter) condition(r *Condition) *conpb.Condition {
	c := w.common(&r.Common)
	return &conpb.Condition{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		ClinicalStatus:     w.conceptOf("clinicalStatus", r.ClinicalStatus),
		VerificationStatus: w.conceptOf("verificationStatus", r.VerificationStatus),
		Code:               w.conceptOf("code", r.Code),
		BodySite:           w.conceptList("bodySite", r.BodySite),
		Subject:            w.referenceOf("subject", r.Subject),
		Onset:              w.onset(r.Onset),
	}
}

func (w *messageWriter) onset(v Value) *conpb.Condition_OnsetX {
	p := &conpb.Condition_OnsetX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &conpb.Condition_OnsetX_DateTime{DateTime: w.dateTime("onsetDateTime", string(v))}
	case *Period:
		p.Choice = &conpb.Condition_OnsetX_Period{Period: messageChild(w, "onsetPeriod", v, (*messageWriter).period)}
	case String:
		p.Choice = &conpb.Condition_OnsetX_StringValue{StringValue: w.str(string(v))}
	default:
		w.unwritable("onset")
	}
	return p
}

func (w *messageWriter) procedure(r *Procedure) *propb.Procedure {
	c := w.common(&r.Common)
	p := &propb.Procedure{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		Code:      w.conceptOf("code", r.Code),
		Subject:   w.referenceOf("subject", r.Subject),
		Performed: w.performed(r.Performed),
		BodySite:  w.conceptList("bodySite", r.BodySite),
	}
	if v, ok := messageCode(w, "status", r.Status, procedureStatuses); ok {
		p.Status = &propb.Procedure_StatusCode{Value: v}
	}
	return p
}

func (w *messageWriter) performed(v Value) *propb.Procedure_PerformedX {
	p := &propb.Procedure_PerformedX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &propb.Procedure_PerformedX_DateTime{DateTime: w.dateTime("performedDateTime", string(v))}
	case *Period:
		p.Choice = &propb.Procedure_PerformedX_Period{Period: messageChild(w, "performedPeriod", v, (*messageWriter).period)}
	case String:
		p.Choice = &propb.Procedure_PerformedX_StringValue{StringValue: w.str(string(v))}
	default:
		w.unwritable("performed")
	}
	return p
}

func (w *messageWriter) encounter(r *Encounter) *encpb.Encounter {
	c := w.common(&r.Common)
	p := &encpb.Encounter{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		ClassValue: messageChild(w, "class", &r.Class, (*messageWriter).coding),
		Subject:    w.referenceOf("subject", r.Subject),
		Period:     messageChild(w, "period", r.Period, (*messageWriter).period),
	}
	if v, ok := messageCode(w, "status", r.Status, encounterStatuses); ok {
		p.Status = &encpb.Encounter_StatusCode{Value: v}
	}
	return p
}
