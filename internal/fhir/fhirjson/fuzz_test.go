package fhirjson_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"reflect"
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// FuzzDecode tries bodies that differ by bytes.
func FuzzDecode(f *testing.F) {
	for _, r := range jsonSamples() {
		f.Add(fhirjson.Encode(r))
		f.Add(typeLast(f, fhirjson.Encode(r)))
	}
	f.Add(fhirtest.Bundle(2))
	f.Add([]byte(observation(`"category":[{"coding":[{"userSelected":true}]},{"id":"a"}],"valueQuantity":{"id":"a"}`)))
	f.Add([]byte(`{"resourceType":"Patient","photo":[null,{"_title":{"id":"\ud83d\ude00"}}],"_birthDate":{"id":"a"}}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		checkDecode(t, body)
		fhirjson.Indent(body)
	})
}

// TestDecodeMutatedResources tries bodies that differ by values and members.
func TestDecodeMutatedResources(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.SampledFrom(jsonSamples()).Draw(t, "resource")
		decoder := json.NewDecoder(bytes.NewReader(fhirjson.Encode(r)))
		decoder.UseNumber()
		var value any
		if err := decoder.Decode(&value); err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 4).Draw(t, "mutations") {
			value = mutate(t, value)
		}
		body, err := json.Marshal(value)
		if err != nil {
			t.Fatal(err)
		}
		checkDecode(t, body)
	})
}

// checkDecode asks of a body: no error but *fault.Errors with issues; and what
// is taken is written in a form that is taken again and written the same.
func checkDecode(t interface{ Fatalf(string, ...any) }, body []byte) {
	r, err := fhirjson.Decode(body, fhir.Limits{Bytes: 1 << 20})
	slow, slowErr := fhirjson.DecodeWithoutReuse(body, fhir.Limits{Bytes: 1 << 20})
	if !reflect.DeepEqual(r, slow) || !reflect.DeepEqual(err, slowErr) {
		t.Fatalf("%s\nis read otherwise when nothing is remembered: %s\n%s", body, cmp.Diff(slow, r), cmp.Diff(slowErr, err))
	}
	if err != nil {
		refusal, ok := errors.AsType[*fault.Errors](err)
		if !ok || len(refusal.Issues) == 0 {
			t.Fatalf("error %T with %v, want *fault.Errors with issues", err, err)
		}
		return
	}
	if !jsontext.Value(body).IsValid() {
		t.Fatalf("Decode takes\n%s\nwhich is no JSON in UTF-8 with every name once", body)
	}
	text := fhirjson.Encode(r)
	again, err := fhirjson.Decode(text, fhir.Limits{})
	if err != nil {
		t.Fatalf("Decode takes\n%s\nand refuses what Encode makes of it\n%s\n%v", body, text, err)
	}
	if got := fhirjson.Encode(again); !bytes.Equal(got, text) {
		t.Fatalf("%s\nis written as\n%s\nand then as\n%s", body, text, got)
	}
}

// mutate changes a value or one within it.
func mutate(t *rapid.T, value any) any {
	if rapid.IntRange(0, 2).Draw(t, "here") == 0 {
		return replacement(t)
	}
	switch v := value.(type) {
	case []any:
		if len(v) > 0 {
			i := rapid.IntRange(0, len(v)-1).Draw(t, "element")
			v[i] = mutate(t, v[i])
		}
	case map[string]any:
		if len(v) > 0 {
			mutateMember(t, v)
		}
	}
	return value
}

// mutateMember changes, drops, renames or adds a member.
func mutateMember(t *rapid.T, object map[string]any) {
	name := rapid.SampledFrom(slices.Sorted(maps.Keys(object))).Draw(t, "member")
	switch rapid.IntRange(0, 5).Draw(t, "how") {
	case 0:
		delete(object, name)
	case 1:
		object["_"+name] = replacement(t)
	case 2:
		object[rapid.SampledFrom(memberPool).Draw(t, "name")] = replacement(t)
	case 3:
		object[rapid.SampledFrom(memberPool).Draw(t, "name")] = object[name]
		delete(object, name)
	default:
		object[name] = mutate(t, object[name])
	}
}

var memberPool = []string{"id", "extension", "text", "code", "coding", "userSelected", "period", "assigner", "valueRange", "valueString", "contained", "display", "x"}

// replacement draws a value of any shape, most of them legal somewhere.
func replacement(t *rapid.T) any {
	object := map[string]any{rapid.SampledFrom(memberPool).Draw(t, "name"): "a"}
	return rapid.SampledFrom([]any{
		"a", "", "2026-10-05", "urn:a", nil, true, json.Number("1"), json.Number("1.50"), []any{}, []any{"a"}, []any{nil, "a"},
		map[string]any{}, object, []any{object}, []any{object, map[string]any{"id": "b"}},
	}).Draw(t, "replacement")
}
