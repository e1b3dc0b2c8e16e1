package fhir

import (
	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

// unwritable notes content that the element's message has no place for.
func (w *messageWriter) unwritable(name string) {
	w.report(fault.Internal, name, "found a value that cannot be written here; expected one of the element's types")
}

func (w *messageWriter) extensionValue(v Value) *dpb.Extension_ValueX {
	p := &dpb.Extension_ValueX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case *Quantity:
		p.Choice = &dpb.Extension_ValueX_Quantity{Quantity: messageChild(w, "valueQuantity", v, (*messageWriter).quantity)}
	case *CodeableConcept:
		p.Choice = &dpb.Extension_ValueX_CodeableConcept{CodeableConcept: messageChild(w, "valueCodeableConcept", v, (*messageWriter).concept)}
	case *Coding:
		p.Choice = &dpb.Extension_ValueX_Coding{Coding: messageChild(w, "valueCoding", v, (*messageWriter).coding)}
	case *Reference:
		p.Choice = &dpb.Extension_ValueX_Reference{Reference: messageChild(w, "valueReference", v, (*messageWriter).reference)}
	case *Period:
		p.Choice = &dpb.Extension_ValueX_Period{Period: messageChild(w, "valuePeriod", v, (*messageWriter).period)}
	case String:
		p.Choice = &dpb.Extension_ValueX_StringValue{StringValue: w.str(string(v))}
	case Code:
		p.Choice = &dpb.Extension_ValueX_Code{Code: w.code(string(v))}
	case URI:
		p.Choice = &dpb.Extension_ValueX_Uri{Uri: w.uri(string(v))}
	case Canonical:
		p.Choice = &dpb.Extension_ValueX_Canonical{Canonical: canonicalOf(string(v))}
	case DateTime:
		p.Choice = &dpb.Extension_ValueX_DateTime{DateTime: w.dateTime("valueDateTime", string(v))}
	case Date:
		p.Choice = &dpb.Extension_ValueX_Date{Date: w.date("valueDate", string(v))}
	case Instant:
		p.Choice = &dpb.Extension_ValueX_Instant{Instant: w.instant("valueInstant", string(v))}
	case Integer:
		p.Choice = &dpb.Extension_ValueX_Integer{Integer: &dpb.Integer{Value: int32(v)}}
	case Boolean:
		p.Choice = &dpb.Extension_ValueX_Boolean{Boolean: &dpb.Boolean{Value: bool(v)}}
	default:
		w.unwritable("value")
	}
	return p
}
