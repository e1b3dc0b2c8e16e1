package record

import (
	"testing"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"

	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
)

// The google library validates what it reads, and knows nothing of this
// package: every answer must be valid to it, and say the same in protocol
// buffers.
func TestGoogleLibraryAgrees(t *testing.T) {
	unmarshaller, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	for name, input := range everyInput(t) {
		for _, o := range []Output{Transaction, Collection, Check} {
			b := input.answer(t, o)
			read, err := unmarshaller.Unmarshal(fhirjson.Encode(b))
			if err != nil {
				t.Errorf("%s, %s: refused: %v", name, o, err)
				continue
			}
			written, err := fhirproto.Append(nil, b)
			if err != nil {
				t.Errorf("%s, %s: %v", name, o, err)
				continue
			}
			converted := new(bcrpb.Bundle)
			if err := proto.Unmarshal(written, converted); err != nil {
				t.Errorf("%s, %s: %v", name, o, err)
				continue
			}
			if want := read.(*bcrpb.ContainedResource).GetBundle(); !proto.Equal(converted, want) {
				t.Errorf("%s, %s: the encodings differ:\n%s", name, o, cmp.Diff(want.String(), converted.String()))
			}
		}
	}
}
