package fhirproto_test

import (
	"cmp"
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/fhir/fhirtest"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"
)

// packedBundle60 is the Bundle that speeds are quoted for, as a gRPC request
// carries it.
func packedBundle60(b *testing.B) []byte {
	packed, err := proto.Marshal(unmarshalJSON(b, fhirtest.Bundle60()).GetBundle())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(packed)))
	b.ReportAllocs()
	return packed
}

// BenchmarkProtoUnmarshal60 is the floor under a gRPC request: the google
// messages alone.
func BenchmarkProtoUnmarshal60(b *testing.B) {
	packed := packedBundle60(b)
	for b.Loop() {
		if err := proto.Unmarshal(packed, new(bcrpb.Bundle)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRead60 is what reading a gRPC request takes.
func BenchmarkRead60(b *testing.B) {
	packed := packedBundle60(b)
	for b.Loop() {
		if _, err := fhirproto.Read(packed); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkProtoMarshalAnswer is what a gRPC answer takes from messages that are
// there already.
func BenchmarkProtoMarshalAnswer(b *testing.B) {
	message := toProto(b, longestAnswer(b))
	b.SetBytes(int64(proto.Size(message)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := proto.Marshal(message); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAppendAnswer is the same from the wire model, as the service
// writes it: into memory that is used again.
func BenchmarkAppendAnswer(b *testing.B) {
	bundle := longestAnswer(b)
	out := written(b, bundle)
	b.SetBytes(int64(len(out)))
	b.ReportAllocs()
	for b.Loop() {
		var err error
		if out, err = fhirproto.Append(out[:0], bundle); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAppendResourceAnswer is the same in JSON.
func BenchmarkAppendResourceAnswer(b *testing.B) {
	bundle := longestAnswer(b)
	out := fhirjson.Encode(bundle)
	b.SetBytes(int64(len(out)))
	b.ReportAllocs()
	for b.Loop() {
		out = fhirjson.AppendResource(out[:0], bundle)
	}
}

// longestAnswer is the longest Bundle of the clinical stories, which is an answer.
func longestAnswer(b *testing.B) *fhir.Bundle {
	return slices.MaxFunc(storyBundles(b), func(one, other *fhir.Bundle) int {
		return cmp.Compare(len(fhirjson.Encode(one)), len(fhirjson.Encode(other)))
	})
}
