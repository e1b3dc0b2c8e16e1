package fhirapi

import (
	"html"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
)

// The FHIR R4 elements that the published resources are written with. The
// service never reads them, so that they are no part of the wire model.

// about is what every published resource begins with.
//
// Source: FHIR R4 4.0.1, the elements common to definitional resources.
type about struct {
	ResourceType string     `json:"resourceType"`
	ID           string     `json:"id"`
	Text         *narrative `json:"text,omitempty"`
	URL          string     `json:"url,omitempty"`
	Version      string     `json:"version,omitempty"`
	Name         string     `json:"name,omitempty"`
	Title        string     `json:"title,omitempty"`
	Status       string     `json:"status,omitempty"`
	Experimental bool       `json:"experimental"`
	Date         string     `json:"date,omitempty"`
	Publisher    string     `json:"publisher,omitempty"`
	Description  string     `json:"description,omitempty"`
	Purpose      string     `json:"purpose,omitempty"`
	Copyright    string     `json:"copyright,omitempty"`
}

// describe is the beginning of a published resource.
func describe(typeName, id, title, description string) about {
	return about{
		ResourceType: typeName,
		ID:           id,
		Text:         narrate(title, description),
		URL:          canonical(typeName, id),
		Version:      Version,
		Name:         computerName(id),
		Title:        title,
		Status:       "active",
		Date:         published,
		Publisher:    "Evenreach",
		Description:  description,
	}
}

// computerName makes of an id such as arm-position a name that is fit for
// programs, such as ArmPosition.
//
// Source: FHIR R4 4.0.1, invariant cnl-0 and its like: a capital, then letters,
// digits and underscores.
func computerName(id string) string {
	var b strings.Builder
	for word := range strings.FieldsFuncSeq(id, func(r rune) bool { return !isLetter(r) && (r < '0' || r > '9') }) {
		b.WriteString(strings.ToUpper(word[:1]) + word[1:])
	}
	name := b.String()
	if name == "" || !isLetter(rune(name[0])) {
		return "P" + name
	}
	return name
}

func isLetter(r rune) bool { return 'A' <= r && r <= 'Z' || 'a' <= r && r <= 'z' }

type narrative struct {
	Status string `json:"status"`
	Div    string `json:"div"`
}

// narrate is a narrative of a title and paragraphs.
func narrate(title string, paragraphs ...string) *narrative {
	var div strings.Builder
	div.WriteString(`<div xmlns="http://www.w3.org/1999/xhtml"><h2>` + html.EscapeString(title) + `</h2>`)
	for _, p := range paragraphs {
		div.WriteString("<p>" + html.EscapeString(p) + "</p>")
	}
	div.WriteString("</div>")
	return &narrative{"generated", div.String()}
}

type coding struct {
	System  string `json:"system,omitempty"`
	Code    string `json:"code,omitempty"`
	Display string `json:"display,omitempty"`
}

type codeableConcept struct {
	Coding []coding `json:"coding,omitempty"`
	Text   string   `json:"text,omitempty"`
}

func ours(code string) coding { return coding{System: fhir.SystemShoulder, Code: code} }

func conceptOf(c ...coding) *codeableConcept { return &codeableConcept{Coding: c} }

type quantity struct {
	Value  *exact.Number `json:"value,omitempty"`
	Unit   string        `json:"unit,omitempty"`
	System string        `json:"system,omitempty"`
	Code   string        `json:"code,omitempty"`
}

type relatedArtifact struct {
	Type     string `json:"type"`
	Label    string `json:"label,omitempty"`
	Display  string `json:"display,omitempty"`
	Citation string `json:"citation,omitempty"`
	Resource string `json:"resource,omitempty"`
}

// raw is JSON that is passed through.
type raw = jsontext.Value
