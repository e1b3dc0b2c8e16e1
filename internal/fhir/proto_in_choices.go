package fhir

import (
	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

// Every choice element has a message of its own with a oneof of its own, so
// each is a switch of its own, beside the resource that has it. What they
// share is here.

// valueOf is a pointer to a data type as a Value, so that an absent element is
// a nil Value and not a Value that holds a nil pointer.
func valueOf[T any, P interface {
	*T
	Value
}](p P) Value {
	if p == nil {
		return nil
	}
	return p
}

func (r *reader) quantityValue(name string, p *dpb.Quantity) Value {
	return valueOf(optional(r, &r.quantities, name, p, (*reader).quantity))
}

func (r *reader) conceptValue(name string, p *dpb.CodeableConcept) Value {
	return valueOf(r.conceptOf(name, p))
}

func (r *reader) periodValue(name string, p *dpb.Period) Value {
	return valueOf(optional(r, &r.periods, name, p, (*reader).period))
}

func (r *reader) stringValue(name string, p *dpb.String) Value {
	return textValue[String](r.str(name, p))
}

func (r *reader) dateTimeValue(name string, p *dpb.DateTime) Value {
	return textValue[DateTime](r.dateTime(name, p))
}

func (r *reader) instantValue(name string, p *dpb.Instant) Value {
	return textValue[Instant](r.instant(name, p))
}

// textValue is a text as a Value of type T; an absent text is no Value.
func textValue[T interface {
	~string
	Value
}](text string) Value {
	if text == "" {
		return nil
	}
	return T(text)
}

// noChoice refuses a choice element that is there without a choice being made.
func (r *reader) noChoice(name string) Value {
	r.report(fault.Structure, name, "found an element without a value; expected a value of one of its types")
	return nil
}

func (r *reader) extensionValue(p *dpb.Extension_ValueX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case nil:
		return r.noChoice("value")
	case *dpb.Extension_ValueX_Quantity:
		return r.quantityValue("valueQuantity", c.Quantity)
	case *dpb.Extension_ValueX_CodeableConcept:
		return r.conceptValue("valueCodeableConcept", c.CodeableConcept)
	case *dpb.Extension_ValueX_Coding:
		return valueOf(optional(r, &r.codings, "valueCoding", c.Coding, (*reader).coding))
	case *dpb.Extension_ValueX_Reference:
		return valueOf(optional(r, &r.references, "valueReference", c.Reference, (*reader).reference))
	case *dpb.Extension_ValueX_Period:
		return r.periodValue("valuePeriod", c.Period)
	case *dpb.Extension_ValueX_StringValue:
		return r.stringValue("valueString", c.StringValue)
	case *dpb.Extension_ValueX_Code:
		return textValue[Code](r.code("valueCode", c.Code))
	case *dpb.Extension_ValueX_Uri:
		return textValue[URI](r.uri("valueUri", c.Uri))
	case *dpb.Extension_ValueX_Canonical:
		return textValue[Canonical](r.canonical("valueCanonical", c.Canonical))
	case *dpb.Extension_ValueX_DateTime:
		return r.dateTimeValue("valueDateTime", c.DateTime)
	case *dpb.Extension_ValueX_Date:
		return textValue[Date](r.date("valueDate", c.Date))
	case *dpb.Extension_ValueX_Instant:
		return r.instantValue("valueInstant", c.Instant)
	case *dpb.Extension_ValueX_Integer:
		return integerValue(c.Integer)
	case *dpb.Extension_ValueX_Boolean:
		return booleanValue(c.Boolean)
	default:
		return OtherValue(otherExtensionValue(p))
	}
}

// otherExtensionValue is the FHIR name of the type of a value that the wire
// model does not hold. Few extensions have one, so it may ask the descriptor.
func otherExtensionValue(p *dpb.Extension_ValueX) string {
	m := p.ProtoReflect()
	return string(m.WhichOneof(m.Descriptor().Oneofs().Get(0)).Message().Name())
}
