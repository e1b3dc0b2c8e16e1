// Package cdshooks speaks CDS Hooks: what the service offers, what a client asks, and the cards that
// answer it. Who may ask, and how often, is decided elsewhere.
//
// Source: HL7 CDS Hooks 2.0 (STU 2, 2022), and what 3.0 adds without changing it.
package cdshooks

import (
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/wording"
)

// ServiceID is the id of the service. It answers several hooks, so that a later hook renews the
// advice of an earlier one.
const ServiceID = "shoulder-recheck"

// Hooks are the hooks of the service.
//
// Source: HL7 CDS Hooks Library: patient-view, encounter-discharge and order-sign.
var Hooks = []string{"patient-view", "encounter-discharge", "order-sign"}

// contexts are the fields that a hook's context must have.
var contexts = map[string][]string{
	"patient-view": {"userId", "patientId"}, "encounter-discharge": {"userId", "patientId", "encounterId"}, "order-sign": {"userId", "patientId", "draftOrders"},
}

// A Discovery is the answer to GET cds-services.
type Discovery struct {
	Services []Service `json:"services"`
}

// A Service is one service for one hook.
type Service struct {
	Hook              string            `json:"hook"`
	Title             string            `json:"title"`
	Description       string            `json:"description"`
	ID                string            `json:"id"`
	Prefetch          map[string]string `json:"prefetch"`
	UsageRequirements string            `json:"usageRequirements"`
}

// The keys of the prefetch.
const (
	keyPatient      = "patient"
	keyObservations = "observations"
	keyConditions   = "conditions"
	keyProcedures   = "procedures"
	keyPlans        = "plans"
)

// needed are the keys without which no card is safe: what is not sent may be a repair, or the other
// shoulder's disorder.
var needed = []string{keyObservations, keyConditions, keyProcedures}

// Templates ask for what is read and nothing else: Observations and Procedures with these codes.
func Templates(measurements, repairs []fhir.Coding) map[string]string {
	const of = "?patient={{context.patientId}}"
	return map[string]string{
		keyPatient:      "Patient/{{context.patientId}}",
		keyObservations: "Observation" + of + "&code=" + tokens(measurements) + "&_count=1000",
		keyConditions:   "Condition" + of + "&_count=200",
		keyProcedures:   "Procedure" + of + "&code=" + tokens(repairs) + "&_count=200",
		keyPlans:        "CarePlan" + of + "&category=" + fhir.SystemSNOMED + "|" + fhir.SNOMEDRehabilitationPlan + "&_count=50",
	}
}

// tokens are codes as the value of a search parameter.
func tokens(codes []fhir.Coding) string {
	all := make([]string, len(codes))
	for i, c := range codes {
		all[i] = c.System + "|" + c.Code
	}
	return strings.Join(all, ",")
}

// Discover is what the service offers.
func Discover(templates map[string]string) Discovery {
	d := Discovery{Services: make([]Service, 0, len(Hooks))}
	for _, hook := range Hooks {
		d.Services = append(d.Services, Service{
			Hook: hook, ID: ServiceID, Title: "Shoulder re-check",
			Description:       "Red flags, changes beyond measurement error, the permitted step of each shoulder rotation, and what to measure next, from the recorded strength, range and pain.",
			Prefetch:          templates,
			UsageRequirements: "Observations, conditions and procedures are needed: as prefetch, or by fhirServer and fhirAuthorization if the server is one that this service may ask.",
		})
	}
	return d
}

// Reasons are the codes of the reasons for which a card may be overridden.
var Reasons = []Coding{
	{Code: "already-considered", System: reasonSystem, Display: "Already considered"},
	{Code: "not-this-patient", System: reasonSystem, Display: "Does not fit this patient"},
	{Code: "measurement-doubted", System: reasonSystem, Display: "A measurement is doubted"},
	{Code: "later", System: reasonSystem, Display: "At another visit"},
}

// The ids of the code systems of cards: what they are about, and why they are overridden.
const (
	TopicCodes  = "card-topic"
	ReasonCodes = "card-override-reason"
)

const reasonSystem = fhir.CanonicalBase + "/CodeSystem/" + ReasonCodes

// reasonsIn are the reasons with their displays in a language.
func reasonsIn(w *wording.Catalogue) []Coding {
	all := slices.Clone(Reasons)
	for i := range all {
		all[i].Display = w.Title(all[i].Code, all[i].Display)
	}
	return all
}

// reasonNamed is a reason that a client gives, as a label: one of ours, other, or none.
func reasonNamed(code, system string) string {
	switch {
	case code == "":
		return "none"
	case system != "" && system != reasonSystem || !slices.ContainsFunc(Reasons, func(c Coding) bool { return c.Code == code }):
		return "other"
	}
	return code
}
