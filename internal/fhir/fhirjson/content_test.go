package fhirjson_test

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// TestContentTellsEveryElement takes away each element that is set in turn, and wants
// the content to differ wherever the JSON does.
func TestContentTellsEveryElement(t *testing.T) {
	for _, r := range jsonSamples() {
		t.Run(r.Type(), func(t *testing.T) {
			json, content := fhirjson.Encode(r), fhirjson.AppendContent(nil, r)
			taken := 0
			eachField(reflect.ValueOf(r), func(name string) {
				if bytes.Equal(fhirjson.Encode(r), json) {
					return
				}
				taken++
				if bytes.Equal(fhirjson.AppendContent(nil, r), content) {
					t.Errorf("the content is the same without %s", name)
				}
			})
			if taken == 0 {
				t.Error("no element was taken away")
			}
		})
	}
}

// eachField calls found for every struct field below v that is set, while it is not.
func eachField(v reflect.Value, found func(name string)) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		eachField(v.Elem(), found)
	case reflect.Slice:
		for i := range v.Len() {
			eachField(v.Index(i), found)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Field(i)
			if field.IsZero() {
				continue
			}
			set := reflect.ValueOf(field.Interface())
			field.SetZero()
			found(v.Type().Name() + "." + v.Type().Field(i).Name)
			field.Set(set)
			eachField(field, found)
		}
	}
}

func TestContent(t *testing.T) {
	observed := func(value fhir.Decimal, device string) fhir.Resource {
		return &fhir.Observation{Value: &fhir.Quantity{Value: value}, Device: &fhir.Reference{Reference: device, Display: "d"}}
	}
	coded := func(systems ...string) fhir.Resource {
		o := &fhir.Observation{}
		for _, s := range systems {
			o.Code.Coding = append(o.Code.Coding, fhir.Coding{System: s, Code: "c"})
		}
		return o
	}
	systems := strings.Split("urn:"+strings.Join(strings.Split("abcdefghijklmnopqrstuvwx", ""), " urn:"), " ")
	tests := []struct {
		name   string
		a, b   fhir.Resource
		same   bool
		source string
	}{
		{"zeros at the end of a decimal", observed("21.50", "a"), observed("21.5", "a"), true, "R4 decimal: a server may write a number as it likes"},
		{"nothing behind the point", observed("-1.0", "a"), observed("-1", "a"), true, "likewise"},
		{"zeros before the point", observed("100", "a"), observed("1", "a"), false, "another number"},
		{"zeros before the point, with decimals", observed("100.0", "a"), observed("10", "a"), false, "another number"},
		{"exponent", observed("1.50e10", "a"), observed("1.50e1", "a"), false, "another number"},
		{"another address", observed("1", "Device/1"), observed("1", "Device/2"), true, "R4 transaction: references are rewritten"},
		{"no address", observed("1", "Device/1"), observed("1", ""), false, "documented: that there is one"},
		{"systems in another order", coded("urn:a", "urn:b", "urn:a"), coded("urn:a", "urn:b", "urn:b"), false, "documented"},
		{"another system", coded("urn:a"), coded("urn:b"), false, "documented"},
		{"more systems than have a number", coded(append(systems, "urn:y")...), coded(append(systems, "urn:z")...), false, "documented"},
		{"another type", &fhir.Goal{}, &fhir.CarePlan{}, false, "documented"},
		{"a text that reads like what follows another",
			&fhir.CarePlan{Title: "t", Description: "d"}, &fhir.CarePlan{Title: "tdescription:\x01d"}, false, "documented"},
		{"a text that ends like an object",
			&fhir.CarePlan{Note: []fhir.Annotation{{Text: "a"}, {Text: "b"}}}, &fhir.CarePlan{Note: []fhir.Annotation{{Text: "a},{text:\x01b"}}}, false, "documented"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, b := fhirjson.AppendContent(nil, tt.a), fhirjson.AppendContent(nil, tt.b)
			if bytes.Equal(a, b) != tt.same {
				t.Errorf("contents %q and %q, want the same: %v (%s)", a, b, tt.same, tt.source)
			}
		})
	}
}
