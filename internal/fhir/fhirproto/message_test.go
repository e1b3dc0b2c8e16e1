package fhirproto_test

import (
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirproto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
)

// The source of every case is that proto.Unmarshal refuses it too.
func TestReadRefusesWhatIsNoMessage(t *testing.T) {
	inType := func(holds string) string { return "\x32" + string(rune(len(holds))) + holds } // Bundle.type
	inID := func(holds string) string { return "\x0a" + string(rune(len(holds))) + holds }   // Bundle.id
	tests := []struct{ name, data, path string }{
		{"a tag that does not end", "\xff", "Bundle"},
		{"a tag of eleven bytes", "\xff\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01", "Bundle"},
		{"a field without a number", "\x02\x00", "Bundle"},
		{"a field number over the largest", "\x82\x80\x80\x80\x10\x00", "Bundle"},
		{"a type of field that there is not", "\x0e", "Bundle"},
		{"a length without its bytes", "\x0a\x05\x0a", "Bundle"},
		{"a length over all numbers", "\x0a\xff\xff\xff\xff\xff\xff\xff\xff\xff\x7f", "Bundle"},
		{"a varint that does not end", "\x08\x80", "Bundle"},
		{"the end of a group that did not begin", "\x0c", "Bundle"},
		{"a group that does not end", "\xa3\x06\x08\x01", "Bundle"},
		{"a group that ends as another", "\xa3\x06\xac\x06", "Bundle"},
		{"half a fixed number", "\xa5\x06\x01\x02", "Bundle"},
		{"within a primitive", inID("\x0a\x05x"), "Bundle"},
		{"within a number", inType("\x08\x80"), "Bundle"},
		{"text that is no UTF-8", inID("\x0a\x01\xff"), "Bundle"},
		{"within a message", "\x12\x01\x80", "Bundle.meta"},
		{"within an entry", "\x52\x02\x32\x05", "Bundle.entry[0]"},
		{"a zone that is no UTF-8", "\x3a\x03\x12\x01\xff", "Bundle"}, // of Bundle.timestamp
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if proto.Unmarshal([]byte(tt.data), new(bcrpb.Bundle)) == nil {
				t.Fatal("proto.Unmarshal reads it, so that it is no case")
			}
			_, err := fhirproto.ReadInput([]byte(tt.data))
			found := issues(err)
			if len(found) != 1 || found[0].Kind != fault.Syntax || found[0].Severity != fault.Fatal || found[0].Path != tt.path {
				t.Errorf("%v, want a refusal for its syntax at %s", err, tt.path)
			}
		})
	}
}

// Wherever a Bundle is cut off, it is refused unless it ends between two of its fields.
func TestReadOfTheBeginning(t *testing.T) {
	data := written(t, bundleOf(samples()[:1]))
	refused := 0
	for n := range data {
		_, err := fhirproto.Read(data[:n])
		want := proto.Unmarshal(data[:n], new(bcrpb.Bundle)) != nil
		if isMalformed(err) != want {
			t.Errorf("of %d bytes: %v", n, err)
		}
		if want {
			refused++
		}
	}
	if refused < len(data)/2 {
		t.Errorf("%d of %d beginnings refused, want most", refused, len(data))
	}
}

// A Bundle may come in parts, as any field of a message.
func TestReadOfParts(t *testing.T) {
	data := written(t, bundleOf([]fhir.Resource{&fhir.Observation{Status: "final", Code: words("c")}}))
	_, _, n := protowire.ConsumeField(data)
	b, err := fhirproto.Read(data[:n], nil, data[n:])
	if err != nil || len(b.Entry) != 1 {
		t.Errorf("%v, %v, want the Bundle", b, err)
	}
	if _, err := fhirproto.Read(); err == nil || !strings.Contains(err.Error(), "found no Bundle") {
		t.Errorf("%v, want a refusal for want of a Bundle", err)
	}
}

// What is read is the caller's: it has no part of the bytes, which may be used again.
func TestReadKeepsNothingOfTheBytes(t *testing.T) {
	want := bundleOf(samples())
	data := written(t, want)
	got, err := fhirproto.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	clear(data)
	if again := written(t, got); string(again) != string(written(t, want)) {
		t.Error("what was read changed with the bytes")
	}
}
