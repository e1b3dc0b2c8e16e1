package service

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// message is a message that provides what good sends.
func fhirMessage(id, envelope string, changes ...change) object {
	b := good()
	header := object{"resourceType": "MessageHeader", "id": id, "eventCoding": object{"system": "http://terminology.hl7.org/CodeSystem/message-events", "code": "observation-provide"}, "source": object{"endpoint": "https://engine.example/out"}}
	b["type"], b["identifier"] = "message", object{"system": "urn:engine", "value": envelope}
	b["entry"] = append([]any{object{"fullUrl": "urn:uuid:4f1f4f0a-9f3f-4f43-8d2c-5b8f2c9d7a10", "resource": made(header, changes)}}, b["entry"].([]any)...)
	return b
}

const processMessage = "/fhir/$process-message"

func TestProcessMessage(t *testing.T) {
	h := start(t)
	want := conclusion(t, h.do(request(text(t, good()))).Body.Bytes())
	first := h.send("POST", processMessage, text(t, fhirMessage("m1", "e1")))
	if first.Code != 200 {
		t.Fatalf("status %d: %.600s", first.Code, first.Body)
	}
	var answer struct {
		Type  string
		Entry []struct {
			FullURL  string
			Resource struct {
				ResourceType, ID string
				EventCoding      struct{ Code string }
				Response         struct{ Identifier, Code string }
				Destination      []struct{ Endpoint string }
				Focus            []struct{ Reference string }
			}
		}
	}
	if err := json.Unmarshal(first.Body.Bytes(), &answer); err != nil {
		t.Fatal(err)
	}
	header := answer.Entry[0].Resource
	if answer.Type != "message" || header.ResourceType != "MessageHeader" || header.Response.Identifier != "m1" || header.Response.Code != "ok" ||
		header.EventCoding.Code != "observation-provide" || header.Destination[0].Endpoint != "https://engine.example/out" || len(header.Focus) != 2 {
		t.Errorf("the answer begins with %+v", header)
	}
	if got := conclusion(t, first.Body.Bytes()); got != want {
		t.Errorf("the message is %q, the Bundle %q", got, want)
	}
	if _, err := fhirjson.Decode(first.Body.Bytes(), fhir.DefaultLimits); err != nil {
		t.Errorf("the answer is no FHIR: %v", err)
	}

	// Source: FHIR R4, Messaging, reliable messaging: the same message gives the same answer, another one in the same
	// envelope is an error, and the same one in another envelope may be processed again.
	if again := h.send("POST", processMessage, text(t, fhirMessage("m1", "e1"))); !bytes.Equal(again.Body.Bytes(), first.Body.Bytes()) {
		t.Error("the same message has another answer")
	}
	if w := h.send("POST", processMessage, text(t, fhirMessage("m2", "e1"))); w.Code != 422 || outcomeOf(t, w.Body.Bytes())[0].kind() != "duplicate" {
		t.Errorf("another message in the same envelope: status %d", w.Code)
	}
	if w := h.send("POST", processMessage, text(t, fhirMessage("m1", "e2"))); w.Code != 200 {
		t.Errorf("the same message in another envelope: status %d", w.Code)
	}
}

// A message may ask for the operation by its parameters.
func TestMessageWithParameters(t *testing.T) {
	h := start(t)
	b := fhirMessage("m1", "e1", put("eventCoding", nil), put("eventUri", "https://evenreach.example/fhir/OperationDefinition/assess-shoulder"))
	header := b["entry"].([]any)[0]
	delete(header.(object)["resource"].(object), "eventCoding")
	with := func(more ...object) object {
		b["entry"] = []any{header, object{"resource": parameters(append(more, object{"name": "bundle", "resource": good()})...)}}
		return b
	}
	if w := h.send("POST", processMessage, text(t, with(parameter("involvedSide", "valueCode", "left")))); w.Code != 200 || !strings.Contains(w.Body.String(), `"eventUri"`) {
		t.Errorf("status %d: %.600s", w.Code, w.Body)
	}
	w := h.send("POST", processMessage, text(t, with(parameter("involvedSide", "valueCode", "middle"))))
	if got := outcomeOf(t, w.Body.Bytes())[0].Expression; w.Code != 400 || len(got) != 1 || got[0] != "Bundle.entry[1].resource.parameter[0].value" {
		t.Errorf("status %d, place %v", w.Code, got)
	}
	b["entry"] = []any{header}
	if w := h.send("POST", processMessage, text(t, b)); w.Code != 400 {
		t.Errorf("without Parameters: status %d", w.Code)
	}
}

