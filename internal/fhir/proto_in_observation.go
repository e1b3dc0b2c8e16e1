package fhir

import (
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

func (r *reader) observation(p *opb.Observation) *Observation {
	o := &Observation{
		Common:           r.common(p, p.Identifier),
		Status:           readCode(r, "status", p.Status, observationStatuses),
		Category:         r.conceptList("category", p.Category),
		Code:             inline(r, "code", p.Code, (*reader).concept),
		Subject:          r.referenceOf("subject", p.Subject),
		Focus:            r.referenceList("focus", p.Focus),
		Encounter:        r.referenceOf("encounter", p.Encounter),
		Effective:        r.observationEffective(p.Effective),
		Issued:           r.instant("issued", p.Issued),
		Performer:        r.referenceList("performer", p.Performer),
		Value:            r.observationValue(p.Value),
		DataAbsentReason: r.conceptOf("dataAbsentReason", p.DataAbsentReason),
		Interpretation:   r.conceptList("interpretation", p.Interpretation),
		Note:             repeated(r, &r.annotations, "note", p.Note, (*reader).annotation),
		BodySite:         r.conceptOf("bodySite", p.BodySite),
		Method:           r.conceptOf("method", p.Method),
		Device:           r.referenceOf("device", p.Device),
		ReferenceRange:   repeated(r, &r.ranges, "referenceRange", p.ReferenceRange, (*reader).referenceRange),
		HasMember:        r.referenceList("hasMember", p.HasMember),
		DerivedFrom:      r.referenceList("derivedFrom", p.DerivedFrom),
		Component:        repeated(r, &r.components, "component", p.Component, (*reader).component),
	}
	r.require(o.Status != "", "status")
	r.require(!o.Code.IsEmpty(), "code")
	return o
}

func (r *reader) observationEffective(p *opb.Observation_EffectiveX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *opb.Observation_EffectiveX_DateTime:
		return r.dateTimeValue("effectiveDateTime", c.DateTime)
	case *opb.Observation_EffectiveX_Instant:
		return r.instantValue("effectiveInstant", c.Instant)
	case *opb.Observation_EffectiveX_Period:
		return r.periodValue("effectivePeriod", c.Period)
	case *opb.Observation_EffectiveX_Timing:
		return OtherValue("Timing")
	default:
		return r.noChoice("effective")
	}
}

func (r *reader) observationValue(p *opb.Observation_ValueX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *opb.Observation_ValueX_Quantity:
		return r.quantityValue("valueQuantity", c.Quantity)
	case *opb.Observation_ValueX_CodeableConcept:
		return r.conceptValue("valueCodeableConcept", c.CodeableConcept)
	case *opb.Observation_ValueX_StringValue:
		return r.stringValue("valueString", c.StringValue)
	case *opb.Observation_ValueX_Boolean:
		return booleanValue(c.Boolean)
	case *opb.Observation_ValueX_Integer:
		return integerValue(c.Integer)
	case *opb.Observation_ValueX_Range:
		return OtherValue("Range")
	case *opb.Observation_ValueX_Ratio:
		return OtherValue("Ratio")
	case *opb.Observation_ValueX_SampledData:
		return OtherValue("SampledData")
	case *opb.Observation_ValueX_Time:
		return OtherValue("Time")
	case *opb.Observation_ValueX_DateTime:
		return r.dateTimeValue("valueDateTime", c.DateTime)
	case *opb.Observation_ValueX_Period:
		return r.periodValue("valuePeriod", c.Period)
	default:
		return r.noChoice("value")
	}
}

func (r *reader) component(p *opb.Observation_Component) Component {
	c := Component{
		ModifierExtension: r.extensionList("modifierExtension", p.ModifierExtension),
		Code:              inline(r, "code", p.Code, (*reader).concept),
		Value:             r.componentValue(p.Value),
		DataAbsentReason:  r.conceptOf("dataAbsentReason", p.DataAbsentReason),
		Interpretation:    r.conceptList("interpretation", p.Interpretation),
		ReferenceRange:    repeated(r, &r.ranges, "referenceRange", p.ReferenceRange, (*reader).referenceRange),
	}
	r.require(!c.Code.IsEmpty(), "code")
	return c
}

func (r *reader) componentValue(p *opb.Observation_Component_ValueX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *opb.Observation_Component_ValueX_Quantity:
		return r.quantityValue("valueQuantity", c.Quantity)
	case *opb.Observation_Component_ValueX_CodeableConcept:
		return r.conceptValue("valueCodeableConcept", c.CodeableConcept)
	case *opb.Observation_Component_ValueX_StringValue:
		return r.stringValue("valueString", c.StringValue)
	case *opb.Observation_Component_ValueX_Boolean:
		return booleanValue(c.Boolean)
	case *opb.Observation_Component_ValueX_Integer:
		return integerValue(c.Integer)
	case *opb.Observation_Component_ValueX_Range:
		return OtherValue("Range")
	case *opb.Observation_Component_ValueX_Ratio:
		return OtherValue("Ratio")
	case *opb.Observation_Component_ValueX_SampledData:
		return OtherValue("SampledData")
	case *opb.Observation_Component_ValueX_Time:
		return OtherValue("Time")
	case *opb.Observation_Component_ValueX_DateTime:
		return r.dateTimeValue("valueDateTime", c.DateTime)
	case *opb.Observation_Component_ValueX_Period:
		return r.periodValue("valuePeriod", c.Period)
	default:
		return r.noChoice("value")
	}
}

func (r *reader) referenceRange(p *opb.Observation_ReferenceRange) ReferenceRange {
	return ReferenceRange{
		Low:  optional(r, &r.quantities, "low", p.Low, (*reader).simpleQuantity),
		High: optional(r, &r.quantities, "high", p.High, (*reader).simpleQuantity),
		Kind: r.conceptOf("type", p.Type),
		Text: r.str("text", p.Text),
	}
}
