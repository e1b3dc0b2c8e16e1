package oru

import (
	"net/url"
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
)

// readPatient reads PID, the patient of the segments that follow. PID repeats where a
// message has several visits; segments with an identifier in common are of the same
// patient.
func (r *reader) readPatient(s hl7v2.Segment) {
	identifiers := r.identifiers(s.Field(3))
	if len(identifiers) == 0 {
		r.patient = nil
		r.warn(s.At(3), fault.RequiredMissing, "no identifier of the patient; expected one in PID-3")
		return
	}
	for _, id := range identifiers {
		if known := r.patients[id]; known != nil {
			r.patient = known
			r.recordPatient(identifiers)
			return
		}
	}
	p := &fhir.Patient{Name: names(s.Field(5))}
	p.Identifier = identifiers
	p.BirthDate, _ = hl7v2.DateTime(birthDay(s.Field(7).Text(1)), nil)
	r.patient = &fhir.Reference{Reference: conditionalReference("Patient", identifiers[0])}
	r.recordPatient(identifiers)
	r.add(p, origin{segment: s, fields: patientFields})
	r.in.Bundle.Entry[len(r.in.Bundle.Entry)-1].FullURL = r.patient.Reference
}

func (r *reader) recordPatient(identifiers []fhir.Identifier) {
	for _, id := range identifiers {
		r.patients[id] = r.patient
	}
}

// birthDay cuts a time of birth to its day.
func birthDay(text string) string { return text[:min(len(text), len("20060102"))] }

// conditionalReference is a search by identifier as a reference, which a record resolves
// in a transaction. Version 2 has no address of a patient.
//
// Source: FHIR R4 4.0.1, RESTful API, conditional references.
func conditionalReference(typeName string, id fhir.Identifier) string {
	value := id.Value
	if id.System != "" {
		value = id.System + "|" + value
	}
	return typeName + "?identifier=" + url.QueryEscape(value)
}

// identifiers are those of a field of type CX. The medical record number comes first,
// because records search by it.
func (r *reader) identifiers(f hl7v2.Field) (all []fhir.Identifier) {
	rank := map[fhir.Identifier]int{}
	for _, one := range f.Repetitions() {
		id := fhir.Identifier{System: r.authority(one, 4), Value: one.Text(1)}
		if id.Value == "" || slices.Contains(all, id) {
			continue
		}
		all = append(all, id)
		rank[id] = identifierRank[one.Text(5)]
	}
	slices.SortStableFunc(all, func(a, b fhir.Identifier) int { return rank[b] - rank[a] })
	return all
}

// identifierRank orders the types of a patient's identifiers.
//
// Source: HL7 version 2.9, table 0203, for the codes; the order is ours.
var identifierRank = map[string]int{"MR": 2, "PI": 1}

// names are the names of a field of type XPN.
func names(f hl7v2.Field) (all []fhir.HumanName) {
	for _, one := range f.Repetitions() {
		name := fhir.HumanName{Family: one.Text(1)}
		for _, given := range []string{one.Text(2), one.Text(3)} {
			if given != "" {
				name.Given = append(name.Given, given)
			}
		}
		if name.Family != "" || len(name.Given) > 0 {
			all = append(all, name)
		}
	}
	return all
}

// visit is a reference to the Encounter that PV1-19 names, nil if it names none.
func (r *reader) visit(s hl7v2.Segment) *fhir.Reference {
	f := s.Field(19)
	if f.Text(1) == "" {
		return nil
	}
	return &fhir.Reference{TypeName: "Encounter", Identifier: &fhir.Identifier{System: r.authority(f, 4), Value: f.Text(1)}}
}

// authority is the URI of an assigning authority (HD) in a component.
func (r *reader) authority(f hl7v2.Field, component int) string {
	return r.assigner(f.Part(component, 1), f.Part(component, 2), f.Part(component, 3))
}

// entity is an entity identifier (EI), nil if the field has none.
func (r *reader) entity(f hl7v2.Field) *fhir.Identifier {
	if f.Text(1) == "" {
		return nil
	}
	return &fhir.Identifier{System: r.assigner(f.Text(2), f.Text(3), f.Text(4)), Value: f.Text(1)}
}

// assigner is the URI of an authority with a local name, or a universal id and its type.
//
// Source: the HL7 Version 2 to FHIR guide, data type map HD to uri; table 0301.
func (r *reader) assigner(name, id, kind string) string {
	switch kind {
	case "ISO":
		return "urn:oid:" + id
	case "UUID":
		return "urn:uuid:" + id
	case "URI", "URL":
		return id
	}
	if id != "" {
		name = id
	}
	return r.system(name)
}
