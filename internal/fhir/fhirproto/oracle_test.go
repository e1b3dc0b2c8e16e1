package fhirproto_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"
)

// The oracle of this file is the google library's own JSON conversion, which
// has nothing in common with ours: what we write in JSON and in protocol
// buffers must say the same to it, and what it writes the same to us.

func TestOracleSamples(t *testing.T) {
	for _, r := range append(samples(), bundleOf(samples())) {
		t.Run(r.Type(), func(t *testing.T) {
			checkWriting(t, bundleOf([]fhir.Resource{r}))
			checkReading(t, bundleOf([]fhir.Resource{r}))
		})
	}
}

func TestOracleProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bundles().Draw(t, "bundle")
		checkWriting(t, b)
		checkReading(t, b)
	})
}

func TestOracleOutcome(t *testing.T) {
	outcome := fullOutcome()
	written, err := fhirproto.AppendOutcome(nil, outcome)
	if err != nil {
		t.Fatal(err)
	}
	p := new(oopb.OperationOutcome)
	if err := proto.Unmarshal(written, p); err != nil {
		t.Fatal(err)
	}
	contained := &bcrpb.ContainedResource{OneofResource: &bcrpb.ContainedResource_OperationOutcome{OperationOutcome: p}}
	if diff := cmp.Diff(parse(t, fhirjson.Encode(outcome)), parse(t, marshalJSON(t, contained))); diff != "" {
		t.Errorf("JSON (-ours +of the google library):\n%s", diff)
	}
}

// checkWriting checks that our JSON is valid to the google library, and that
// our protocol buffers are the same JSON to it.
func checkWriting(t tester, b *fhir.Bundle) {
	t.Helper()
	ours := fhirjson.Encode(b)
	unmarshalJSON(t, ours)
	contained := &bcrpb.ContainedResource{OneofResource: &bcrpb.ContainedResource_Bundle{Bundle: toProto(t, b)}}
	if diff := cmp.Diff(parse(t, ours), parse(t, marshalJSON(t, contained))); diff != "" {
		t.Errorf("JSON (-ours +of the google library):\n%s", diff)
	}
}

// checkReading checks that a Bundle survives both encodings, and that JSON and
// protocol buffers that the google library holds to be the same are the same
// to us.
func checkReading(t tester, b *fhir.Bundle) {
	t.Helper()
	if diff := cmp.Diff(b, fromProto(t, toProto(t, b))); diff != "" {
		t.Errorf("through protocol buffers (-before +after):\n%s", diff)
	}
	ours := fhirjson.Encode(b)
	decoded, err := fhirjson.Decode(ours, fhir.DefaultLimits)
	if err != nil {
		t.Fatalf("Decode(Encode(b)): %v\n%s", err, ours)
	}
	if diff := cmp.Diff(decoded, fhir.Resource(fromProto(t, unmarshalJSON(t, ours).GetBundle()))); diff != "" {
		t.Errorf("decoded (-from JSON +from protocol buffers):\n%s", diff)
	}
}

// tester is what *testing.T, *testing.B and *rapid.T have in common.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// toProto reads the messages from what is written of a Bundle.
func toProto(t tester, b *fhir.Bundle) *bcrpb.Bundle {
	t.Helper()
	p := new(bcrpb.Bundle)
	if err := proto.Unmarshal(written(t, b), p); err != nil {
		t.Fatalf("what is written cannot be read: %v", err)
	}
	return p
}

// read reads what proto.Marshal writes of a Bundle.
func read(t tester, p *bcrpb.Bundle) (*fhir.Bundle, error) {
	t.Helper()
	data, err := proto.Marshal(p)
	if err != nil {
		t.Fatalf("Marshal: %v", err)
	}
	return fhirproto.Read(data)
}

func fromProto(t tester, p *bcrpb.Bundle) *fhir.Bundle {
	t.Helper()
	b, err := read(t, p)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	return b
}

// unmarshalJSON reads JSON with the validating reader of the google library.
func unmarshalJSON(t tester, body []byte) *bcrpb.ContainedResource {
	t.Helper()
	unmarshaller, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatalf("NewUnmarshaller: %v", err)
	}
	p, err := unmarshaller.UnmarshalR4(body)
	if err != nil {
		t.Fatalf("the google library refuses the JSON: %v\n%s", err, body)
	}
	return p
}

// marshalJSON writes JSON with the google library, which changes what it
// writes, so it gets a copy.
func marshalJSON(t tester, p *bcrpb.ContainedResource) []byte {
	t.Helper()
	marshaller, err := jsonformat.NewMarshaller(false, "", "", fhirversion.R4)
	if err != nil {
		t.Fatalf("NewMarshaller: %v", err)
	}
	body, err := marshaller.Marshal(proto.Clone(p))
	if err != nil {
		t.Fatalf("the google library cannot write the messages: %v", err)
	}
	return body
}

// parse reads JSON into maps and lists, with numbers as text.
func parse(t tester, body []byte) (parsed any) {
	t.Helper()
	decoder := json.NewDecoder(bytes.NewReader(body))
	decoder.UseNumber()
	if err := decoder.Decode(&parsed); err != nil {
		t.Fatalf("not JSON: %v\n%s", err, body)
	}
	return parsed
}

// A sample that lacks an element would not notice that a conversion forgets it.
func TestSamplesHoldEveryElement(t *testing.T) {
	seen := map[string]bool{}
	markFields(reflect.ValueOf(bundleOf(samples())), seen)
	if len(seen) < 100 {
		t.Fatalf("only %d elements found", len(seen))
	}
	for element, set := range seen {
		if !set {
			t.Errorf("no sample has %s", element)
		}
	}
}

// markFields notes for every field of a struct that v reaches whether it was
// set at least once.
func markFields(v reflect.Value, seen map[string]bool) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			markFields(v.Elem(), seen)
		}
	case reflect.Slice:
		for i := range v.Len() {
			markFields(v.Index(i), seen)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Name() + "." + v.Type().Field(i).Name
			seen[name] = seen[name] || !v.Field(i).IsZero()
			markFields(v.Field(i), seen)
		}
	}
}
