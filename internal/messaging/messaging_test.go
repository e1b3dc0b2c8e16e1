package messaging

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/lexical"
)

const (
	coded   = `"eventCoding":{"system":"http://terminology.hl7.org/CodeSystem/message-events","code":"observation-provide"}`
	source  = `"source":{"endpoint":"https://engine.example/out"}`
	aHeader = `{"resourceType":"MessageHeader","id":"m1",` + coded + `,` + source + `}`
	patient = `{"resourceType":"Patient","id":"p1"}`
)

// sent is a Bundle of the type message with these resources.
func sent(resources ...string) string {
	entries := make([]string, len(resources))
	for i, r := range resources {
		entries[i] = `{"resource":` + r + `}`
	}
	return `{"resourceType":"Bundle","type":"message","identifier":{"system":"urn:engine","value":"e1"},"timestamp":"2026-03-09T11:30:00Z","entry":[` + strings.Join(entries, ",") + `]}`
}

// Source: FHIR R4 4.0.1, Messaging and MessageHeader: event[x], and that an event may be the address of an operation.
func TestRead(t *testing.T) {
	operation := `"code":"` + OperationURL + `"`
	for _, c := range []struct {
		name, header string
		operation    bool
	}{
		{"a coded event", aHeader, false},
		{"a coding without a system", strings.Replace(aHeader, `"system":"http://terminology.hl7.org/CodeSystem/message-events",`, "", 1), false},
		{"the operation as a coding", strings.Replace(aHeader, coded, `"eventCoding":{"system":"urn:ietf:rfc:3986",`+operation+`}`, 1), true},
		{"the operation as an address", strings.Replace(aHeader, coded, `"eventUri":"`+OperationURL+`"`, 1), true},
	} {
		got, err := Read([]byte(sent(c.header, patient)))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got.ID != "m1" || got.Envelope != "urn:engine|e1" || got.Source != "https://engine.example/out" || got.Timestamp != "2026-03-09T11:30:00Z" || got.Operation != c.operation {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// Source: FHIR R4 4.0.1: bdl-12 (the first resource is the header), MessageHeader (source.endpoint and event[x] are
// required, one event), data types id and url; that id and identifier are needed is ours, to recognise a repetition.
func TestRefused(t *testing.T) {
	const first = "Bundle.entry[0].resource"
	change := func(from, to string) string { return sent(strings.Replace(aHeader, from, to, 1), patient) }
	for _, c := range []struct {
		name, body string
		kind       fault.Kind
		place      string
	}{
		{"no JSON", `{`, fault.Syntax, ""},
		{"a name twice", `{"type":"message","type":"message"}`, fault.DuplicateName, ""},
		{"a list", `[]`, fault.Structure, ""},
		{"another resource", aHeader, fault.WrongResource, "Bundle"},
		{"another type of Bundle", strings.Replace(sent(aHeader), `"message"`, `"collection"`, 1), fault.WrongResource, "Bundle"},
		{"no type", strings.Replace(sent(aHeader), `"type":"message",`, "", 1), fault.WrongResource, "Bundle"},
		{"no entries", sent(), fault.RequiredMissing, "Bundle.entry"},
		{"no header", sent(patient), fault.WrongResource, first},
		{"an entry without a resource", `{"resourceType":"Bundle","type":"message","entry":[{}]}`, fault.WrongResource, first},
		{"a header that is not the first", sent(patient, aHeader), fault.WrongResource, first},
		{"two headers", sent(aHeader, patient, aHeader), fault.WrongResource, "Bundle.entry[2].resource"},
		{"no id", change(`"id":"m1",`, ""), fault.RequiredMissing, first + ".id"},
		{"an id with a space", change(`"m1"`, `"m 1"`), fault.BadValue, first + ".id"},
		{"an id of 65 letters", change(`"m1"`, `"`+strings.Repeat("m", 65)+`"`), fault.BadValue, first + ".id"},
		{"an id that is a number", change(`"m1"`, "1"), fault.Structure, first},
		{"no identifier of the envelope", strings.Replace(sent(aHeader), `"e1"`, `""`, 1), fault.RequiredMissing, "Bundle.identifier"},
		{"no sender", change(`,`+source, ""), fault.RequiredMissing, first + ".source.endpoint"},
		{"a sender without an address", change(`"endpoint"`, `"name"`), fault.RequiredMissing, first + ".source.endpoint"},
		{"a sender's address with a space", change("engine.example/out", "engine example"), fault.BadValue, first + ".source.endpoint"},
		{"an answer", change(coded, coded+`,"response":{"identifier":"m0","code":"ok"}`), fault.WrongResource, first + ".response"},
		{"no event", change(coded+",", ""), fault.BadParameter, first + ".event"},
		{"another code", change("observation-provide", "admin-notify"), fault.BadParameter, first + ".event"},
		{"another operation", change(coded, `"eventUri":"`+OperationURL+`-2"`), fault.BadParameter, first + ".event"},
		{"two events", change(coded, coded+`,"eventUri":"`+OperationURL+`"`), fault.BadParameter, first + ".event"},
		{"an event that is a text", change(coded, `"eventCoding":"observation-provide"`), fault.Structure, first},
		{"an event without a code", change(`"code":"observation-provide"`, `"display":"x"`), fault.BadParameter, first + ".event"},
	} {
		_, err := Read([]byte(c.body))
		refused, ok := errors.AsType[*fault.Errors](err)
		if !ok || len(refused.Issues) != 1 || refused.Issues[0].Kind != c.kind || refused.Issues[0].Path != c.place {
			t.Errorf("%s: %v, want %v at %q", c.name, err, c.kind, c.place)
		}
	}
}

// Every problem of a header is said at once.
func TestAllProblemsAreSaid(t *testing.T) {
	_, err := Read([]byte(`{"resourceType":"Bundle","type":"message","entry":[{"resource":{"resourceType":"MessageHeader","response":{}}}]}`))
	refused, ok := errors.AsType[*fault.Errors](err)
	if !ok || len(refused.Issues) != 5 {
		t.Errorf("found %v, want id, identifier, sender, response and event", err)
	}
}

// results are an answer with a report and a plan.
func results() *fhir.Bundle {
	code := fhir.CodeableConcept{Text: "x"}
	return &fhir.Bundle{BundleType: "collection", Entry: []fhir.Entry{
		{FullURL: "urn:uuid:1", Resource: &fhir.Observation{Status: "preliminary", Code: code}},
		{FullURL: "urn:uuid:2", Resource: &fhir.DiagnosticReport{Status: "preliminary", Code: code}},
		{FullURL: "urn:uuid:3", Resource: &fhir.CarePlan{Status: "draft", Intent: "proposal", Subject: &fhir.Reference{Reference: "Patient/p1"}}},
		{Resource: &fhir.Patient{}},
	}}
}

// answered is what is read of an answer.
type answered struct {
	ResourceType, Type, Timestamp string
	Identifier                    struct{ System, Value string }
	Entry                         []struct {
		FullURL  string
		Resource struct {
			ResourceType, ID, EventURI string
			EventCoding                *struct{ System, Code, Display string }
			Source                     struct{ Name, Software, Version, Endpoint string }
			Destination                []struct{ Endpoint string }
			Response                   struct{ Identifier, Code string }
			Focus                      []struct{ Reference string }
		}
	}
}

func respond(t testing.TB, to, digest string, from Sender) (raw []byte, read answered) {
	t.Helper()
	h, err := Read([]byte(to))
	if err != nil {
		t.Fatal(err)
	}
	if raw, err = Respond(h, []byte(digest), results(), from); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &read); err != nil {
		t.Fatal(err)
	}
	return raw, read
}

// Source: FHIR R4 4.0.1, MessageHeader.response: the id of the message that is answered, and ok, transient-error or
// fatal-error. What fails is answered by HTTP and an OperationOutcome, as the operation process-message allows, so that
// the only code here is ok.
func TestRespond(t *testing.T) {
	_, got := respond(t, sent(strings.Replace(aHeader, `"code"`, `"display":"Provide","code"`, 1), patient), "digest", Sender{Base: "https://evenreach.example/fhir", Version: "1.2.3"})
	if got.ResourceType != "Bundle" || got.Type != "message" || got.Timestamp != "2026-03-09T11:30:00Z" || got.Identifier.System != "urn:ietf:rfc:3986" || !strings.HasPrefix(got.Identifier.Value, "urn:uuid:") {
		t.Errorf("the envelope is %+v", got)
	}
	if len(got.Entry) != 5 || got.Entry[0].FullURL != "urn:uuid:"+got.Entry[0].Resource.ID || got.Entry[4].FullURL != "" {
		t.Fatalf("the entries are %+v", got.Entry)
	}
	h := got.Entry[0].Resource
	if h.ResourceType != "MessageHeader" || !lexical.IsID(h.ID) || h.Response.Identifier != "m1" || h.Response.Code != "ok" {
		t.Errorf("the header is %+v", h)
	}
	if want := (struct{ Name, Software, Version, Endpoint string }{"Evenreach", "Evenreach", "1.2.3", "https://evenreach.example/fhir"}); h.Source != want {
		t.Errorf("the sender is %+v", h.Source)
	}
	if len(h.Destination) != 1 || h.Destination[0].Endpoint != "https://engine.example/out" {
		t.Errorf("the receiver is %+v", h.Destination)
	}
	if e := h.EventCoding; e == nil || e.Code != "observation-provide" || e.Display != "Provide" || e.System != "http://terminology.hl7.org/CodeSystem/message-events" || h.EventURI != "" {
		t.Errorf("the event is %+v, %q", e, h.EventURI)
	}
	if want := "[{urn:uuid:2} {urn:uuid:3}]"; fmt.Sprint(h.Focus) != want {
		t.Errorf("the focus is %v, want the report and the plan: %s", h.Focus, want)
	}
}

func TestRespondToAnAddress(t *testing.T) {
	to := strings.Replace(strings.Replace(sent(strings.Replace(aHeader, coded, `"eventUri":"`+OperationURL+`"`, 1)), "2026-03-09T11:30:00Z", "yesterday", 1), "urn:engine", "", 1)
	_, got := respond(t, to, "digest", Sender{Base: "urn:evenreach"})
	if h := got.Entry[0].Resource; h.EventURI != OperationURL || h.EventCoding != nil || h.Source.Version != "" {
		t.Errorf("the header is %+v", h)
	}
	if got.Timestamp != "" {
		t.Errorf("the timestamp is %q, which is none", got.Timestamp)
	}
}

// Source: FHIR R4 4.0.1, Messaging, reliable messaging: the same message has the same answer; the answer to another
// message, or to the same one in another envelope, can be told from it.
func TestIdentity(t *testing.T) {
	first, same := sent(aHeader, patient), Sender{Base: "urn:evenreach"}
	raw, of := respond(t, first, "digest", same)
	again, _ := respond(t, first, "digest", same)
	if !bytes.Equal(raw, again) {
		t.Error("the same message has another answer")
	}
	for _, c := range []struct {
		name, to, digest string
		header, envelope bool // which of the two stays the same
	}{
		{"another envelope", strings.Replace(first, `"e1"`, `"e2"`, 1), "digest", true, false},
		{"another message", strings.Replace(first, `"m1"`, `"m2"`, 1), "digest", false, false},
		{"another content", first, "other", false, false},
	} {
		_, got := respond(t, c.to, c.digest, same)
		if is := got.Entry[0].Resource.ID == of.Entry[0].Resource.ID; is != c.header {
			t.Errorf("%s: the id of the header is the same: %v", c.name, is)
		}
		if is := reflect.DeepEqual(got.Identifier, of.Identifier); is != c.envelope {
			t.Errorf("%s: the identifier of the envelope is the same: %v", c.name, is)
		}
	}
}

func TestParameters(t *testing.T) {
	p := &fhir.Parameters{}
	for _, c := range []struct {
		name    string
		entries []fhir.Resource
		place   int
		found   bool
	}{
		{"none", []fhir.Resource{&fhir.Patient{}}, 0, false},
		{"the second", []fhir.Resource{nil, p, &fhir.Patient{}}, 1, true},
		{"the first of two", []fhir.Resource{&fhir.Patient{}, nil, p, &fhir.Parameters{}}, 2, true},
	} {
		b := &fhir.Bundle{}
		for _, r := range c.entries {
			b.Entry = append(b.Entry, fhir.Entry{Resource: r})
		}
		if got, at := Parameters(b); (got == p) != c.found || at != c.place {
			t.Errorf("%s: found %v at %d", c.name, got, at)
		}
	}
}

func TestUnder(t *testing.T) {
	for path, want := range map[string]string{
		"Parameters":                    "Bundle.entry[1].resource",
		"Parameters.parameter[0].value": "Bundle.entry[1].resource.parameter[0].value",
		"Bundle.entry[2]":               "Bundle.entry[2]",
		"":                              "",
	} {
		if got := Under("Bundle.entry[1].resource", path); got != want {
			t.Errorf("%q is %q, want %q", path, got, want)
		}
	}
}

// FuzzRead looks for a panic, an error without issues, and an answer that is no FHIR or names another message.
func FuzzRead(f *testing.F) {
	f.Add([]byte(sent(aHeader, patient)))
	f.Add([]byte(sent(strings.Replace(aHeader, coded, `"eventUri":"`+OperationURL+`"`, 1), `{"resourceType":"Parameters"}`)))
	f.Add([]byte(sent(aHeader, aHeader)))
	f.Add([]byte(`{"resourceType":"Bundle","type":"message","entry":[{"resource":null}]}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		h, err := Read(body)
		if err != nil {
			if refused, ok := errors.AsType[*fault.Errors](err); !ok || len(refused.Issues) == 0 {
				t.Fatalf("the error is %T", err)
			}
			return
		}
		raw, err := Respond(h, body, results(), Sender{Base: "urn:evenreach"})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := fhirjson.Decode(raw, fhir.DefaultLimits); err != nil {
			t.Fatalf("the answer is no FHIR: %v\n%.600s", err, raw)
		}
		var got answered
		if err := json.Unmarshal(raw, &got); err != nil || got.Entry[0].Resource.Response.Identifier != h.ID {
			t.Fatalf("the answer is %+v (%v)", got.Entry[0], err)
		}
	})
}
