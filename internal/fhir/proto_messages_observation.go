package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

func (w *messageWriter) observation(o *Observation) *opb.Observation {
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
		ReferenceRange:   messageChildren(w, "referenceRange", o.ReferenceRange, (*messageWriter).referenceRange),
		HasMember:        w.referenceList("hasMember", o.HasMember),
		DerivedFrom:      w.referenceList("derivedFrom", o.DerivedFrom),
		Component:        messageChildren(w, "component", o.Component, (*messageWriter).component),
	}
	if v, ok := messageCode(w, "status", o.Status, observationStatuses); ok {
		p.Status = &opb.Observation_StatusCode{Value: v}
	}
	return p
}

func (w *messageWriter) observationEffective(v Value) *opb.Observation_EffectiveX {
	p := &opb.Observation_EffectiveX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &opb.Observation_EffectiveX_DateTime{DateTime: w.dateTime("effectiveDateTime", string(v))}
	case Instant:
		p.Choice = &opb.Observation_EffectiveX_Instant{Instant: w.instant("effectiveInstant", string(v))}
	case *Period:
		p.Choice = &opb.Observation_EffectiveX_Period{Period: messageChild(w, "effectivePeriod", v, (*messageWriter).period)}
	default:
		w.unwritable("effective")
	}
	return p
}

func (w *messageWriter) observationValue(v Value) *opb.Observation_ValueX {
	p := &opb.Observation_ValueX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &opb.Observation_ValueX_Quantity{Quantity: messageChild(w, "valueQuantity", v, (*messageWriter).quantity)}
	case *CodeableConcept:
		p.Choice = &opb.Observation_ValueX_CodeableConcept{CodeableConcept: messageChild(w, "valueCodeableConcept", v, (*messageWriter).concept)}
	case String:
		p.Choice = &opb.Observation_ValueX_StringValue{StringValue: w.str(string(v))}
	case Boolean:
		p.Choice = &opb.Observation_ValueX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	case Integer:
		p.Choice = &opb.Observation_ValueX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	case DateTime:
		p.Choice = &opb.Observation_ValueX_DateTime{DateTime: w.dateTime("valueDateTime", string(v))}
	case *Period:
		p.Choice = &opb.Observation_ValueX_Period{Period: messageChild(w, "valuePeriod", v, (*messageWriter).period)}
	default:
		w.unwritable("value")
	}
	return p
}

func (w *messageWriter) component(c *Component) *opb.Observation_Component {
	p := w.made.components.One()
	p.ModifierExtension = w.extensionList("modifierExtension", c.ModifierExtension)
	p.Code = w.conceptOf("code", &c.Code)
	p.Value = w.componentValue(c.Value)
	p.DataAbsentReason = w.conceptOf("dataAbsentReason", c.DataAbsentReason)
	p.Interpretation = w.conceptList("interpretation", c.Interpretation)
	p.ReferenceRange = messageChildren(w, "referenceRange", c.ReferenceRange, (*messageWriter).referenceRange)
	return p
}

func (w *messageWriter) componentValue(v Value) *opb.Observation_Component_ValueX {
	p := &opb.Observation_Component_ValueX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &opb.Observation_Component_ValueX_Quantity{Quantity: messageChild(w, "valueQuantity", v, (*messageWriter).quantity)}
	case *CodeableConcept:
		p.Choice = &opb.Observation_Component_ValueX_CodeableConcept{CodeableConcept: messageChild(w, "valueCodeableConcept", v, (*messageWriter).concept)}
	case String:
		p.Choice = &opb.Observation_Component_ValueX_StringValue{StringValue: w.str(string(v))}
	case Boolean:
		p.Choice = &opb.Observation_Component_ValueX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	case Integer:
		p.Choice = &opb.Observation_Component_ValueX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	case DateTime:
		p.Choice = &opb.Observation_Component_ValueX_DateTime{DateTime: w.dateTime("valueDateTime", string(v))}
	case *Period:
		p.Choice = &opb.Observation_Component_ValueX_Period{Period: messageChild(w, "valuePeriod", v, (*messageWriter).period)}
	default:
		w.unwritable("value")
	}
	return p
}

func (w *messageWriter) referenceRange(r *ReferenceRange) *opb.Observation_ReferenceRange {
	return &opb.Observation_ReferenceRange{
		Low:  messageChild(w, "low", r.Low, (*messageWriter).simpleQuantity),
		High: messageChild(w, "high", r.High, (*messageWriter).simpleQuantity),
		Type: w.conceptOf("type", r.Kind),
		Text: w.str(r.Text),
	}
}
