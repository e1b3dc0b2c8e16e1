package fhirjson_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
)

func BenchmarkDecode60(b *testing.B) {
	body := fhirtest.Bundle60()
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fhirjson.Decode(body, fhir.DefaultLimits); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDecode60TypeLast has the resourceType at the end of every resource,
// so that the decoder must look ahead.
func BenchmarkDecode60TypeLast(b *testing.B) {
	body := typeLast(b, fhirtest.Bundle60())
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fhirjson.Decode(body, fhir.DefaultLimits); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTokenise60 is the floor under Decode: the tokens alone.
func BenchmarkTokenise60(b *testing.B) {
	body := fhirtest.Bundle60()
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		tokens := jsontext.NewDecoder(bytes.NewBuffer(body))
		for {
			if _, err := tokens.ReadToken(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
}

// BenchmarkJsonformat60 is what a general FHIR library needs for the same body.
func BenchmarkJsonformat60(b *testing.B) {
	body := fhirtest.Bundle60()
	unmarshaller, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := unmarshaller.Unmarshal(body); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncode60(b *testing.B) {
	r, err := fhirjson.Decode(fhirtest.Bundle60(), fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(fhirjson.Encode(r))))
	b.ReportAllocs()
	for b.Loop() {
		fhirjson.Encode(r)
	}
}

// BenchmarkEncodingJSON60 writes the same text, but for the order of members,
// from plain structs with the standard library.
func BenchmarkEncodingJSON60(b *testing.B) {
	r, err := fhirjson.Decode(fhirtest.Bundle60(), fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	plain := fhirtest.Plain(fhirjson.Encode(r))
	text, err := json.Marshal(plain)
	if err != nil || len(text) != len(fhirjson.Encode(r)) {
		b.Fatalf("the plain structs write another text (error %v)", err)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := json.Marshal(plain); err != nil {
			b.Fatal(err)
		}
	}
}
