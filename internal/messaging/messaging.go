// Package messaging reads messages of FHIR, and writes those that answer them.
//
// Source: FHIR R4 4.0.1, Messaging, MessageHeader, and the operation process-message.
package messaging

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/lexical"
)

// OperationURL is the event of a message that asks for the operation, whose parameters are then its focus.
const OperationURL = fhir.CanonicalBase + "/OperationDefinition/assess-shoulder"

// provided is the code of the event that says that Observations are there.
//
// Source: HL7 code system message-events, from memory.
const provided = "observation-provide"

// A Header is what is read of a message besides its resources.
type Header struct {
	// Envelope is Bundle.identifier, as system|value, which is another one each time that a message is sent.
	Envelope string
	// ID is MessageHeader.id, which stays the same.
	ID string
	// Operation says that the message asks for the operation by its parameters.
	Operation bool
	Timestamp string // of the Bundle
	Source    string // the address that sent it
	event     event
}

// event is what a message is about: a coding, or an address.
type event struct {
	coding *coding // nil for none
	uri    string
}

type coding struct {
	System  string `json:"system,omitempty"`
	Code    string `json:"code"`
	Display string `json:"display,omitempty"`
}

type message struct {
	Type       string `json:"resourceType"`
	Bundle     string `json:"type"`
	Timestamp  string `json:"timestamp"`
	Identifier struct {
		System string `json:"system"`
		Value  string `json:"value"`
	} `json:"identifier"`
	Entry []struct {
		Resource jsontext.Value `json:"resource"`
	} `json:"entry"`
}

type header struct {
	Type        string  `json:"resourceType"`
	ID          string  `json:"id"`
	EventCoding *coding `json:"eventCoding"`
	EventURI    string  `json:"eventUri"`
	Source      struct {
		Endpoint string `json:"endpoint"`
	} `json:"source"`
	Response jsontext.Value `json:"response"`
}

// Read reads what a message says of itself. The error is always *fault.Errors.
func Read(body []byte) (*Header, error) {
	var m message
	if err := json.Unmarshal(body, &m); err != nil {
		return nil, fhirjson.NotJSON(err, "Bundle")
	}
	if m.Type != "Bundle" || m.Bundle != "message" {
		return nil, fault.Refuse(fault.WrongResource, "Bundle", "expected a Bundle of the type message")
	}
	if len(m.Entry) == 0 {
		return nil, fault.Refuse(fault.RequiredMissing, "Bundle.entry", "expected a MessageHeader as the first entry")
	}
	if typeOf(m.Entry[0].Resource) != headerType {
		return nil, fault.Refuse(fault.WrongResource, "Bundle.entry[0].resource", "expected a MessageHeader as the first entry")
	}
	for i := range m.Entry[1:] {
		if typeOf(m.Entry[i+1].Resource) == headerType {
			return nil, fault.Refuse(fault.WrongResource, fmt.Sprintf("Bundle.entry[%d].resource", i+1), "found a second MessageHeader; expected one message in a Bundle")
		}
	}
	var h header
	if json.Unmarshal(m.Entry[0].Resource, &h) != nil {
		return nil, fault.Refuse(fault.Structure, "Bundle.entry[0].resource", "expected id, source and event of the types that a MessageHeader has")
	}
	return h.check(&m)
}

const headerType = "MessageHeader"

// typeOf is the type of a resource, empty if it states none.
func typeOf(resource jsontext.Value) string {
	var r struct {
		Type string `json:"resourceType"`
	}
	if json.Unmarshal(resource, &r) != nil {
		return ""
	}
	return r.Type
}

