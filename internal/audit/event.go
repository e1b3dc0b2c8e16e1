// Package audit keeps a record of who asked for an assessment of whom: one FHIR R4
// AuditEvent a line. It is apart from the log, which names no patient.
package audit

import (
	"time"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/fhir"
)

// An Event is one assessment, made or not.
type Event struct {
	At        time.Time
	RequestID string
	Door      string
	Operation string
	Client    string // id of the client; empty if nobody is asked for a token
	Tenant    string // what the trail calls the tenant; empty where there are none
	Person    string // for whom the client asked, as the token says; empty if it names none
	Patient   Patient
	Protocol  string // "id|version"; empty if nothing was assessed
	Digest    string // of the protocol
	Outcome   Outcome
	Reason    string // the kind of a refusal; empty for none
}

// Patient is whom an assessment is about; empty if that was not understood.
type Patient struct {
	Identity  string // stable, with the server that it is of: for a pseudonym
	Reference fhir.Reference
}

// Outcome says how an event ended.
//
// Source: FHIR R4 4.0.1, value set audit-event-outcome.
type Outcome string

// The outcomes.
const (
	Success Outcome = "0"
	Minor   Outcome = "4" // for a reason of the caller's
	Serious Outcome = "8" // for a reason of the service's
)

// The codes of an AuditEvent.
//
// Source: FHIR R4 4.0.1, AuditEvent and its value sets; DICOM PS3.16, CID 402, for the roles of
// participants.
var (
	restful      = coding{"http://terminology.hl7.org/CodeSystem/audit-event-type", "rest"}
	anOperation  = coding{"http://hl7.org/fhir/restful-interaction", "operation"}
	application  = coding{"http://dicom.nema.org/resources/ontology/DCM", "110150"}
	server       = coding{"http://terminology.hl7.org/CodeSystem/security-source-type", "4"}
	aPerson      = coding{"http://terminology.hl7.org/CodeSystem/audit-entity-type", "1"}
	aSystem      = coding{"http://terminology.hl7.org/CodeSystem/audit-entity-type", "2"}
	asPatient    = coding{"http://terminology.hl7.org/CodeSystem/object-role", "1"}
	asJob        = coding{"http://terminology.hl7.org/CodeSystem/object-role", "20"}
	execute      = "E"
	pseudonymsOf = fhir.CanonicalBase + "/pseudonym"
)

type coding struct {
	System string `json:"system"`
	Code   string `json:"code"`
}

type concept struct {
	Coding []coding `json:"coding"`
}

type reference struct {
	Reference  string      `json:"reference,omitempty"`
	Identifier *identifier `json:"identifier,omitempty"`
	Display    string      `json:"display,omitempty"`
}

type identifier struct {
	System string `json:"system,omitempty"`
	Value  string `json:"value"`
}

type agent struct {
	Type      *concept  `json:"type,omitempty"`
	Who       reference `json:"who"`
	Requestor bool      `json:"requestor"`
}

type source struct {
	Site     string    `json:"site,omitempty"` // the tenant
	Observer reference `json:"observer"`
	Type     []coding  `json:"type"`
}

type entity struct {
	What   *reference `json:"what,omitempty"`
	Type   coding     `json:"type"`
	Role   coding     `json:"role"`
	Name   string     `json:"name,omitempty"`
	Detail []detail   `json:"detail,omitempty"`
}

type detail struct {
	Type  string `json:"type"`
	Value string `json:"valueString"`
}

// resource is an AuditEvent, as far as it is written here.
type resource struct {
	ResourceType string   `json:"resourceType"`
	Type         coding   `json:"type"`
	Subtype      []coding `json:"subtype"`
	Action       string   `json:"action"`
	Recorded     string   `json:"recorded"`
	Outcome      Outcome  `json:"outcome"`
	OutcomeDesc  string   `json:"outcomeDesc,omitempty"`
	Agent        []agent  `json:"agent"`
	Source       source   `json:"source"`
	Entity       []entity `json:"entity"`
}

// line writes an event as a line of JSON.
func (t *Trail) line(e Event) ([]byte, error) {
	r := resource{
		ResourceType: "AuditEvent",
		Type:         restful, Subtype: []coding{anOperation}, Action: execute,
		Recorded: e.At.UTC().Format("2006-01-02T15:04:05.000Z"),
		Outcome:  e.Outcome, OutcomeDesc: e.Reason,
		Agent:  agents(e),
		Source: source{Site: e.Tenant, Observer: reference{Display: "Evenreach " + t.version}, Type: []coding{server}},
		Entity: []entity{{Type: aSystem, Role: asJob, Name: e.Operation, Detail: details(e)}},
	}
	if who := t.patient(e.Tenant, e.Patient); who != nil {
		r.Entity = append(r.Entity, entity{What: who, Type: aPerson, Role: asPatient})
	}
	text, err := json.Marshal(r)
	return append(text, '\n'), err
}

// agents are the client and, if there is one, the person for whom it asks.
func agents(e Event) []agent {
	client := agent{Type: &concept{[]coding{application}}, Who: reference{Identifier: &identifier{Value: e.Client}}, Requestor: e.Person == ""}
	if e.Client == "" {
		client.Who = reference{Display: "not authenticated"}
	}
	if e.Person == "" {
		return []agent{client}
	}
	return []agent{{Who: reference{Identifier: &identifier{Value: e.Person}}, Requestor: true}, client}
}

// details are what tells a request from others. An empty one is left out.
func details(e Event) (all []detail) {
	for _, d := range []detail{{"request-id", e.RequestID}, {"door", e.Door}, {"protocol", e.Protocol}, {"protocol-digest", e.Digest}} {
		if d.Value != "" {
			all = append(all, d)
		}
	}
	return all
}
