package fhirapi

import (
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/questionnaire"
	"evenreach.example/internal/wording"
)

// questionnaireResource is a FHIR Questionnaire.
type questionnaireResource struct {
	about
	Contained   []raw               `json:"contained,omitempty"`
	SubjectType []string            `json:"subjectType"`
	Item        []questionnaireItem `json:"item"`
}

type questionnaireItem struct {
	LinkID       string              `json:"linkId"`
	Extension    []extension         `json:"extension,omitempty"`
	Text         string              `json:"text"`
	Translations *translated         `json:"_text,omitempty"`
	Type         string              `json:"type"`
	Required     bool                `json:"required,omitempty"`
	Repeats      bool                `json:"repeats,omitempty"`
	AnswerOption []answerOption      `json:"answerOption,omitempty"`
	Item         []questionnaireItem `json:"item,omitempty"`
}

type answerOption struct {
	Coding coding `json:"valueCoding"`
}

type translated struct {
	Extension []extension `json:"extension"`
}

type extension struct {
	URL       string      `json:"url"`
	Extension []extension `json:"extension,omitempty"`
	Reference *localRef   `json:"valueReference,omitempty"`
	Coding    *coding     `json:"valueCoding,omitempty"`
	String    string      `json:"valueString,omitempty"`
	Code      string      `json:"valueCode,omitempty"`
	Integer   *int        `json:"valueInteger,omitempty"`
}

type localRef struct {
	Reference string `json:"reference"`
}

// The extensions of Structured Data Capture, and of FHIR itself.
//
// Source: HL7 Structured Data Capture 4.0, template-based extraction; FHIR R4 4.0.1, extensions of Questionnaire.
const (
	sdc             = "http://hl7.org/fhir/uv/sdc/StructureDefinition/"
	templateExtract = sdc + "sdc-questionnaire-templateExtract"
	extractContext  = sdc + "sdc-questionnaire-templateExtractContext"
	extractValue    = sdc + "sdc-questionnaire-templateExtractValue"
	unitOption      = "http://hl7.org/fhir/StructureDefinition/questionnaire-unitOption"
	unitOf          = "http://hl7.org/fhir/StructureDefinition/questionnaire-unit"
	translation     = "http://hl7.org/fhir/StructureDefinition/translation"
)

// forces are the units in which strength is answered.
var forces = []string{"N", "kgf", "[lbf_av]"}

// recheck is the Questionnaire of a protocol, made of the items by which its answers are read. Whoever has a tool for
// template-based extraction makes the same Observations of it.
func recheck(p *protocol.Protocol) Resource {
	id := questionnaire.ID(p)
	about := describe("Questionnaire", id, "Re-check of a shoulder",
		"The measurements of one re-check: strength, active range, pain and the measures of the protocol. What was not measured is left out. The Observations are made of the answers by template-based extraction, or by the operation extract of this service.")
	q := questionnaireResource{about: about, SubjectType: []string{"Patient"}}
	q.Item = []questionnaireItem{visit()}
	items := questionnaire.Items(p)
	for _, g := range []struct {
		kind  questionnaire.Kind
		title string
	}{{questionnaire.Strength, "Strength, each trial an answer"}, {questionnaire.Range, "Active range"}, {questionnaire.Pain, "Pain, 0 to 10"}, {questionnaire.Outcome, "Outcome measures"}} {
		group := questionnaireItem{LinkID: groupLinks[g.kind], Text: g.title, Type: "group"}
		for i := range items {
			if items[i].Kind == g.kind {
				group.Item = append(group.Item, question(&items[i]))
				q.Contained = append(q.Contained, template(&items[i]))
			}
		}
		if len(group.Item) > 0 {
			q.Item = append(q.Item, group)
		}
	}
	return resource("Questionnaire", id, q)
}

var groupLinks = map[questionnaire.Kind]string{questionnaire.Strength: "strength", questionnaire.Range: "range", questionnaire.Pain: "pain", questionnaire.Outcome: "outcome"}

// visit asks what holds for all measurements of a visit.
func visit() questionnaireItem {
	g := questionnaireItem{LinkID: "visit", Text: "Visit", Type: "group", Item: []questionnaireItem{
		choice(questionnaire.LinkInvolved, "Shoulder under treatment", []string{"right", "left"}),
		choice(questionnaire.LinkMethod, "Instrument of the strength tests", questionnaire.Methods),
		choice(questionnaire.LinkContraction, "Kind of the strength tests", questionnaire.Contractions),
	}}
	for _, p := range questionnaire.Supports {
		g.Item = append(g.Item, choice(questionnaire.LinkSupport(p), "Support of the arm at "+words.Position(p), questionnaire.SupportCodes))
	}
	return g
}

func choice(link, text string, codes []string) questionnaireItem {
	item := questionnaireItem{LinkID: link, Text: text, Type: "choice"}
	for _, c := range codes {
		item.AnswerOption = append(item.AnswerOption, answerOption{ours(c)})
	}
	return item
}

