package oru

import (
	"cmp"
	"fmt"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
)

// result is an OBX with its code, the use of that code and its group.
type result struct {
	hl7v2.Segment
	code  fhir.CodeableConcept
	use   intake.Use
	group string // OBX-4
}

// endOrder reads the results of the order that ends here. A component of an Observation is
// a result of its own and belongs to the measurements with the same OBX-4, so results are
// read only when the order is complete.
func (r *reader) endOrder() {
	var all []result
	for _, s := range r.results {
		all = append(all, r.result(s))
	}
	used := make([]bool, len(all))
	named := make([]*fhir.Observation, len(all))
	for i := range all {
		if all[i].use != intake.Component {
			named[i] = r.finding(&all[i], all, used)
		}
	}
	r.resolveConfirmations(all, named)
	for i := range all {
		if all[i].use == intake.Component && !used[i] {
			r.warn(all[i].Place(), fault.NotRead, "says how something was measured, and no measurement of its order has its OBX-4; not read")
		}
	}
	r.results, r.order = nil, hl7v2.Segment{}
}

func (r *reader) result(s hl7v2.Segment) result {
	one := result{Segment: s, code: r.concept(s.Field(3)), group: s.Field(4).Text(1)}
	one.use = r.use(one.code)
	return one
}

// use is the first use that the codings of a concept have.
func (r *reader) use(c fhir.CodeableConcept) intake.Use {
	for i := range c.Coding {
		if use := r.options.Codes.Use(c.Coding[i]); use != intake.NotRead {
			return use
		}
	}
	return intake.NotRead
}

// finding adds the resource of an OBX: an Observation, or the Condition or Procedure that
// is its coded value. It returns the Observation, nil for the others.
func (r *reader) finding(one *result, all []result, used []bool) *fhir.Observation {
	if one.use == intake.NotRead && isCoded(one.Field(2).Text(1)) {
		value := r.concept(one.Field(5))
		switch r.use(value) {
		case intake.Disorder:
			r.disorder(one.Segment, value)
			return nil
		case intake.Repair:
			r.repair(one.Segment, value)
			return nil
		}
	}
	return r.observation(one, all, used)
}

// observation adds an Observation with its components.
func (r *reader) observation(one *result, all []result, used []bool) *fhir.Observation {
	at := origin{segment: one.Segment, fields: observationFields}
	o := &fhir.Observation{
		Status: statusOf(one.Field(11).Text(1)), Code: one.code, Subject: r.patient, Encounter: r.encounter,
		BodySite: nilIfEmpty(r.concept(one.Field(20))), Method: nilIfEmpty(r.concept(one.Field(17).First())),
		Performer: r.performers(one.Field(16)),
	}
	if id := r.entity(one.Field(18)); id != nil {
		o.Device = &fhir.Reference{TypeName: "Device", Identifier: id}
	}
	if flags := r.concept(one.Field(8)); !flags.IsEmpty() {
		o.Interpretation = []fhir.CodeableConcept{flags}
	}
	o.Identifier = r.identifierOf(one)
	o.Effective, at.when = r.when(one.Segment)
	o.Value, o.Component, at.components = r.values(one)
	for i := range all {
		if one.use != intake.Confirmation && all[i].use == intake.Component && all[i].appliesTo(one) {
			used[i] = true
			r.component(o, &at, &all[i])
		}
	}
	r.add(o, at)
	return o
}

// appliesTo reports whether a component belongs to a measurement: it has no OBX-4, or the
// same one, or that of a group that contains it, as 2 contains 2.1.
//
// Source: HL7 version 2.9, section 7.4.2.4 (observation sub-ID, dot notation).
func (c *result) appliesTo(m *result) bool {
	return c.group == "" || c.group == m.group || strings.HasPrefix(m.group, c.group+".")
}

// component adds a component to an Observation.
func (r *reader) component(o *fhir.Observation, at *origin, c *result) {
	if s := statusOf(c.Field(11).Text(1)); s != "final" && s != "corrected" && s != "amended" {
		r.warn(c.At(11), fault.StatusRetracted, "this status is not that of a result that stands; what it says of the measurement is not read")
		return
	}
	repetitions := c.Field(5).Repetitions()
	if !isNumber(c.Field(2).Text(1)) || len(repetitions) < 2 {
		o.Component = append(o.Component, fhir.Component{Code: c.code, Value: r.value(c.Segment, c.Field(5))})
		at.components = append(at.components, componentOrigin{segment: c.Segment})
		return
	}
	for i, one := range repetitions {
		o.Component = append(o.Component, fhir.Component{Code: c.code, Value: r.value(c.Segment, one)})
		at.components = append(at.components, componentOrigin{c.Segment, i + 1})
	}
}

