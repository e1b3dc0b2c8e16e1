package service

import (
	"context"
	"testing"

	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/testing/protocmp"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

// The answer of a record resolves temporary addresses through both doors alike.
func TestResponseThroughBothDoors(t *testing.T) {
	h := start(t)
	client := h.dial()
	input := good()
	entries := input["entry"].([]any)
	answers := make([]any, len(entries))
	for i, e := range entries {
		resource := e.(object)["resource"].(object)
		id, _ := resource["id"].(string)
		answers[i] = object{"response": object{"status": "201", "location": resource["resourceType"].(string) + "/stored-" + id + "/_history/1"}}
	}
	response := object{"resourceType": "Bundle", "type": "transaction-response", "entry": answers}
	byREST := h.do(request(text(t, parameters(object{"name": "bundle", "resource": input}, object{"name": "response", "resource": response}))))
	if byREST.Code != 200 {
		t.Fatalf("status %d: %s", byREST.Code, byREST.Body)
	}
	byGRPC, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, input)), Response: message(t, text(t, response))})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(message(t, byREST.Body.String()), byGRPC.GetBundle(), protocmp.Transform()); diff != "" {
		t.Errorf("REST and gRPC differ:\n%s", diff)
	}
	without, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, input))})
	if err != nil {
		t.Fatal(err)
	}
	if cmp.Equal(without.GetBundle(), byGRPC.GetBundle(), protocmp.Transform()) {
		t.Error("the answer is the same without the response")
	}
}

func TestResponseThatIsNone(t *testing.T) {
	client := start(t).dial()
	input := message(t, text(t, good()))
	for name, response := range map[string]*bcrpb.Bundle{"another type": input, "no type": {}} {
		_, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: input, Response: response})
		if status.Code(err) != codes.InvalidArgument {
			t.Errorf("%s: %v, want INVALID_ARGUMENT", name, err)
		}
	}
}
