package cdshooks

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// A Request is a call of the service.
type Request struct {
	Hook          string                    `json:"hook"`
	HookInstance  string                    `json:"hookInstance"`
	FHIRServer    string                    `json:"fhirServer"`
	Authorization *Authorization            `json:"fhirAuthorization"`
	Context       map[string]jsontext.Value `json:"context"`
	Prefetch      map[string]jsontext.Value `json:"prefetch"`
}

// An Authorization lets the service ask the caller's FHIR server. Its token is never logged.
type Authorization struct {
	AccessToken string `json:"access_token"`
	TokenType   string `json:"token_type"`
	ExpiresIn   int    `json:"expires_in"`
	Scope       string `json:"scope"`
	Subject     string `json:"subject"`
}

var (
	uuidForm = regexp.MustCompile(`^(?i)[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$`)
	idForm   = regexp.MustCompile(`^[A-Za-z0-9\-.]{1,64}$`) // FHIR R4 4.0.1, data type id
)

// ReadRequest reads a call. The error is always *fault.Errors and lists every problem.
func ReadRequest(body []byte) (*Request, error) {
	q := new(Request)
	if err := json.Unmarshal(body, q); err != nil {
		return nil, notJSON(err)
	}
	var issues []fault.Issue
	add := func(kind fault.Kind, path, detail string) {
		issues = append(issues, fault.Issue{Severity: fault.Error, Kind: kind, Path: path, Detail: detail})
	}
	if !slices.Contains(Hooks, q.Hook) {
		add(fault.BadParameter, "hook", "expected one of "+strings.Join(Hooks, ", "))
	}
	if !uuidForm.MatchString(q.HookInstance) {
		add(fault.BadParameter, "hookInstance", "expected a UUID")
	}
	for _, field := range contexts[q.Hook] {
		if _, ok := q.Context[field]; !ok {
			add(fault.RequiredMissing, "context."+field, "expected this field of the hook's context")
		}
	}
	if _, sent := q.Context["patientId"]; sent && !idForm.MatchString(q.patient()) {
		add(fault.BadParameter, "context.patientId", "expected the id of a Patient")
	}
	q.checkAuthorization(add)
	if err := fault.New(issues); err != nil {
		return nil, err
	}
	return q, nil
}

// checkAuthorization checks what must stand together.
func (q *Request) checkAuthorization(add func(fault.Kind, string, string)) {
	a := q.Authorization
	if a == nil {
		return
	}
	if q.FHIRServer == "" {
		add(fault.RequiredMissing, "fhirServer", "expected the base address of the server beside fhirAuthorization")
	}
	if a.AccessToken == "" || a.ExpiresIn == 0 || a.Scope == "" || a.Subject == "" {
		add(fault.RequiredMissing, "fhirAuthorization", "expected access_token, token_type, expires_in, scope and subject")
	}
	if a.TokenType != "Bearer" {
		add(fault.BadParameter, "fhirAuthorization.token_type", "expected Bearer")
	}
}

// patient is the id of the patient, empty if it is no text.
func (q *Request) patient() string {
	var id string
	if json.Unmarshal(q.Context["patientId"], &id) != nil {
		return ""
	}
	return id
}

// notJSON says what is wrong with a body that is no call at all.
func notJSON(err error) error {
	if syntax, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		if errors.Is(err, jsontext.ErrDuplicateName) {
			return fault.Refuse(fault.DuplicateName, "", fmt.Sprintf("a name twice in one object at byte %d", syntax.ByteOffset))
		}
		return fault.Refuse(fault.Syntax, "", fmt.Sprintf("not well-formed JSON in UTF-8 at byte %d", syntax.ByteOffset))
	}
	return fault.Refuse(fault.Structure, "", "not the JSON of a CDS Hooks request")
}

// Missing are the templates of what was not sent, by their keys, with the patient's id filled in. Null
// is not sent.
func (q *Request) Missing(templates map[string]string) map[string]string {
	missing := map[string]string{}
	for key, template := range templates {
		if text := q.Prefetch[key]; len(text) == 0 || text.Kind() == 'n' {
			missing[key] = strings.ReplaceAll(template, "{{context.patientId}}", q.patient())
		}
	}
	return missing
}

