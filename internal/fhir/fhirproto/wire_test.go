package fhirproto_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/anypb"
	"pgregory.net/rapid"
)

// The oracle of this file is proto.Marshal: what is written must be what it
// makes of the messages that are read from it.

func TestWireSamples(t *testing.T) {
	for _, r := range append(samples(), bundleOf(samples())) {
		checkWire(t, bundleOf([]fhir.Resource{r}))
	}
	for i, b := range storyBundles(t) {
		t.Run(fmt.Sprint("story ", i), func(t *testing.T) { checkWire(t, b) })
	}
}

func TestWireProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { checkWire(t, bundles().Draw(t, "bundle")) })
}

func TestWireOfOutcomes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outcome := generate(draw.operationOutcome).Draw(t, "outcome").(*fhir.OperationOutcome)
		written, err := fhirproto.AppendOutcome(nil, outcome)
		if err != nil {
			t.Fatalf("AppendOutcome: %v", err)
		}
		checkCanonical(t, written, new(oopb.OperationOutcome))
	})
}

// Each length of a text makes a series of lengths around it.
func TestWireLengths(t *testing.T) {
	for _, longest := range []int{1<<7 - 1, 1<<14 - 1, 1<<21 - 1} {
		for length := max(longest-60, 1); length < longest+4; length += 1 + longest>>19 {
			checkWire(t, bundleOf([]fhir.Resource{&fhir.Observation{Status: "final", Code: words(strings.Repeat("x", length))}}))
		}
	}
}

// checkWire checks what is written of a Bundle.
func checkWire(t tester, b *fhir.Bundle) {
	t.Helper()
	before := []byte("before")
	written, err := fhirproto.Append(before, b)
	if err != nil {
		t.Fatalf("Append: %v", err)
	}
	appended, ok := bytes.CutPrefix(written, before)
	if !ok {
		t.Errorf("what was there before is gone")
	}
	checkCanonical(t, appended, new(bcrpb.Bundle))
}

// checkCanonical reads a message and checks that proto.Marshal writes it so.
func checkCanonical(t tester, written []byte, m proto.Message) {
	t.Helper()
	if err := proto.Unmarshal(written, m); err != nil {
		t.Fatalf("what is written cannot be read: %v", err)
	}
	canonical, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		t.Fatalf("Marshal: %v", err)
	}
	if !bytes.Equal(written, canonical) {
		t.Errorf("%d bytes written, %d by Marshal, and they differ", len(written), len(canonical))
	}
	checkKnown(t, m.ProtoReflect())
}

// checkKnown checks that the google library knows every field of a message, and
// what is packed in it.
func checkKnown(t tester, m protoreflect.Message) {
	t.Helper()
	if unknown := m.GetUnknown(); len(unknown) > 0 {
		number, _, _ := protowire.ConsumeTag(unknown)
		t.Errorf("%s has no field %d", m.Descriptor().FullName(), number)
	}
	if packed, ok := m.Interface().(*anypb.Any); ok {
		checkCanonical(t, packed.GetValue(), new(bcrpb.ContainedResource))
	}
	m.Range(func(field protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case field.Message() == nil:
		case field.IsList():
			for i := range v.List().Len() {
				checkKnown(t, v.List().Get(i).Message())
			}
		default:
			checkKnown(t, v.Message())
		}
		return true
	})
}

// storyBundles are the inputs of the clinical stories, and the answers that are
// kept whole.
func storyBundles(t testing.TB) (all []*fhir.Bundle) {
	t.Helper()
	for _, file := range []string{"golden.json", "input.json"} {
		names, err := filepath.Glob("../../../testdata/scenarios/*/" + file)
		if err != nil || len(names) == 0 {
			t.Fatalf("no %s found: %v", file, err)
		}
		for _, name := range names {
			body, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			r, err := fhirjson.Decode(body, fhir.DefaultLimits)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if b, ok := r.(*fhir.Bundle); ok {
				all = append(all, b)
			}
		}
	}
	return all
}

// Parts that say nothing are left out, as Encode leaves them out.
func TestWireLeavesOutEmptyParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bundles().Draw(t, "bundle")
		wantWire, wantJSON := written(t, b), fhirjson.Encode(b)
		addEmptyParts(reflect.ValueOf(b))
		if !bytes.Equal(written(t, b), wantWire) {
			t.Errorf("empty parts are written")
		}
		if !bytes.Equal(fhirjson.Encode(b), wantJSON) {
			t.Errorf("empty parts are encoded")
		}
	})
}

// References that name no resource are kept as they are.
func TestWireOfOddReferences(t *testing.T) {
	for _, text := range []string{"#", "#a/b", "/", "Patient", "Patient/a/b", "Patient/a/_history/1/2", "patient/a", "Unknown/a"} {
		b := bundleOf([]fhir.Resource{&fhir.Observation{Status: "final", Code: words("c"), Subject: to(text)}})
		checkWire(t, b)
		if got := fromProto(t, toProto(t, b)).Entry[0].Resource.(*fhir.Observation).Subject; got == nil || got.Reference != text {
			t.Errorf("%q came back as %v", text, got)
		}
	}
}

func written(t tester, b *fhir.Bundle) []byte {
	t.Helper()
	out, err := fhirproto.Append(nil, b)
	if err != nil {
		t.Fatalf("Append: %v", err)
	}
	return out
}

// addEmptyParts gives every list of structs that v reaches an empty one at the
// end, and every absent struct that may be there.
func addEmptyParts(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() && v.Kind() == reflect.Pointer && v.CanSet() {
			v.Set(reflect.New(v.Type().Elem()))
			return
		}
		if !v.IsNil() {
			addEmptyParts(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			addEmptyParts(v.Index(i))
		}
		if v.Type().Elem().Kind() == reflect.Struct && v.Len() > 0 {
			v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "ScheduledPeriod" { // beside a ScheduledString it would be one too many
				addEmptyParts(v.Field(i))
			}
		}
	}
}

// No text may be missed.
func TestWireRefusesBytesThatAreNoUTF8(t *testing.T) {
	full := bundleOf(samples())
	visited := 0
	spoilInTurn(reflect.ValueOf(full), func() {
		visited++
		dst, err := fhirproto.Append([]byte("before"), full)
		if string(dst) != "before" {
			t.Errorf("a refusal comes with %q", dst)
		}
		var refusal *fault.Errors
		if !errors.As(err, &refusal) || refusal.Kind() != fault.Internal {
			t.Errorf("Append: %v, want an internal error", err)
		}
	})
	if visited < 1000 {
		t.Errorf("only %d texts were spoilt", visited)
	}
}

// spoilInTurn ends every text that v reaches in a byte that is no UTF-8, calls
// try, and puts it back.
func spoilInTurn(v reflect.Value, try func()) {
	switch v.Kind() {
	case reflect.String:
		if v.Len() > 0 {
			kept := v.String()
			v.SetString(kept + "\xff")
			try()
			v.SetString(kept)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			spoilInTurn(v.Elem(), try)
		}
	case reflect.Interface:
		if v.IsNil() {
			return
		}
		if v.Elem().Kind() != reflect.String {
			spoilInTurn(v.Elem(), try)
			return
		}
		kept := v.Elem()
		spoilt := reflect.New(kept.Type()).Elem()
		spoilt.SetString(kept.String() + "\xff")
		v.Set(spoilt)
		try()
		v.Set(kept)
	case reflect.Slice:
		for i := range v.Len() {
			spoilInTurn(v.Index(i), try)
		}
	case reflect.Struct:
		for _, field := range v.Fields() {
			spoilInTurn(field, try)
		}
	}
}
