package fhir_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"testing"

	"evenreach.example/internal/fhir"
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
		if _, err := fhir.Decode(body, fhir.DefaultLimits); err != nil {
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
		if _, err := fhir.Decode(body, fhir.DefaultLimits); err != nil {
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
	r, err := fhir.Decode(fhirtest.Bundle60(), fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(fhir.Encode(r))))
	b.ReportAllocs()
	for b.Loop() {
		fhir.Encode(r)
	}
}

// BenchmarkEncodingJSON60 writes the same text, but for the order of members,
// from plain structs with the standard library.
func BenchmarkEncodingJSON60(b *testing.B) {
	r, err := fhir.Decode(fhirtest.Bundle60(), fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	var plain plainBundle
	if err := json.Unmarshal(fhir.Encode(r), &plain); err != nil {
		b.Fatal(err)
	}
	text, err := json.Marshal(plain)
	if err != nil || len(text) != len(fhir.Encode(r)) {
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

// The structs of BenchmarkEncodingJSON60: what the Bundle holds, in one struct
// for all resource types.
type (
	plainBundle struct {
		ResourceType string       `json:"resourceType"`
		Type         string       `json:"type"`
		Timestamp    string       `json:"timestamp"`
		Entry        []plainEntry `json:"entry"`
	}
	plainEntry struct {
		FullURL  string        `json:"fullUrl"`
		Resource plainResource `json:"resource"`
	}
	plainResource struct {
		ResourceType       string            `json:"resourceType"`
		ID                 string            `json:"id"`
		Meta               *plainMeta        `json:"meta,omitempty"`
		Identifier         []plainIdentifier `json:"identifier,omitempty"`
		BirthDate          string            `json:"birthDate,omitempty"`
		ClinicalStatus     *plainConcept     `json:"clinicalStatus,omitempty"`
		VerificationStatus *plainConcept     `json:"verificationStatus,omitempty"`
		Status             string            `json:"status,omitempty"`
		Category           []plainConcept    `json:"category,omitempty"`
		Code               *plainConcept     `json:"code,omitempty"`

		Subject           *plainReference   `json:"subject,omitempty"`
		EffectiveDateTime string            `json:"effectiveDateTime,omitempty"`
		OnsetDateTime     string            `json:"onsetDateTime,omitempty"`
		PerformedDateTime string            `json:"performedDateTime,omitempty"`
		Issued            string            `json:"issued,omitempty"`
		Performer         []plainReference  `json:"performer,omitempty"`
		ValueQuantity     *plainQuantity    `json:"valueQuantity,omitempty"`
		Interpretation    []plainConcept    `json:"interpretation,omitempty"`
		Note              []plainAnnotation `json:"note,omitempty"`
		BodySite          any               `json:"bodySite,omitempty"`
		Method            *plainConcept     `json:"method,omitempty"`
		ReferenceRange    []plainRange      `json:"referenceRange,omitempty"`
		Component         []plainComponent  `json:"component,omitempty"`
	}
	plainMeta struct {
		Profile []string `json:"profile"`
	}
	plainIdentifier struct {
		System string `json:"system"`
		Value  string `json:"value"`
	}
	plainCoding struct {
		System  string `json:"system,omitempty"`
		Code    string `json:"code,omitempty"`
		Display string `json:"display,omitempty"`
	}
	plainConcept struct {
		Coding []plainCoding `json:"coding,omitempty"`
		Text   string        `json:"text,omitempty"`
	}
	plainReference struct {
		Reference string `json:"reference"`
	}
	plainQuantity struct {
		Value  json.Number `json:"value"`
		Unit   string      `json:"unit"`
		System string      `json:"system"`
		Code   string      `json:"code"`
	}
	plainAnnotation struct {
		Text string `json:"text"`
	}
	plainRange struct {
		Low  *plainQuantity `json:"low,omitempty"`
		High *plainQuantity `json:"high,omitempty"`
		Text string         `json:"text,omitempty"`
	}
	plainComponent struct {
		Code                 plainConcept  `json:"code"`
		ValueCodeableConcept *plainConcept `json:"valueCodeableConcept,omitempty"`
	}
)