// An Input is the prefetch as intake reads it.
type Input struct {
	Bundle *fhir.Bundle
	keys   []string // of the entries
}

// Gather reads the prefetch, that which was fetched included. The error is always *fault.Errors.
func (q *Request) Gather() (*Input, error) {
	in := &Input{Bundle: &fhir.Bundle{BundleType: "collection"}}
	for _, key := range needed {
		if text := q.Prefetch[key]; len(text) == 0 || text.Kind() == 'n' {
			return nil, fault.Refuse(fault.PrefetchMissing, "prefetch."+key, "expected it as prefetch, or a fhirServer that this service may ask with a fhirAuthorization that is valid")
		}
	}
	for _, key := range slices.Sorted(maps.Keys(q.Prefetch)) {
		text := q.Prefetch[key]
		if len(text) == 0 || text.Kind() == 'n' {
			continue
		}
		resource, err := readPrefetch(key, text, len(in.Bundle.Entry))
		if err != nil {
			return nil, err
		}
		in.Bundle.Entry = append(in.Bundle.Entry, fhir.Entry{Resource: resource})
		in.keys = append(in.keys, key)
	}
	return in, nil
}

// under puts the places of a refusal under another.
func under(place string, err error) error {
	if refused, ok := errors.AsType[*fault.Errors](err); ok {
		for i := range refused.Issues {
			_, element, _ := strings.Cut(refused.Issues[i].Path, ".")
			refused.Issues[i].Path = strings.TrimSuffix(place+"."+element, ".")
		}
		return refused
	}
	return err
}

var entryPath = regexp.MustCompile(`^Bundle\.entry\[(\d+)\]\.resource`)

// Place is the place in the call of a FHIRPath into the Bundle.
func (in *Input) Place(path string) string {
	m := entryPath.FindStringSubmatchIndex(path)
	if m == nil {
		if path == "Bundle" {
			return "prefetch"
		}
		return path
	}
	n := 0
	for _, c := range path[m[2]:m[3]] {
		n = n*10 + int(c-'0')
		if n >= len(in.keys) {
			return path
		}
	}
	return "prefetch." + in.keys[n] + path[m[1]:]
}

// Feedback is what became of cards.
type Feedback struct {
	Outcome string // accepted or overridden
	Reason  string // a code of Reasons, other, or none
}

// ReadFeedback reads feedback. Comments of users are not kept: they may say anything about a
// patient. The error is always *fault.Errors.
func ReadFeedback(body []byte) ([]Feedback, error) {
	var sent struct {
		Feedback []struct {
			Card                string `json:"card"`
			Outcome             string `json:"outcome"`
			AcceptedSuggestions []struct {
				ID string `json:"id"`
			} `json:"acceptedSuggestions"`
			OverrideReason *struct {
				Reason struct {
					Code   string `json:"code"`
					System string `json:"system"`
				} `json:"reason"`
			} `json:"overrideReason"`
			OutcomeTimestamp string `json:"outcomeTimestamp"`
		} `json:"feedback"`
	}
	if err := json.Unmarshal(body, &sent); err != nil {
		return nil, notJSON(err)
	}
	if len(sent.Feedback) == 0 {
		return nil, fault.Refuse(fault.RequiredMissing, "feedback", "expected a list of feedback on cards")
	}
	all := make([]Feedback, len(sent.Feedback))
	for i := range sent.Feedback {
		f, place := &sent.Feedback[i], fmt.Sprintf("feedback[%d]", i)
		switch {
		case f.Card == "" || f.OutcomeTimestamp == "":
			return nil, fault.Refuse(fault.RequiredMissing, place, "expected card, outcome and outcomeTimestamp")
		case f.Outcome != "accepted" && f.Outcome != "overridden":
			return nil, fault.Refuse(fault.BadParameter, place+".outcome", "expected accepted or overridden")
		case f.Outcome == "accepted" && len(f.AcceptedSuggestions) == 0:
			return nil, fault.Refuse(fault.RequiredMissing, place+".acceptedSuggestions", "expected the suggestions that were accepted")
		}
		all[i] = Feedback{Outcome: f.Outcome, Reason: "none"}
		if r := f.OverrideReason; r != nil && f.Outcome == "overridden" {
			all[i].Reason = reasonNamed(r.Reason.Code, r.Reason.System)
		}
	}
	return all, nil
}
