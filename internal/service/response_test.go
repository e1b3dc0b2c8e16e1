package service

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

	dtpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

// The answer of a record resolves temporary addresses through both doors alike.
func TestResponseThroughBothDoors(t *testing.T) {
	h := start(t)
	client := h.dial()
	const temporary = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"
	var input object
	if err := json.Unmarshal([]byte(strings.ReplaceAll(text(t, good()), `"Patient/p1"`, `"`+temporary+`"`)), &input); err != nil {
		t.Fatal(err)
	}
	entries := input["entry"].([]any)
	answers := make([]any, len(entries))
	for i, e := range entries {
		resource := e.(map[string]any)["resource"].(map[string]any)
		id, _ := resource["id"].(string)
		if resource["resourceType"] == "Patient" {
			e.(map[string]any)["fullUrl"] = temporary
		}
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
	if diff := cmp.Diff(patientsIn(message(t, byREST.Body.String())), patientsIn(byGRPC.GetBundle())); diff != "" {
		t.Errorf("REST and gRPC differ:\n%s", diff)
	}
	for url, id := range patientsIn(byGRPC.GetBundle()) {
		if id != "stored-p1" {
			t.Errorf("%s is about Patient/%s, want where the record stored it", url, id)
		}
	}
}

// patientsIn are the patients of the Observations and the report, by the address of
// the entry.
func patientsIn(b *bcrpb.Bundle) map[string]string {
	patients := map[string]string{}
	for _, e := range b.GetEntry() {
		for _, subject := range []*dtpb.Reference{
			e.GetResource().GetObservation().GetSubject(), e.GetResource().GetDiagnosticReport().GetSubject(),
		} {
			if subject != nil {
				patients[e.GetFullUrl().GetValue()] = subject.GetPatientId().GetValue()
			}
		}
	}
	return patients
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
