package fhir_test

import (
	"bytes"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"
)

// The bytes that are written at once are those of the messages.

func TestBytesAreThoseOfTheMessages(t *testing.T) {
	for _, r := range append(samples(), bundleOf(samples())) {
		checkBytes(t, bundleOf([]fhir.Resource{r}))
	}
	for _, b := range goldenAnswers(t) {
		checkBytes(t, b)
	}
	for _, length := range []int{120, 127, 128, 16300, 16383, 16384, 1<<21 - 1, 1 << 21} {
		checkBytes(t, bundleOf([]fhir.Resource{&fhir.Observation{Status: "final", Code: words(strings.Repeat("x", length))}}))
	}
	rapid.Check(t, func(t *rapid.T) { checkBytes(t, bundles().Draw(t, "bundle")) })
}

func TestBytesOfOutcomesAreThoseOfTheMessages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outcome := generate(draw.operationOutcome).Draw(t, "outcome").(*fhir.OperationOutcome)
		message, err := fhir.OutcomeToProto(outcome)
		if err != nil {
			t.Fatalf("OutcomeToProto: %v", err)
		}
		got, err := fhir.AppendOutcomeProto(nil, outcome)
		if err != nil {
			t.Fatalf("AppendOutcomeProto: %v", err)
		}
		if !bytes.Equal(got, marshalled(t, message)) {
			t.Errorf("the bytes differ")
		}
	})
}

// What the messages refuse, the bytes refuse at the same places, besides texts
// that are no UTF-8, which are refused when the messages are marshalled.
func TestBytesAreRefusedAsTheMessagesAre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bundles().Draw(t, "bundle")
		spoilAtRandom(draw{t}, reflect.ValueOf(b))
		message, err := fhir.ToProto(b)
		written, errWritten := fhir.AppendProto(nil, b)
		if err == nil {
			packed, err := proto.MarshalOptions{Deterministic: true}.Marshal(message)
			if err != nil {
				if errWritten == nil {
					t.Fatalf("accepted, but Marshal refuses: %v", err)
				}
				return
			}
			if errWritten != nil || !bytes.Equal(packed, written) {
				t.Errorf("the bytes differ, or %v", errWritten)
			}
			return
		}
		if diff := cmp.Diff(places(err), places(errWritten)); diff != "" {
			t.Errorf("(-messages +bytes):\n%s", diff)
		}
	})
}

// places are what an error says, in order, but for texts that are no UTF-8, and
// contained resources that cannot be packed because of one.
func places(err error) (all []string) {
	var refusal *fault.Errors
	if errors.As(err, &refusal) && len(refusal.Issues) < 100 {
		for _, i := range refusal.Issues {
			if !strings.Contains(i.Detail, "packed") && !strings.Contains(i.Detail, "UTF-8") {
				all = append(all, i.Path+" "+i.Detail)
			}
		}
	}
	slices.Sort(all)
	return all
}

// spoilAtRandom changes some texts.
func spoilAtRandom(d draw, v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		if v.String() != "" && v.CanSet() && rapid.IntRange(0, 20).Draw(d.T, "spoil") == 0 {
			v.SetString(d.of(v.String()+"\xff", "bogus", "12,5", "2026-13-01"))
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			spoilAtRandom(d, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			spoilAtRandom(d, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			spoilAtRandom(d, v.Field(i))
		}
	}
}

func marshalled(t tester, m proto.Message) []byte {
	t.Helper()
	packed, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		t.Fatalf("Marshal: %v", err)
	}
	return packed
}

func checkBytes(t tester, b *fhir.Bundle) {
	t.Helper()
	if got, want := written(t, b), marshalled(t, toProto(t, b)); !bytes.Equal(got, want) {
		t.Errorf("%d bytes, %d of the messages, and they differ", len(got), len(want))
	}
}
