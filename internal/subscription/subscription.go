// Package subscription reads the notifications by which a record says that something changed: those of a FHIR R4
// Subscription by rest-hook, and those by topic, as R5 has them and the backport guide for R4 and R4B.
//
// Source: FHIR R4 4.0.1, Subscription; HL7 Subscriptions R5 Backport 1.1; FHIR R5, Subscriptions.
package subscription

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhirclient"
)

// A Notification is what a record says.
type Notification struct {
	// Patients are the logical ids of those about whom something changed, each once.
	Patients []string
	// Resources are the addresses below the base of what changed without saying of whom, such as Observation/1, each once.
	Resources []string
	// Unnamed says that something changed and neither what nor of whom.
	Unnamed bool
}

// maxNamed bounds how many resources without a patient one notification may have: each costs a question to the record.
//
// Source: ours; a record sends one resource at a time, or a few.
const maxNamed = 200

// resource is what is read of any resource. It may be of R4, R4B or R5.
type resource struct {
	Type      string       `json:"resourceType"`
	ID        string       `json:"id"`
	Subject   *reference   `json:"subject"`
	Patient   *reference   `json:"patient"`
	Names     []identifier `json:"identifier"`
	Bundle    string       `json:"type"`              // of a Bundle or a SubscriptionStatus
	Entry     []entry      `json:"entry"`             // of a Bundle
	Parameter []parameter  `json:"parameter"`         // of Parameters, the status by the guide for R4
	Events    []focusEvent `json:"notificationEvent"` // of a SubscriptionStatus
}

// UnmarshalJSONFrom implements json.UnmarshalerFrom: an element of another shape, such as the type of an Observation
// of R5, is passed over.
func (r *resource) UnmarshalJSONFrom(d *jsontext.Decoder) error {
	elements := map[string]jsontext.Value{}
	if err := json.UnmarshalDecode(d, &elements); err != nil {
		return err
	}
	for name, into := range map[string]any{
		"resourceType": &r.Type, "id": &r.ID, "subject": &r.Subject, "patient": &r.Patient, "identifier": &r.Names,
		"type": &r.Bundle, "entry": &r.Entry, "parameter": &r.Parameter, "notificationEvent": &r.Events,
	} {
		if text := elements[name]; len(text) > 0 {
			_ = json.Unmarshal(text, into) // left empty
		}
	}
	return nil
}

type reference struct {
	Reference string `json:"reference"`
}

type identifier struct {
	System string `json:"system"`
}

type entry struct {
	FullURL  string    `json:"fullUrl"`
	Resource *resource `json:"resource"`
	Request  *struct {
		URL string `json:"url"`
	} `json:"request"`
}

type focusEvent struct {
	Focus *reference `json:"focus"`
}

type parameter struct {
	Name      string      `json:"name"`
	Code      string      `json:"valueCode"`
	Reference *reference  `json:"valueReference"`
	Part      []parameter `json:"part"`
}

// Read reads the body of a notification from a record with this base address; empty if there was none. The error is
// always *fault.Errors.
func Read(body []byte, base string) (*Notification, error) {
	if len(body) == 0 {
		return &Notification{Unnamed: true}, nil
	}
	var r resource
	if err := json.Unmarshal(body, &r); err != nil {
		return nil, fhirjson.NotJSON(err, "resource")
	}
	n := &reader{base: strings.TrimSuffix(base, "/") + "/"}
	switch {
	case r.Type == "":
		return nil, fault.Refuse(fault.WrongResource, "", "found no resource; expected the resource that changed, or a Bundle of notifications")
	case r.Type != "Bundle":
		n.resource(&r, "")
	case !slices.Contains([]string{"history", "subscription-notification", "message", "collection"}, r.Bundle):
		return nil, fault.Refuse(fault.BadValue, "Bundle.type", "expected history or subscription-notification")
	default:
		n.bundle(&r)
	}
	if len(n.Resources) > maxNamed {
		return nil, fault.Refuse(fault.TooLong, "Bundle.entry", fmt.Sprintf("the notification names more resources without their patient than are read; expected at most %d", maxNamed))
	}
	return &n.Notification, nil
}