func TestMessagesRefused(t *testing.T) {
	h := start(t)
	noID, noEnvelope, answered := fhirMessage("", "e"), fhirMessage("m", ""), fhirMessage("m", "e", put("response", object{"identifier": "x", "code": "ok"}))
	delete(noID["entry"].([]any)[0].(object)["resource"].(object), "id")
	delete(noEnvelope, "identifier")
	for name, c := range map[string]struct {
		body   string
		status int
	}{
		"no JSON":                {"{", 400},
		"a name twice":           {`{"a":1,"a":2}`, 400},
		"no object":              {"[]", 400},
		"no message":             {text(t, good()), 400},
		"no entries":             {`{"resourceType":"Bundle","type":"message"}`, 400},
		"another first entry":    {strings.Replace(text(t, fhirMessage("m", "e")), "MessageHeader", "Patient", 1), 400},
		"without an id":          {text(t, noID), 400},
		"without an envelope":    {text(t, noEnvelope), 400},
		"an answer to a message": {text(t, answered), 400},
		"another event":          {strings.Replace(text(t, fhirMessage("m", "e")), "observation-provide", "admin-notify", 1), 400},
		"nothing to assess":      {strings.ReplaceAll(text(t, fhirMessage("m", "e")), "isometric-external-rotation-strength", "x"), 422},
	} {
		w := h.send("POST", processMessage, c.body)
		if w.Code != c.status {
			t.Errorf("%s: status %d, want %d: %.300s", name, w.Code, c.status, w.Body)
		}
		outcomeOf(t, w.Body.Bytes())
	}
	// No address that a request names is contacted.
	if w := h.send("POST", processMessage+"?async=true&response-url=http://192.0.2.1/", text(t, fhirMessage("m", "e"))); w.Code != 400 {
		t.Errorf("an answer to another address: status %d", w.Code)
	}
	if w := h.send("GET", processMessage, ""); w.Code != 405 {
		t.Errorf("GET: status %d", w.Code)
	}
}

// Source: FHIR R4, operation validate: 200 whether or not the resource is valid.
func TestValidate(t *testing.T) {
	h := start(t)
	for name, c := range map[string]struct {
		body   string
		status int
		kinds  string // among the issues
	}{
		"good":                   {text(t, good()), 200, "not-measured"},
		"as a parameter":         {text(t, parameters(object{"name": "resource", "resource": good()})), 200, "not-measured"},
		"an unknown element":     {text(t, good(strength("o9", right, 1, put("x", "y")))), 200, "unknown-element"},
		"several patients":       {text(t, good(patient("p2"), strength("o9", right, 1, put("subject", object{"reference": "Patient/p2"})))), 200, "several-patients"},
		"nothing to assess":      {`{"resourceType":"Bundle","type":"collection"}`, 200, "nothing-to-assess"},
		"no JSON":                {"{", 400, "syntax"},
		"another resource":       {text(t, patient("p1")), 400, "bad-parameter"},
		"a profile":              {text(t, parameters(object{"name": "resource", "resource": good()}, parameter("profile", "valueUri", "urn:x"))), 400, "bad-parameter"},
		"another parameter":      {text(t, parameters(object{"name": "bundle", "resource": good()})), 400, "bad-parameter"},
		"a name twice":           {`{"resourceType":"Bundle","resourceType":"Bundle"}`, 400, "duplicate-name"},
		"a Bundle without entry": {`{"resourceType":"Bundle"}`, 200, "required-missing"},
	} {
		w := h.send("POST", "/fhir/Bundle/$validate", c.body)
		found := false
		for _, i := range outcomeOf(t, w.Body.Bytes()) {
			found = found || i.kind() == c.kinds
		}
		if w.Code != c.status || !found {
			t.Errorf("%s: status %d, want %d with %s: %.600s", name, w.Code, c.status, c.kinds, w.Body)
		}
	}
}

// What is wrong with this service says nothing about a Bundle.
func TestFaultsOfOursAreNotAboutTheInput(t *testing.T) {
	for kind, at := range edge {
		if at.http >= 500 && isAboutTheInput(kind) {
			t.Errorf("%v is said of the input", kind)
		}
	}
}

