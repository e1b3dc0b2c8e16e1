package fhirapi

// capabilityStatement is a FHIR CapabilityStatement of a running service.
type capabilityStatement struct {
	about
	Kind           string         `json:"kind"`
	Software       software       `json:"software"`
	Implementation implementation `json:"implementation"`
	FHIRVersion    string         `json:"fhirVersion"`
	Format         []string       `json:"format"`
	REST           []rest         `json:"rest"`
}

type software struct {
	Name    string `json:"name"`
	Version string `json:"version,omitempty"`
}

type implementation struct {
	Description string `json:"description"`
	URL         string `json:"url,omitempty"`
}

type rest struct {
	Mode          string          `json:"mode"`
	Documentation string          `json:"documentation"`
	Security      *security       `json:"security,omitempty"`
	Interaction   []interaction   `json:"interaction,omitempty"`
	Resource      []restResource  `json:"resource"`
	Operation     []restOperation `json:"operation"`
}

type security struct {
	Service     []*codeableConcept `json:"service,omitempty"`
	Description string             `json:"description"`
}

type restResource struct {
	Type          string            `json:"type"`
	Documentation string            `json:"documentation,omitempty"`
	Interaction   []interaction     `json:"interaction,omitempty"`
	SearchParam   []SearchParameter `json:"searchParam,omitempty"`
	Operation     []restOperation   `json:"operation,omitempty"`
}

type interaction struct {
	Code string `json:"code"`
}

type restOperation struct {
	Name       string `json:"name"`
	Definition string `json:"definition"`
}

// A Server is what a running service says of itself.
type Server struct {
	Version string // of the software; empty for a development build
	// Base is the address that clients call, such as
	// https://evenreach.hospital.example/fhir; empty if it is not known.
	Base string
	// Security are the ways in which callers prove who they are, as codes such
	// as SMART-on-FHIR, OAuth and Certificates; none if everybody is let in.
	//
	// Source: FHIR R4 4.0.1, CodeSystem restful-security-service.
	Security []string
	// Record says that a record is configured, about whose patients can be asked.
	Record bool
	// Offers reports whether an operation is offered: process-message, apply, extract, validate or batch.
	Offers func(name string) bool
}

// CapabilityStatement says what a running service can do: its operations, and reading and searching what it
// publishes.
func (l *Library) CapabilityStatement(s Server) Resource {
	const id = "evenreach"
	about := describe("CapabilityStatement", id, "Evenreach", "What this service can do.")
	about.URL = ""
	return resource("CapabilityStatement", id, capabilityStatement{
		about:          about,
		Kind:           "instance",
		Software:       software{"Evenreach", s.Version},
		Implementation: implementation{"Assessment of shoulder rotation strength", s.Base},
		FHIRVersion:    "4.0.1",
		Format:         []string{"json", "application/fhir+json"},
		REST: []rest{{
			Mode:          "server",
			Documentation: "Assesses what it is sent and stores nothing. What can be read and searched is what the service publishes about itself, never data of a patient.",
			Security:      securityOf(s.Security),
			Interaction:   systemInteractions(s),
			Resource:      l.resourcesOf(s),
			Operation:     systemOperations(s),
		}},
	})
}

func securityOf(codes []string) *security {
	if len(codes) == 0 {
		return &security{Description: "Everybody who can reach the service is let in."}
	}
	all := &security{Description: "The operation needs credentials."}
	for _, c := range codes {
		all.Service = append(all.Service, conceptOf(coding{System: "http://terminology.hl7.org/CodeSystem/restful-security-service", Code: c}))
	}
	return all
}

// core is the canonical URL of an operation of FHIR itself.
func core(id string) string { return "http://hl7.org/fhir/OperationDefinition/" + id }

// systemInteractions are those at the base.
func systemInteractions(s Server) []interaction {
	if !s.offers("batch") {
		return nil
	}
	return []interaction{{"batch"}}
}

func (s Server) offers(name string) bool { return s.Offers != nil && s.Offers(name) }

// systemOperations are the operations at the base.
func systemOperations(s Server) []restOperation {
	all := []restOperation{{operationCode, canonical("OperationDefinition", operationCode)}}
	if s.offers("process-message") {
		all = append(all, restOperation{"process-message", core("MessageHeader-process-message")})
	}
	return all
}

// resourcesOf are the types with what can be done with them.
func (l *Library) resourcesOf(s Server) []restResource {
	all := l.readable()
	for i := range all {
		switch {
		case all[i].Type == "Bundle" && s.offers("validate"):
			all[i].Operation = []restOperation{{"validate", core("Resource-validate")}}
		case all[i].Type == "PlanDefinition" && s.offers("apply"):
			all[i].Operation = []restOperation{{"apply", core("PlanDefinition-apply")}}
		}
	}
	if s.offers("extract") {
		all = append(all, restResource{
			Type: "QuestionnaireResponse", Documentation: "Responses to the published Questionnaire are also taken by assess-shoulder, alone or in its Bundle.",
			Operation: []restOperation{{"extract", "http://hl7.org/fhir/uv/sdc/OperationDefinition/QuestionnaireResponse-extract"}},
		})
	}
	if s.Record {
		all = append(all, restResource{
			Type: "Patient", Documentation: "Patients of the configured record. They cannot be read here.",
			Operation: []restOperation{{operationCode, canonical("OperationDefinition", patientOperationID)}, {storeCode, canonical("OperationDefinition", storeOperationID)}},
		})
	}
	return all
}

// readable are the types that can be read by id and searched.
func (l *Library) readable() (all []restResource) {
	for _, t := range l.types() {
		r := restResource{Type: t, Interaction: []interaction{{"read"}, {"search-type"}}, SearchParam: SearchParameters(t)}
		if t == "Bundle" {
			r.Documentation = "Examples, invented: a request and its answer."
		}
		all = append(all, r)
	}
	return all
}
