package encoded_test

import (
	"testing"

	"google.golang.org/protobuf/reflect/protoreflect"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/service/encoded"
)

// What callers send and get by the contract is what is read and written here: the same
// fields, but for resources, which are bytes.
func TestEncodedIsTheContract(t *testing.T) {
	contract, ours := evenreachv1.File_evenreach_v1_assessment_proto, encoded.File_evenreach_encoded_v1_assessment_proto
	if got, want := ours.Messages().Len(), contract.Messages().Len(); got != want || want == 0 {
		t.Fatalf("%d messages, want %d", got, want)
	}
	resources := 0
	for i := range contract.Messages().Len() {
		message := contract.Messages().Get(i)
		fields := ours.Messages().ByName(message.Name()).Fields()
		if got, want := fields.Len(), message.Fields().Len(); got != want {
			t.Errorf("%s: %d fields, want %d", message.Name(), got, want)
		}
		for j := range message.Fields().Len() {
			want := message.Fields().Get(j)
			got := fields.ByNumber(want.Number())
			switch {
			case got == nil || got.Name() != want.Name():
				t.Errorf("%s is %v", want.FullName(), got)
			case want.Message() != nil && want.Message().ParentFile() != contract:
				resources++
				if got.Kind() != protoreflect.BytesKind || !got.IsList() {
					t.Errorf("%s is %v, want repeated bytes", want.FullName(), got.Kind())
				}
			case got.Kind() != want.Kind() || got.Cardinality() != want.Cardinality():
				t.Errorf("%s is %v %v, want %v %v", want.FullName(), got.Cardinality(), got.Kind(), want.Cardinality(), want.Kind())
			}
		}
	}
	if resources != 5 {
		t.Errorf("%d resources, want 5: a request's two, an answer's two, a refusal's", resources)
	}
}