func TestBatch(t *testing.T) {
	h := start(t)
	entry := func(method, url string, resource object) object {
		e := object{"request": object{"method": method, "url": url}}
		if resource != nil {
			e["resource"] = resource
		}
		return e
	}
	send := func(entries ...any) (int, []struct {
		Resource json.RawMessage
		Response struct {
			Status  string
			Outcome json.RawMessage
		}
	}) {
		w := h.send("POST", "/fhir", text(t, object{"resourceType": "Bundle", "type": "batch", "entry": entries}))
		var b struct {
			Type  string
			Entry []struct {
				Resource json.RawMessage
				Response struct {
					Status  string
					Outcome json.RawMessage
				}
			}
		}
		if err := json.Unmarshal(w.Body.Bytes(), &b); err != nil || w.Code == 200 && b.Type != "batch-response" {
			t.Fatalf("status %d: %v: %.300s", w.Code, err, w.Body)
		}
		return w.Code, b.Entry
	}
	want := conclusion(t, h.do(request(text(t, good()))).Body.Bytes())
	code, answers := send(
		entry("POST", "$assess-shoulder", good()), entry("POST", "$assess-shoulder?output=collection", good()), entry("POST", "/Bundle/$validate", good()), entry("GET", "CodeSystem/shoulder", nil),
		entry("GET", "CodeSystem/nothing", nil), entry("POST", "$assess-shoulder", patient("p1")), entry("GET", "$assess-shoulder", nil), entry("DELETE", "Patient/1", nil),
		entry("POST", "", object{"resourceType": "Bundle", "type": "batch"}), entry("POST", "http://192.0.2.1/fhir/$assess-shoulder", good()), entry("POST", "$assess-shoulder?x=1", good()), object{},
		entry("POST", "mailto:nobody", good()), entry("POST", "%zz", good()), entry("POST", "//192.0.2.1/fhir/$assess-shoulder", good()),
	)
	if code != 200 || len(answers) != 15 {
		t.Fatalf("status %d, %d answers", code, len(answers))
	}
	for i, status := range []int{200, 200, 200, 200, 404, 400, 405, 404, 404, 400, 400, 400, 400, 400, 400} {
		if got := answers[i].Response.Status; got != fmt.Sprintf("%d %s", status, http.StatusText(status)) {
			t.Errorf("entry %d: %s, want %d: %.300s", i, got, status, answers[i].Response.Outcome)
		}
		if (status == 200) != (len(answers[i].Resource) > 0) || (status != 200) != (len(answers[i].Response.Outcome) > 0) {
			t.Errorf("entry %d has %d bytes of a resource and %d of an outcome", i, len(answers[i].Resource), len(answers[i].Response.Outcome))
		}
	}
	for i := range 2 {
		if got := conclusion(t, answers[i].Resource); got != want {
			t.Errorf("in a batch it is %q, alone %q", got, want)
		}
	}
	if n := strings.Count(h.log.String(), `"door":"batch"`); n != 15 {
		t.Errorf("%d lines of log, want one a request", n)
	}
	for name, body := range map[string]string{
		"a transaction": `{"resourceType":"Bundle","type":"transaction","entry":[{"request":{"method":"POST","url":"Patient"}}]}`,
		"nothing":       `{"resourceType":"Bundle","type":"batch"}`, "no JSON": "{", "no Bundle": `{"resourceType":"Patient"}`, "a list": "[]",
	} {
		w := h.send("POST", "/fhir", body)
		isText := slices.ContainsFunc(outcomeOf(t, w.Body.Bytes()), func(i issue) bool { return i.kind() == "syntax" })
		if w.Code != 400 || isText != (name == "no JSON") {
			t.Errorf("%s: status %d: %.300s", name, w.Code, w.Body)
		}
	}
	many := make([]any, maxBatch+1)
	for i := range many {
		many[i] = entry("GET", "CodeSystem/shoulder", nil)
	}
	if code, _ := send(many...); code != 413 {
		t.Errorf("too many: status %d", code)
	}
	if code, answers := send(many[1:]...); code != 200 || len(answers) != maxBatch {
		t.Errorf("just as many as may be: status %d, %d answers", code, len(answers))
	}
}

func TestOperationsCanBeTurnedOff(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 8, Operations: []string{}}, anyone)
	for _, path := range []string{processMessage, "/fhir/Bundle/$validate", "/fhir"} {
		if w := h.send("POST", path, text(t, good())); w.Code != 404 {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
}

// FuzzOperations looks for a panic, an answer that is no FHIR, and a defect.
func FuzzOperations(f *testing.F) {
	f.Add(processMessage, []byte(text(f, fhirMessage("m", "e"))))
	f.Add("/fhir/Bundle/$validate", []byte(text(f, good())))
	f.Add("/fhir", []byte(`{"resourceType":"Bundle","type":"batch","entry":[{"request":{"method":"POST","url":"$assess-shoulder"},"resource":{"resourceType":"Bundle","type":"collection"}}]}`))
	handler := fuzzed(f)
	f.Fuzz(func(t *testing.T, path string, body []byte) {
		status, answer := post(t, handler, path, body)
		if status != 200 && status/100 != 4 {
			t.Fatalf("status %d: %.400s", status, answer)
		}
		if _, err := fhirjson.Decode(answer, fhir.Limits{Bytes: 64 << 20}); err != nil {
			t.Fatalf("status %d and no FHIR: %v\n%.400s", status, err, answer)
		}
	})
}