// question asks for one measurement.
func question(i *questionnaire.Item) questionnaireItem {
	item := questionnaireItem{LinkID: i.LinkID, Text: questionText(i, wording.For("en")), Type: "decimal", Repeats: i.Kind == questionnaire.Strength}
	item.Extension = []extension{{URL: templateExtract, Extension: []extension{{URL: "template", Reference: &localRef{"#" + templateID(i)}}}}}
	if i.Kind == questionnaire.Strength {
		item.Type = "quantity"
		for _, unit := range forces {
			item.Extension = append(item.Extension, extension{URL: unitOption, Coding: &coding{System: fhir.SystemUCUM, Code: unit, Display: unit}})
		}
	} else {
		item.Extension = append(item.Extension, extension{URL: unitOf, Coding: &coding{System: fhir.SystemUCUM, Code: i.Unit(), Display: i.Unit()}})
	}
	for _, language := range wording.Languages()[1:] {
		text := questionText(i, wording.For(language))
		if item.Translations == nil {
			item.Translations = &translated{}
		}
		item.Translations.Extension = append(item.Translations.Extension, extension{URL: translation, Extension: []extension{{URL: "lang", Code: language}, {URL: "content", String: text}}})
	}
	return item
}

// questionText is the question in a language.
func questionText(i *questionnaire.Item, w *wording.Catalogue) string {
	switch i.Kind {
	case questionnaire.Strength:
		return wording.Capital(w.MotionAt(i.Motion, i.Position)) + ", " + w.Side(i.Side)
	case questionnaire.Range:
		return wording.Capital(w.Movement(i.Movement)) + ", " + w.Side(i.Side)
	case questionnaire.Pain:
		return wording.Capital(w.PainContext(i.Context))
	}
	if title := i.Measure.Title[w.Language()]; title != "" {
		return wording.Capital(title)
	}
	return wording.Capital(i.Measure.Title["en"])
}

// templateID is the id of a contained template, which may have no dots beside letters, digits and hyphens.
func templateID(i *questionnaire.Item) string {
	id := []byte("template-" + i.LinkID)
	for k, c := range id {
		if c == '.' || c == '_' {
			id[k] = '-'
		}
	}
	return string(id)
}

// template is the Observation that an answer becomes, with FHIRPath where the answers come in.
func template(i *questionnaire.Item) raw {
	o := i.Template()
	o.ID = templateID(i)
	var members map[string]any
	if err := json.Unmarshal(fhirjson.Encode(o), &members); err != nil {
		panic("fhirapi: " + i.LinkID + ": " + err.Error())
	}
	members["subject"] = filled("reference", "%resource.subject.reference")
	members["_effectiveDateTime"] = value("%resource.authored")
	if i.Kind == questionnaire.Strength {
		strengthTemplate(i, members)
	} else {
		members["valueQuantity"] = map[string]any{"_value": value("answer.value"), "system": fhir.SystemUCUM, "code": i.Unit()}
	}
	text, err := json.Marshal(members, json.Deterministic(true))
	if err != nil {
		panic("fhirapi: " + i.LinkID + ": " + err.Error())
	}
	return jsontext.Value(text)
}

// strengthTemplate adds what holds for all tests, and a component for each trial.
func strengthTemplate(i *questionnaire.Item, members map[string]any) {
	components, _ := members["component"].([]any)
	if slices.Contains(questionnaire.Supports, i.Position) {
		components = append(components, chosen(fhir.CodeArmSupport, questionnaire.LinkSupport(i.Position)))
	}
	components = append(components, chosen(fhir.CodeContractionType, questionnaire.LinkContraction))
	trial := map[string]any{
		"extension": context("answer"), "code": conceptOf(ours(fhir.CodeTrial)),
		"valueQuantity": map[string]any{"_value": value("value.value"), "_unit": value("value.unit"), "_system": value("value.system"), "_code": value("value.code")},
	}
	members["component"] = append(components, trial)
	members["method"] = map[string]any{"extension": context(answersOf(questionnaire.LinkMethod)), "coding": []any{answeredCoding()}}
}

// chosen is a component whose value was chosen for all tests of the visit; without an answer there is none.
func chosen(code, link string) map[string]any {
	return map[string]any{
		"extension": context(answersOf(link)), "code": conceptOf(ours(code)), "valueCodeableConcept": map[string]any{"coding": []any{answeredCoding()}},
	}
}

// answersOf is the FHIRPath of the answers to an item, wherever it is.
func answersOf(link string) string {
	return "%resource.descendants().where(linkId='" + link + "').answer"
}

// answeredCoding is the coding of an answer.
func answeredCoding() map[string]any {
	return map[string]any{"_system": value("value.system"), "_code": value("value.code")}
}

// context makes an element once for each result of a FHIRPath.
func context(path string) []any {
	return []any{map[string]any{"url": extractContext, "valueString": path}}
}

// value fills an element with the result of a FHIRPath.
func value(path string) map[string]any {
	return map[string]any{"extension": []any{map[string]any{"url": extractValue, "valueString": path}}}
}

// filled is an element with one filled member.
func filled(member, path string) map[string]any { return map[string]any{"_" + member: value(path)} }
