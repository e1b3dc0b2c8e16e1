package oru

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
)

// disorder adds the Condition that is the value of an OBX. It is assumed to be active,
// because a result does not say when a disorder ended.
func (r *reader) disorder(s hl7v2.Segment, value fhir.CodeableConcept) {
	c := &fhir.Condition{Code: &value, Subject: r.patient, BodySite: r.sites(s)}
	c.VerificationStatus = &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemConditionVerification, Code: verificationStatuses[statusOf(s.Field(11).Text(1))]}}}
	if id := r.entity(s.Field(21)); id != nil {
		c.Identifier = []fhir.Identifier{*id}
	}
	r.add(c, origin{segment: s, fields: findingFields})
}

// verificationStatuses are the verification statuses of a disorder, by the status of the
// result. An unknown status becomes provisional, so that the shoulder counts as affected.
//
// Source: ours; FHIR R4 4.0.1, value set condition-ver-status.
var verificationStatuses = map[string]string{
	"final": "confirmed", "corrected": "confirmed", "amended": "confirmed", "preliminary": "provisional", "registered": "provisional",
	"unknown": "provisional", "cancelled": "refuted", "entered-in-error": "entered-in-error",
}

// repair adds the Procedure that is the value of an OBX, performed at OBX-14.
func (r *reader) repair(s hl7v2.Segment, value fhir.CodeableConcept) {
	p := &fhir.Procedure{Status: procedureStatuses[statusOf(s.Field(11).Text(1))], Code: &value, Subject: r.patient, BodySite: r.sites(s)}
	if f := s.Field(14); !f.Empty() {
		p.Performed = r.dateTime(f.Text(1), s.At(14))
	}
	if id := r.entity(s.Field(21)); id != nil {
		p.Identifier = []fhir.Identifier{*id}
	}
	r.add(p, origin{segment: s, fields: findingFields})
}

// procedureStatuses are the statuses of a repair, by the status of the result. For an
// unknown status intake holds back the load.
//
// Source: ours; FHIR R4 4.0.1, value set event-status.
var procedureStatuses = map[string]string{
	"final": "completed", "corrected": "completed", "amended": "completed", "preliminary": "unknown", "registered": "unknown",
	"unknown": "unknown", "cancelled": "not-done", "entered-in-error": "entered-in-error",
}

// sites is the body site of OBX-20, none if it is empty.
func (r *reader) sites(s hl7v2.Segment) []fhir.CodeableConcept {
	site := r.concept(s.Field(20))
	if site.IsEmpty() {
		return nil
	}
	return []fhir.CodeableConcept{site}
}
