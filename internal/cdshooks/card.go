package cdshooks

import (
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
)

// A Response is the answer to a call. It never has system actions: nothing is done that a person
// has not chosen.
type Response struct {
	Cards []Card `json:"cards"`
}

// A Card is shown to the user.
type Card struct {
	UUID              string       `json:"uuid"`
	Summary           string       `json:"summary"`
	Detail            string       `json:"detail,omitempty"`
	Indicator         string       `json:"indicator"`
	Source            Source       `json:"source"`
	Suggestions       []Suggestion `json:"suggestions,omitempty"`
	SelectionBehavior string       `json:"selectionBehavior,omitempty"`
	OverrideReasons   []Coding     `json:"overrideReasons,omitempty"`
}

// A Source says where a card comes from.
type Source struct {
	Label string  `json:"label"`
	URL   string  `json:"url,omitempty"`
	Topic *Coding `json:"topic,omitempty"`
}

// A Coding is a coding as CDS Hooks has it.
type Coding struct {
	Code    string `json:"code"`
	System  string `json:"system"`
	Display string `json:"display,omitempty"`
}

// A Suggestion is something that the user may choose to have done.
type Suggestion struct {
	Label         string   `json:"label"`
	UUID          string   `json:"uuid"`
	IsRecommended bool     `json:"isRecommended,omitempty"`
	Actions       []Action `json:"actions"`
}

// An Action creates a resource.
type Action struct {
	Type        string         `json:"type"`
	Description string         `json:"description"`
	Resource    jsontext.Value `json:"resource"`
}

// maxSummary is how many characters a summary may have.
//
// Source: CDS Hooks 2.0, card attributes: fewer than 140.
const maxSummary = 139

// topics are the codes of what a card is about.
var topics = [...]string{
	report.TopicRedFlag:  fhir.CodeRedFlag,
	report.TopicChange:   "change",
	report.TopicExternal: "external-rotation",
	report.TopicInternal: "internal-rotation",
	report.TopicMeasure:  "measure-next",
}

// Topics are the codes of what cards are about, in the order in which cards come.
func Topics() []Coding {
	names := [...]string{"Red flag", "Change", "Step of external rotation", "Step of internal rotation", "What to measure next"}
	all := make([]Coding, len(topics))
	for i, code := range topics {
		all[i] = Coding{Code: code, System: fhir.CanonicalBase + "/CodeSystem/" + TopicCodes, Display: names[i]}
	}
	return all
}

// TopicCode is the code of what a card is about.
func TopicCode(t report.Topic) string { return topics[t] }

// indicators say how urgent a card is. Topics that are not here are for information.
var indicators = map[report.Topic]string{report.TopicRedFlag: "critical", report.TopicChange: "warning"}

// Respond writes cards with the suggestions that follow from the answer. The ids of the cards are the
// same for the same call, so that a repetition is recognised.
func Respond(q *Request, cards []report.Card, answer *fhir.Bundle, w *wording.Catalogue, label string) Response {
	r := Response{Cards: make([]Card, 0, len(cards))}
	for i := range cards {
		c := Card{
			UUID: q.uuid(TopicCode(cards[i].Topic)), Summary: short(cards[i].Summary), Detail: detail(&cards[i]), Indicator: "info",
			Source:          Source{Label: label, URL: fhir.CanonicalBase, Topic: &Coding{Code: TopicCode(cards[i].Topic), System: fhir.CanonicalBase + "/CodeSystem/" + TopicCodes}},
			OverrideReasons: reasonsIn(w),
		}
		if indicator := indicators[cards[i].Topic]; indicator != "" {
			c.Indicator = indicator
		}
		if cards[i].Topic == report.TopicMeasure {
			if c.Suggestions = q.suggestions(answer, w); len(c.Suggestions) > 0 {
				c.SelectionBehavior = "any"
			}
		}
		r.Cards = append(r.Cards, c)
	}
	return r
}

// uuid is an id that follows from the call.
func (q *Request) uuid(of string) string {
	return fhir.UUIDOf("card/", strings.ToLower(q.HookInstance), "/", of).String()
}

// short cuts a summary at a word. The detail then begins with the whole.
func short(text string) string {
	if utf8.RuneCountInString(text) <= maxSummary {
		return text
	}
	cut := string([]rune(text)[:maxSummary-1])
	if space := strings.LastIndexByte(cut, ' '); space > 0 {
		cut = cut[:space]
	}
	return cut + "…"
}

// markdown are the characters that mean something in the Markdown of a detail.
var markdown = strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "#", `\#`, "<", `\<`, "`", "\\`", "[", `\[`)

// detail is the explanation as a list.
func detail(c *report.Card) string {
	lines := c.Detail
	if short(c.Summary) != c.Summary {
		lines = append([]string{c.Summary}, lines...)
	}
	var b strings.Builder
	for _, line := range lines {
		b.WriteString("- " + markdown.Replace(line) + "\n")
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// suggestions create the draft of the plan, and what it asks to measure as requests.
func (q *Request) suggestions(answer *fhir.Bundle, w *wording.Catalogue) (all []Suggestion) {
	for i := range answer.Entry {
		plan, ok := answer.Entry[i].Resource.(*fhir.CarePlan)
		if !ok {
			continue
		}
		draft := standalone(plan)
		all = append(all, Suggestion{
			Label: w.Offers.Plan, UUID: q.uuid("plan"),
			Actions: []Action{{"create", w.Offers.PlanDetail, fhirjson.Encode(draft)}},
		})
		if actions := requests(draft); len(actions) > 0 {
			all = append(all, Suggestion{Label: w.Offers.Requests, UUID: q.uuid("requests"), Actions: actions})
		}
	}
	return all
}

// standalone is a plan without references to what stands beside it in the answer and is not created with
// it.
func standalone(plan *fhir.CarePlan) *fhir.CarePlan {
	c := *plan
	c.Author, c.Goal, c.SupportingInfo = nil, nil, outside(c.SupportingInfo)
	c.Activity = nil
	for _, a := range plan.Activity {
		d := *a.Detail
		d.Goal, d.ReasonReference = nil, outside(d.ReasonReference)
		c.Activity = append(c.Activity, fhir.Activity{Detail: &d})
	}
	return &c
}

// outside are the references to what the record has already.
func outside(references []fhir.Reference) (all []fhir.Reference) {
	for _, r := range references {
		if !strings.HasPrefix(r.Reference, "urn:") && r.Reference != "" {
			all = append(all, r)
		}
	}
	return all
}
