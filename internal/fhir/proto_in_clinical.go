package fhir

import (
	conpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/condition_go_proto"
	encpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/encounter_go_proto"
	patpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/patient_go_proto"
	propb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/procedure_go_proto"
)

func (r *reader) patient(p *patpb.Patient) *Patient {
	return &Patient{
		Common:    r.common(p, p.Identifier),
		BirthDate: r.date("birthDate", p.BirthDate),
	}
}

func (r *reader) condition(p *conpb.Condition) *Condition {
	c := &Condition{
		Common:             r.common(p, p.Identifier),
		ClinicalStatus:     r.conceptOf("clinicalStatus", p.ClinicalStatus),
		VerificationStatus: r.conceptOf("verificationStatus", p.VerificationStatus),
		Code:               r.conceptOf("code", p.Code),
		BodySite:           r.conceptList("bodySite", p.BodySite),
		Subject:            r.referenceOf("subject", p.Subject),
		Onset:              r.onset(p.Onset),
	}
	r.require(!c.Subject.IsEmpty(), "subject")
	return c
}

func (r *reader) onset(p *conpb.Condition_OnsetX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *conpb.Condition_OnsetX_DateTime:
		return r.dateTimeValue("onsetDateTime", c.DateTime)
	case *conpb.Condition_OnsetX_Period:
		return r.periodValue("onsetPeriod", c.Period)
	case *conpb.Condition_OnsetX_StringValue:
		return r.stringValue("onsetString", c.StringValue)
	case *conpb.Condition_OnsetX_Age:
		return OtherValue("Age")
	case *conpb.Condition_OnsetX_Range:
		return OtherValue("Range")
	default:
		return r.noChoice("onset")
	}
}

func (r *reader) procedure(p *propb.Procedure) *Procedure {
	q := &Procedure{
		Common:    r.common(p, p.Identifier),
		Status:    readCode(r, "status", p.Status, procedureStatuses),
		Code:      r.conceptOf("code", p.Code),
		Subject:   r.referenceOf("subject", p.Subject),
		Performed: r.performed(p.Performed),
		BodySite:  r.conceptList("bodySite", p.BodySite),
	}
	r.require(q.Status != "", "status")
	r.require(!q.Subject.IsEmpty(), "subject")
	return q
}

func (r *reader) performed(p *propb.Procedure_PerformedX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *propb.Procedure_PerformedX_DateTime:
		return r.dateTimeValue("performedDateTime", c.DateTime)
	case *propb.Procedure_PerformedX_Period:
		return r.periodValue("performedPeriod", c.Period)
	case *propb.Procedure_PerformedX_StringValue:
		return r.stringValue("performedString", c.StringValue)
	case *propb.Procedure_PerformedX_Age:
		return OtherValue("Age")
	case *propb.Procedure_PerformedX_Range:
		return OtherValue("Range")
	default:
		return r.noChoice("performed")
	}
}

func (r *reader) encounter(p *encpb.Encounter) *Encounter {
	e := &Encounter{
		Common:  r.common(p, p.Identifier),
		Status:  readCode(r, "status", p.Status, encounterStatuses),
		Class:   inline(r, "class", p.ClassValue, (*reader).coding),
		Subject: r.referenceOf("subject", p.Subject),
		Period:  optional(r, &r.periods, "period", p.Period, (*reader).period),
	}
	r.require(e.Status != "", "status")
	r.require(e.Class != Coding{}, "class")
	return e
}