// check refuses a message that is not for this service, or cannot be recognised when it comes again.
func (h *header) check(m *message) (*Header, error) {
	const place = "Bundle.entry[0].resource"
	read := &Header{ID: h.ID, Envelope: m.Identifier.System + "|" + m.Identifier.Value, Timestamp: m.Timestamp, Source: h.Source.Endpoint}
	var issues []fault.Issue
	refuse := func(kind fault.Kind, path, detail string) {
		issues = append(issues, fault.Issue{Severity: fault.Error, Kind: kind, Path: path, Detail: detail})
	}
	switch {
	case h.ID == "":
		refuse(fault.RequiredMissing, place+".id", "expected the id of the message, by which it is recognised when it comes again")
	case !lexical.IsID(h.ID):
		refuse(fault.BadValue, place+".id", "expected up to 64 letters, digits, hyphens and dots, because the answer names the message by it")
	}
	if m.Identifier.Value == "" {
		refuse(fault.RequiredMissing, "Bundle.identifier", "expected the identifier of the envelope")
	}
	switch {
	case h.Source.Endpoint == "":
		refuse(fault.RequiredMissing, place+".source.endpoint", "expected the address of the sender")
	case !lexical.IsURIText(h.Source.Endpoint):
		refuse(fault.BadValue, place+".source.endpoint", "expected an address without spaces")
	}
	if len(h.Response) > 0 {
		refuse(fault.WrongResource, place+".response", "found the answer to a message; expected a message that asks")
	}
	if !h.readEvent(read) {
		refuse(fault.BadParameter, place+".event", "expected eventCoding "+provided+", or eventUri "+OperationURL+" with Parameters")
	}
	return read, fault.New(issues)
}

// readEvent reads what the message is about, and reports whether that is understood.
func (h *header) readEvent(read *Header) bool {
	read.event = event{h.EventCoding, h.EventURI}
	if h.EventCoding == nil {
		read.Operation = h.EventURI == OperationURL
		return read.Operation
	}
	read.Operation = h.EventCoding.Code == OperationURL
	return h.EventURI == "" && (read.Operation || h.EventCoding.Code == provided)
}

// A Sender says who answers.
type Sender struct {
	Base    string // the address of the service
	Version string // of the software
}

// Respond writes the message that answers another: its resources are those of an answer that is a collection. The same
// message has the same answer, to the byte.
func Respond(to *Header, digest []byte, results *fhir.Bundle, from Sender) ([]byte, error) {
	id := fhir.UUIDOf("message/", to.ID, "|", hex.EncodeToString(digest)).String()
	answered := map[string]any{
		"resourceType": "MessageHeader", "id": id, "source": sourceOf(from),
		"response": map[string]any{"identifier": to.ID, "code": "ok"},
	}
	if to.event.coding != nil {
		answered["eventCoding"] = to.event.coding
	} else {
		answered["eventUri"] = to.event.uri
	}
	answered["destination"] = []any{map[string]any{"endpoint": to.Source}}
	if focus := focusOf(results); len(focus) > 0 {
		answered["focus"] = focus
	}
	bundle := map[string]any{
		"resourceType": "Bundle", "type": "message", "identifier": map[string]any{"system": "urn:ietf:rfc:3986", "value": fhir.UUIDOf("envelope/", to.Envelope, "|", id).URN()},
		"entry": entriesOf(id, answered, results),
	}
	if lexical.IsInstant(to.Timestamp) {
		bundle["timestamp"] = to.Timestamp // not our clock: the answer to a repeated message is the same
	}
	return json.Marshal(bundle, json.Deterministic(true))
}

func sourceOf(from Sender) map[string]any {
	source := map[string]any{"name": "Evenreach", "software": "Evenreach", "endpoint": from.Base}
	if from.Version != "" {
		source["version"] = from.Version
	}
	return source
}

// focusOf are the report and the plan.
func focusOf(results *fhir.Bundle) (focus []any) {
	for i := range results.Entry {
		if e := &results.Entry[i]; slices.Contains([]string{"DiagnosticReport", "CarePlan"}, e.Resource.Type()) {
			focus = append(focus, map[string]any{"reference": e.FullURL})
		}
	}
	return focus
}

func entriesOf(id string, answered map[string]any, results *fhir.Bundle) []any {
	all := []any{map[string]any{"fullUrl": "urn:uuid:" + id, "resource": answered}}
	for i := range results.Entry {
		e := map[string]any{"resource": jsontext.Value(fhirjson.Encode(results.Entry[i].Resource))}
		if results.Entry[i].FullURL != "" {
			e["fullUrl"] = results.Entry[i].FullURL
		}
		all = append(all, e)
	}
	return all
}

// Parameters are those of a message that asks for the operation, and their place; nil if there are none.
func Parameters(b *fhir.Bundle) (*fhir.Parameters, int) {
	for i := range b.Entry {
		if p, ok := b.Entry[i].Resource.(*fhir.Parameters); ok {
			return p, i
		}
	}
	return nil, 0
}

// Under puts the places in Parameters under those of their entry in the message.
func Under(place, path string) string {
	if rest, ok := strings.CutPrefix(path, "Parameters"); ok {
		return place + rest
	}
	return path
}
