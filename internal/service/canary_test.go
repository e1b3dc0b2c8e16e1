package service

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
)

// literal is a string in JSON: a value or a name.
var literal = regexp.MustCompile(`"(?:[^"\\\\]|\\\\.)*"`)

// canaries are inputs that have a canary in one string each, in its stead and
// behind it, and one that has it in every value at once. Names count as
// strings: a caller may invent them.
func canaries(input string) (bodies []string) {
	everywhere := []byte(input)
	places := literal.FindAllStringIndex(input, -1)
	for _, p := range places {
		bodies = append(bodies,
			input[:p[0]]+`"`+canary+`"`+input[p[1]:],
			input[:p[1]-1]+canary+input[p[1]-1:])
	}
	for _, p := range slices.Backward(places) {
		if isName := input[p[1]] == ':'; !isName {
			everywhere = slices.Replace(everywhere, p[0], p[1], []byte(`"`+canary+`"`)...)
		}
	}
	return append(bodies, string(everywhere))
}

// full is an input with every kind of resource that is read and with text in
// every place that has room for some.
func full() object {
	id := []any{object{"system": "urn:x", "value": "v", "use": "usual", "assigner": object{"display": "d"}}}
	narrative := object{"status": "generated", "div": `<div xmlns="http://www.w3.org/1999/xhtml">a</div>`}
	extension := []any{object{"url": "urn:e", "valueString": "s"}}
	note := []any{object{"text": "t", "authorString": "a", "time": "2026-03-02"}}
	b := good(
		patient("p1", put("identifier", id), put("name", []any{object{"family": "f", "given": []any{"g"}, "text": "t"}}),
			put("telecom", []any{object{"system": "phone", "value": "1"}}), put("birthDate", "1980-01-01"), put("gender", "other"),
			put("address", []any{object{"line": []any{"l"}, "city": "c", "postalCode": "p"}}), put("text", narrative), put("extension", extension)),
		strength("o3", right, 70, put("note", note), put("identifier", id), put("text", narrative), put("extension", extension),
			put("performer", []any{object{"reference": "Practitioner/x", "display": "d"}}), put("device", object{"display": "d"}),
			put("encounter", object{"reference": "Encounter/e1"}), put("issued", "2026-03-02T09:00:00Z"), put("meta", object{"versionId": "1", "source": "urn:s"})),
		object{"resourceType": "Encounter", "id": "e1", "status": "finished", "class": object{"code": "AMB"}, "subject": object{"reference": "Patient/p1"}},
		object{"resourceType": "Procedure", "id": "r1", "status": "completed", "code": object{"text": "t"}, "subject": object{"reference": "Patient/p1"}, "performedDateTime": "2025-01-01", "note": note},
		object{"resourceType": "Basic", "id": "b1", "code": object{"text": "t"}},
	)
	entries := b["entry"].([]any)
	b["entry"] = entries[1:] // the patient of good is there again, with all that names them
	for _, e := range b["entry"].([]any) {
		resource := e.(object)["resource"].(object)
		e.(object)["fullUrl"] = fmt.Sprintf("https://record.example/fhir/%s/%s", resource["resourceType"], resource["id"])
	}
	return b
}

// Source: every string of an input may name a patient; of none may anything be
// told but to the caller.
func TestNoStringOfTheInputIsTold(t *testing.T) {
	h := guarded(t)
	client := h.dial()
	token := "Bearer " + authtest.New(issuerName).Sign(t)
	ctx := metadata.AppendToOutgoingContext(context.Background(), "authorization", token)
	answered := map[bool]int{}
	send := func(body string) {
		w := h.do(request(body, "Authorization", token))
		answered[w.Code == http.StatusOK]++
		_, err := client.AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(body)})
		if (err == nil) != (w.Code == http.StatusOK) {
			t.Errorf("REST says %d, gRPC %v: %.300s", w.Code, err, body)
		}
		if err != nil && strings.Contains(status.Convert(err).Message(), canary) {
			// Clients log the message of a status, and proxies too.
			t.Errorf("the message of the status tells of the input: %v", err)
		}
	}
	for _, body := range canaries(collection(t, full())) {
		send(body)
	}
	if answered[true] < 100 || answered[false] < 100 {
		t.Errorf("%d inputs assessed and %d refused, want many of both", answered[true], answered[false])
	}
	h.pipeline().Now = func() time.Time { panic(fmt.Errorf("of %s", canary)) }
	send(text(t, good()))
	h.quiet()
}

// The typed door has another way in.
func TestNoFieldOfAMessageIsTold(t *testing.T) {
	h := start(t)
	client := h.dial()
	input := full()
	entries := input["entry"].([]any)
	input["entry"] = entries[:len(entries)-1] // without the resource that is not read, which cannot be said in a message
	sent := 0
	for _, body := range canaries(text(t, input)) {
		resource, err := fhirjson.Decode([]byte(body), fhir.DefaultLimits)
		if err != nil {
			continue // nor can this
		}
		written, err := fhirproto.Append(nil, resource.(*fhir.Bundle))
		if err != nil {
			continue
		}
		bundle := new(bcrpb.Bundle)
		if err := proto.Unmarshal(written, bundle); err != nil {
			t.Fatal(err)
		}
		sent++
		for _, r := range []*evenreachv1.AssessRequest{{Bundle: bundle}, {Bundle: bundle, AsOf: canary, Protocol: canary}} {
			if _, err := client.Assess(context.Background(), r); err != nil && strings.Contains(status.Convert(err).Message(), canary) {
				t.Errorf("the message of the status tells of the input: %v", err)
			}
		}
	}
	if sent < 100 {
		t.Errorf("%d messages sent, want more", sent)
	}
	h.quiet()
}

// quiet checks that nothing of the input was told.
func (h *harness) quiet() {
	h.t.Helper()
	for name, told := range map[string]string{"log": h.log.String(), "metrics": h.scrape(), "spans": h.traces.String()} {
		if i := strings.Index(strings.ToLower(told), canary); i >= 0 {
			h.t.Errorf("the %s tells of the input: ...%s", name, told[max(0, i-300):min(len(told), i+100)])
		}
		if told == "" {
			h.t.Errorf("the %s is empty", name)
		}
	}
}