// values reads OBX-5. Its repetitions are trials, if they are numbers.
func (r *reader) values(one *result) (fhir.Value, []fhir.Component, []componentOrigin) {
	repetitions := one.Field(5).Repetitions()
	if !isNumber(one.Field(2).Text(1)) || len(repetitions) < 2 {
		return r.value(one.Segment, one.Field(5)), nil, nil
	}
	var components []fhir.Component
	var parts []componentOrigin
	for i, repetition := range repetitions {
		components = append(components, fhir.Component{Code: trial, Value: r.value(one.Segment, repetition)})
		parts = append(parts, componentOrigin{one.Segment, i + 1})
	}
	return nil, components, parts
}

var trial = fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: fhir.CodeTrial}}}

// observationStatuses are what OBX-11 means in FHIR. N, not asked for, is a final result without
// value.
//
// Source: the HL7 Version 2 to FHIR guide, concept map of table 0085.
var observationStatuses = map[string]string{
	"F": "final", "U": "final", "V": "final", "N": "final", "C": "corrected", "A": "amended", "P": "preliminary", "R": "preliminary",
	"S": "preliminary", "B": "preliminary", "I": "registered", "O": "registered", "X": "cancelled", "D": "entered-in-error", "W": "entered-in-error",
}

func statusOf(code string) string { return cmp.Or(observationStatuses[code], "unknown") }

// when is the time of a result: OBX-14, else that of its order.
func (r *reader) when(s hl7v2.Segment) (fhir.Value, string) {
	if f := s.Field(14); !f.Empty() {
		return r.dateTime(f.Text(1), s.At(14)), ""
	}
	if f := r.order.Field(7); !f.Empty() {
		return r.dateTime(f.Text(1), r.order.At(7)), r.order.At(7)
	}
	return nil, ""
}

// dateTime reads a date and time.
func (r *reader) dateTime(text, path string) fhir.Value {
	written, ok := hl7v2.DateTime(text, r.zone)
	if !ok {
		return fhir.DateTime(text) // intake drops it with an issue
	}
	if r.zone == nil && !hl7v2.HasZone(text) {
		r.note(path, fault.DateMissing, "a time without a zone; only its day is read; expected a zone there or in MSH-7, or one that the service is configured with")
	}
	return fhir.DateTime(written)
}

// performers are references to the people of OBX-16.
func (r *reader) performers(f hl7v2.Field) (all []fhir.Reference) {
	for _, one := range f.Repetitions() {
		if id := one.Text(1); id != "" {
			all = append(all, fhir.Reference{TypeName: "Practitioner", Identifier: &fhir.Identifier{System: r.authority(one, 9), Value: id}})
		}
	}
	return all
}

// identifierOf is the identifier of a result: OBX-21, else one made of the order's number
// and what distinguishes the result within the order, so that the same message gives the
// same answer.
func (r *reader) identifierOf(one *result) []fhir.Identifier {
	if id := r.entity(one.Field(21)); id != nil {
		return []fhir.Identifier{*id}
	}
	filler := r.entity(r.order.Field(3))
	if filler == nil {
		return nil
	}
	parts := []string{filler.Value, one.Field(3).Text(1), one.group}
	for _, site := range one.Field(20).Repetitions() {
		parts = append(parts, site.Text(1))
	}
	id := fhir.Identifier{System: filler.System, Value: strings.Join(parts, "/")}
	r.ids[id]++
	if n := r.ids[id]; n > 1 {
		id.Value += fmt.Sprintf("/%d", n)
	}
	return []fhir.Identifier{id}
}

// resolveConfirmations lets the confirmations of an order refer to the measurements with
// their OBX-4.
func (r *reader) resolveConfirmations(all []result, named []*fhir.Observation) {
	for i := range all {
		if all[i].use != intake.Confirmation {
			continue
		}
		for k := range all {
			if all[k].use == intake.Measurement && all[i].appliesTo(&all[k]) && len(named[k].Identifier) > 0 {
				named[i].Focus = append(named[i].Focus, fhir.Reference{TypeName: "Observation", Identifier: &named[k].Identifier[0]})
			}
		}
	}
}
