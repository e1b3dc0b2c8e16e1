package questionnaire

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// An Extracted Observation, and the FHIRPath of its first answer in what was sent.
type Extracted struct {
	Observation *fhir.Observation
	LinkID      string
	Path        string
}

// An Extraction is what a response comes to.
type Extraction struct {
	Observations []Extracted
	Involved     shoulder.Side // as answered; unknown if it was not
	Issues       []fault.Issue // of answers that were left out
}

// answers are those of one link id, with the FHIRPath of the first.
type answers struct {
	path string
	all  []fhir.ResponseAnswer
}

// statuses are those of a response that counts.
//
// Source: FHIR R4 4.0.1, value set questionnaire-answers-status: the others are not complete, or retracted.
var statuses = []string{"completed", "amended"}

// IsOf reports whether a response is one to the questionnaire of a protocol, of whatever version.
func IsOf(r *fhir.QuestionnaireResponse, p *protocol.Protocol) bool {
	url, _, _ := strings.Cut(r.Questionnaire, "|")
	return url == URL(p)
}

// Extract reads a response to the questionnaire of a protocol. The root is its FHIRPath in what was sent. The error is always
// *fault.Errors: of a response that does not count.
func Extract(r *fhir.QuestionnaireResponse, p *protocol.Protocol, root string) (*Extraction, error) {
	if !slices.Contains(statuses, r.Status) {
		return nil, fault.Refuse(fault.StatusRetracted, root+".status", "expected the status completed or amended")
	}
	if r.Authored == "" {
		return nil, fault.Refuse(fault.DateMissing, root+".authored", "expected the time of the answers, which is that of the measurements")
	}
	e := extractor{response: r, by: map[string]answers{}}
	e.gather(r.Item, root+".item")
	e.Involved = e.side()
	items := Items(p)
	for i := range items {
		e.item(&items[i])
	}
	e.unknown(items)
	return &e.Extraction, nil
}

type extractor struct {
	Extraction
	response *fhir.QuestionnaireResponse
	by       map[string]answers // by link id
	order    []string
}

// gather lists the answers of items and of those below them.
func (e *extractor) gather(items []fhir.ResponseItem, path string) {
	for i := range items {
		at := path + "[" + strconv.Itoa(i) + "]"
		if n := len(items[i].Answer); n > 0 {
			if _, again := e.by[items[i].LinkID]; again {
				e.drop(fault.Duplicate, at, "the link id is there again; used only once")
			} else {
				e.by[items[i].LinkID] = answers{at, items[i].Answer}
				e.order = append(e.order, items[i].LinkID)
			}
		}
		e.gather(items[i].Item, at+".item")
		for k := range items[i].Answer {
			e.gather(items[i].Answer[k].Item, fmt.Sprintf("%s.answer[%d].item", at, k))
		}
	}
}

func (e *extractor) drop(kind fault.Kind, path, detail string) {
	e.Issues = append(e.Issues, fault.Issue{Severity: fault.Warning, Kind: kind, Path: path, Detail: detail})
}

// unknown lists the answers to what is not asked.
func (e *extractor) unknown(items []Item) {
	known := []string{LinkInvolved, LinkMethod, LinkContraction}
	for _, p := range Supports {
		known = append(known, LinkSupport(p))
	}
	for i := range items {
		known = append(known, items[i].LinkID)
	}
	for _, link := range e.order {
		if !slices.Contains(known, link) {
			e.drop(fault.NotRead, e.by[link].path, "the link id is none of the questionnaire; not used")
		}
	}
}

// side is the involved side, if it was answered.
func (e *extractor) side() shoulder.Side {
	switch e.choice(LinkInvolved, []string{"right", "left"}) {
	case "right":
		return shoulder.Right
	case "left":
		return shoulder.Left
	}
	return shoulder.SideUnknown
}

// choice is the code of ours that was chosen, empty for none.
func (e *extractor) choice(link string, codes []string) string {
	found, ok := e.by[link]
	if !ok {
		return ""
	}
	c, ok := found.all[0].Value.(*fhir.Coding)
	if !ok || c.System != fhir.SystemShoulder || !slices.Contains(codes, c.Code) || len(found.all) > 1 {
		e.drop(fault.CodeUnknown, found.path, "expected one valueCoding of "+strings.Join(codes, ", "))
		return ""
	}
	return c.Code
}

// item makes the Observation of an item, if it was answered.
func (e *extractor) item(i *Item) {
	found, ok := e.by[i.LinkID]
	if !ok {
		return
	}
	o := i.Template()
	o.Subject, o.Encounter, o.Effective = e.response.Subject, e.response.Encounter, fhir.DateTime(e.response.Authored)
	if e.response.Author != nil {
		o.Performer = []fhir.Reference{*e.response.Author}
	}
	if e.response.ID != "" {
		o.DerivedFrom = []fhir.Reference{{Reference: "QuestionnaireResponse/" + e.response.ID}}
	}
	values := e.values(i, found)
	switch {
	case len(values) == 0:
		return
	case i.Kind == Strength:
		e.strength(i, o, values)
	case len(values) > 1:
		e.drop(fault.Duplicate, found.path, "found several answers; expected one")
		return
	default:
		o.Value = values[0]
	}
	e.Observations = append(e.Observations, Extracted{o, i.LinkID, found.path})
}

// strength adds what holds for all tests, and the trials.
func (e *extractor) strength(i *Item, o *fhir.Observation, trials []*fhir.Quantity) {
	if support := e.choice(LinkSupport(i.Position), SupportCodes); support != "" {
		o.Component = append(o.Component, coded(fhir.CodeArmSupport, support))
	}
	if contraction := e.choice(LinkContraction, Contractions); contraction != "" {
		o.Component = append(o.Component, coded(fhir.CodeContractionType, contraction))
	}
	if method := e.choice(LinkMethod, Methods); method != "" {
		concept := Ours(method)
		o.Method = &concept
	}
	for _, trial := range trials {
		o.Component = append(o.Component, fhir.Component{Code: Ours(fhir.CodeTrial), Value: trial})
	}
}

// values are the answers of an item as quantities; what is none is dropped.
func (e *extractor) values(i *Item, found answers) (all []*fhir.Quantity) {
	for k := range found.all {
		q := quantityOf(found.all[k].Value, i.Unit())
		if q == nil {
			e.drop(fault.ValueKind, fmt.Sprintf("%s.answer[%d]", found.path, k), "expected a number, or a quantity of one that has its unit")
			continue
		}
		all = append(all, q)
	}
	return all
}

// quantityOf is an answer as a quantity: what the respondent gave, or a number in the unit of the item.
func quantityOf(value fhir.Value, unit string) *fhir.Quantity {
	number := fhir.Decimal("")
	switch v := value.(type) {
	case *fhir.Quantity:
		return v
	case fhir.Decimal:
		number = v
	case fhir.Integer:
		number = fhir.Decimal(strconv.Itoa(int(v)))
	}
	if number == "" || unit == "" {
		return nil
	}
	return &fhir.Quantity{Value: number, System: fhir.SystemUCUM, Code: unit}
}
