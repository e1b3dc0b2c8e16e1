package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

func (w *writer) observation(o *Observation) *opb.Observation {
	c := w.common(&o.Common)
	p := &opb.Observation{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		Category:         w.conceptList("category", o.Category),
		Code:             w.conceptOf("code", &o.Code),
		Subject:          w.referenceOf("subject", o.Subject),
		Encounter:        w.referenceOf("encounter", o.Encounter),
		Effective:        w.observationEffective(o.Effective),
		Issued:           w.instant("issued", o.Issued),
		Performer:        w.referenceList("performer", o.Performer),
		Value:            w.observationValue(o.Value),
		DataAbsentReason: w.conceptOf("dataAbsentReason", o.DataAbsentReason),
		Interpretation:   w.conceptList("interpretation", o.Interpretation),
		Note:             w.annotationList(o.Note),
		BodySite:         w.conceptOf("bodySite", o.BodySite),
		Method:           w.conceptOf("method", o.Method),
		Device:           w.referenceOf("device", o.Device),
		ReferenceRange:   children(w, "referenceRange", o.ReferenceRange, (*writer).referenceRange),
		HasMember:        w.referenceList("hasMember", o.HasMember),
		DerivedFrom:      w.referenceList("derivedFrom", o.DerivedFrom),
		Component:        children(w, "component", o.Component, (*writer).component),
	}
	if v, ok := writeCode(w, "status", o.Status, observationStatuses); ok {
		p.Status = &opb.Observation_StatusCode{Value: v}
	}
	return p
}

func (w *writer) observationEffective(v Value) *opb.Observation_EffectiveX {
	p := &opb.Observation_EffectiveX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &opb.Observation_EffectiveX_DateTime{DateTime: w.dateTime("effectiveDateTime", string(v))}
	case Instant:
		p.Choice = &opb.Observation_EffectiveX_Instant{Instant: w.instant("effectiveInstant", string(v))}
	case *Period:
		p.Choice = &opb.Observation_EffectiveX_Period{Period: child(w, "effectivePeriod", v, (*writer).period)}
	default:
		w.unwritable("effective")
	}
	return p
}

func (w *writer) observationValue(v Value) *opb.Observation_ValueX {
	p := &opb.Observation_ValueX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &opb.Observation_ValueX_Quantity{Quantity: child(w, "valueQuantity", v, (*writer).quantity)}
	case *CodeableConcept:
		p.Choice = &opb.Observation_ValueX_CodeableConcept{CodeableConcept: child(w, "valueCodeableConcept", v, (*writer).concept)}
	case String:
		p.Choice = &opb.Observation_ValueX_StringValue{StringValue: w.str(string(v))}
	case Boolean:
		p.Choice = &opb.Observation_ValueX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	case Integer:
		p.Choice = &opb.Observation_ValueX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	case DateTime:
		p.Choice = &opb.Observation_ValueX_DateTime{DateTime: w.dateTime("valueDateTime", string(v))}
	case *Period:
		p.Choice = &opb.Observation_ValueX_Period{Period: child(w, "valuePeriod", v, (*writer).period)}
	default:
		w.unwritable("value")
	}
	return p
}

func (w *writer) component(c *Component) *opb.Observation_Component {
	p := w.made.components.One()
	p.ModifierExtension = w.extensionList("modifierExtension", c.ModifierExtension)
	p.Code = w.conceptOf("code", &c.Code)
	p.Value = w.componentValue(c.Value)
	p.DataAbsentReason = w.conceptOf("dataAbsentReason", c.DataAbsentReason)
	p.Interpretation = w.conceptList("interpretation", c.Interpretation)
	p.ReferenceRange = children(w, "referenceRange", c.ReferenceRange, (*writer).referenceRange)
	return p
}

func (w *writer) componentValue(v Value) *opb.Observation_Component_ValueX {
	p := &opb.Observation_Component_ValueX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &opb.Observation_Component_ValueX_Quantity{Quantity: child(w, "valueQuantity", v, (*writer).quantity)}
	case *CodeableConcept:
		p.Choice = &opb.Observation_Component_ValueX_CodeableConcept{CodeableConcept: child(w, "valueCodeableConcept", v, (*writer).concept)}
	case String:
		p.Choice = &opb.Observation_Component_ValueX_StringValue{StringValue: w.str(string(v))}
	case Boolean:
		p.Choice = &opb.Observation_Component_ValueX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	case Integer:
		p.Choice = &opb.Observation_Component_ValueX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	case DateTime:
		p.Choice = &opb.Observation_Component_ValueX_DateTime{DateTime: w.dateTime("valueDateTime", string(v))}
	case *Period:
		p.Choice = &opb.Observation_Component_ValueX_Period{Period: child(w, "valuePeriod", v, (*writer).period)}
	default:
		w.unwritable("value")
	}
	return p
}

func (w *writer) referenceRange(r *ReferenceRange) *opb.Observation_ReferenceRange {
	return &opb.Observation_ReferenceRange{
		Low:  child(w, "low", r.Low, (*writer).simpleQuantity),
		High: child(w, "high", r.High, (*writer).simpleQuantity),
		Type: w.conceptOf("type", r.Kind),
		Text: w.str(r.Text),
	}
}