// reader gathers what a notification names.
type reader struct {
	Notification
	base string
}

// bundle reads a Bundle of notifications. One without events, a handshake or heartbeat, names nothing.
func (n *reader) bundle(b *resource) {
	events, named := isEvent(b), false
	if !events {
		return
	}
	for i := range b.Entry {
		e := &b.Entry[i]
		switch {
		case e.Resource != nil && (e.Resource.Type == "Parameters" || e.Resource.Type == "SubscriptionStatus" || e.Resource.Type == "MessageHeader"):
			named = n.status(e.Resource) || named
		case e.Resource != nil:
			n.resource(e.Resource, e.FullURL)
			named = true
		case e.Request != nil && n.name(e.Request.URL), n.name(e.FullURL):
			named = true
		}
	}
	n.Unnamed = !named
}

// isEvent reports whether something happened: a status says so, or there is none.
func isEvent(b *resource) bool {
	for i := range b.Entry {
		switch r := b.Entry[i].Resource; {
		case r == nil:
		case r.Type == "SubscriptionStatus":
			return r.Bundle == "event-notification" || r.Bundle == "query-event"
		case r.Type == "Parameters":
			return slices.ContainsFunc(r.Parameter, func(p parameter) bool {
				return p.Name == "type" && (p.Code == "event-notification" || p.Code == "query-event")
			})
		}
	}
	return true
}

// status reads what the events of a status are about.
func (n *reader) status(r *resource) (named bool) {
	for _, e := range r.Events {
		named = e.Focus != nil && n.name(e.Focus.Reference) || named
	}
	for _, p := range r.Parameter {
		for _, part := range p.Part {
			if p.Name == "notification-event" && part.Name == "focus" && part.Reference != nil {
				named = n.name(part.Reference.Reference) || named
			}
		}
	}
	return named
}

// resource reads of whom a resource is. Without a patient it is asked for. What an earlier answer stored is no news.
func (n *reader) resource(r *resource, fullURL string) {
	if slices.Contains(r.Names, identifier{fhir.SystemResult}) {
		return
	}
	for _, of := range []*reference{r.Patient, r.Subject} {
		if of != nil && n.patient(of.Reference) {
			return
		}
	}
	if fhirclient.IsID(r.ID) && isType(r.Type) && n.name(r.Type+"/"+r.ID) {
		return
	}
	n.name(fullURL)
}

// patient adds the patient whom a reference means, and reports whether it means one of this record.
func (n *reader) patient(reference string) bool {
	typeName, id := n.split(reference)
	if typeName != "Patient" {
		return false
	}
	n.Patients = add(n.Patients, id)
	return true
}

// name adds a resource by its address, and reports whether it is one of this record.
func (n *reader) name(address string) bool {
	typeName, id := n.split(address)
	switch typeName {
	case "":
		return false
	case "Patient":
		n.Patients = add(n.Patients, id)
	default:
		n.Resources = add(n.Resources, typeName+"/"+id)
	}
	return true
}

func add(all []string, one string) []string {
	if slices.Contains(all[max(0, len(all)-maxNamed):], one) {
		return all
	}
	return append(all, one)
}

// split is the type and the id in an address of this record, relative or absolute, of a version or not; empty for
// any other address.
func (n *reader) split(address string) (typeName, id string) {
	if u, err := url.Parse(address); err != nil || u.RawQuery != "" || u.Fragment != "" {
		return "", ""
	}
	below, absolute := strings.CutPrefix(address, n.base)
	if !absolute && strings.Contains(address, ":") {
		return "", ""
	}
	parts := strings.Split(below, "/")
	isVersion := len(parts) == 4 && parts[2] == "_history"
	if len(parts) != 2 && !isVersion || !isType(parts[0]) || !fhirclient.IsID(parts[1]) {
		return "", ""
	}
	return parts[0], parts[1]
}

// isType reports whether a text has the form of the name of a resource type.
func isType(text string) bool {
	if text == "" || text[0] < 'A' || text[0] > 'Z' || len(text) > 64 {
		return false
	}
	return !slices.ContainsFunc([]byte(text), func(c byte) bool { return (c|0x20) < 'a' || (c|0x20) > 'z' })
}
