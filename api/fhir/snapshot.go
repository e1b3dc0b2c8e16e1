package fhirapi

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
)

// element is a FHIR ElementDefinition. What is passed through from the base is
// raw JSON.
type element struct {
	ID                     string           `json:"id"`
	Path                   string           `json:"path"`
	Representation         raw              `json:"representation,omitzero"`
	SliceName              string           `json:"sliceName,omitempty"`
	Slicing                *slicing         `json:"slicing,omitempty"`
	Short                  string           `json:"short,omitempty"`
	Definition             string           `json:"definition,omitempty"`
	Min                    *int             `json:"min,omitempty"`
	Max                    string           `json:"max,omitempty"`
	Base                   raw              `json:"base,omitzero"`
	ContentReference       string           `json:"contentReference,omitempty"`
	Type                   []elementType    `json:"type,omitempty"`
	PatternCodeableConcept *codeableConcept `json:"patternCodeableConcept,omitempty"`
	PatternQuantity        *quantity        `json:"patternQuantity,omitempty"`
	Condition              raw              `json:"condition,omitzero"`
	Constraint             []constraint     `json:"constraint,omitempty"`
	IsModifier             *bool            `json:"isModifier,omitempty"`
	IsModifierReason       string           `json:"isModifierReason,omitempty"`
	IsSummary              *bool            `json:"isSummary,omitempty"`
	Binding                *binding         `json:"binding,omitempty"`
}

type elementType struct {
	Extension     raw      `json:"extension,omitzero"`
	Code          string   `json:"code"`
	Profile       []string `json:"profile,omitempty"`
	TargetProfile []string `json:"targetProfile,omitempty"`
}

type slicing struct {
	Discriminator []discriminator `json:"discriminator"`
	Rules         string          `json:"rules"`
}

type discriminator struct {
	Type string `json:"type"`
	Path string `json:"path"`
}

type constraint struct {
	Key        string `json:"key"`
	Severity   string `json:"severity"`
	Human      string `json:"human"`
	Expression string `json:"expression,omitempty"`
	Source     string `json:"source,omitempty"`
}

type binding struct {
	Extension   raw    `json:"extension,omitzero"`
	Strength    string `json:"strength"`
	Description string `json:"description,omitempty"`
	ValueSet    string `json:"valueSet,omitempty"`
}

// observation.json holds the elements of R4's own definition of Observation,
// one a line, without comments, mappings and XPath.
//
// Source: FHIR R4 4.0.1, StructureDefinition Observation (HL7, CC0).
//
//go:embed base/observation.json
var observationText []byte

var observation = sync.OnceValue(func() []element {
	var all []element
	if err := json.Unmarshal(observationText, &all, json.RejectUnknownMembers(true)); err != nil {
		panic("fhirapi: base/observation.json: " + err.Error())
	}
	return all
})

// at is a change of an element of Observation.
func at(name string) element {
	return element{ID: "Observation." + name, Path: "Observation." + name}
}

const componentPath = "Observation.component"

// slice is a change of an element of a component slice, or with an empty name
// of the slice itself.
func slice(sliceName, name string) element {
	e := element{ID: componentPath + ":" + sliceName, Path: componentPath}
	if name != "" {
		e.ID += "." + name
		e.Path += "." + name
	}
	return e
}

// snapshot puts the changes into Observation: each changed element in its
// place, and behind the last element, which is the component, every slice of
// it with all its children.
func snapshot(differential []element) []element {
	changes := map[string]element{}
	for _, e := range differential {
		changes[e.ID] = e
	}
	var all []element
	for _, e := range observation() {
		all = append(all, overlay(e, changes[e.ID]))
	}
	for _, e := range differential {
		if e.SliceName != "" {
			all = append(all, sliceElements(e.SliceName, changes)...)
		}
	}
	return all
}

// sliceElements are the elements of one slice.
func sliceElements(name string, changes map[string]element) (all []element) {
	for _, e := range observation() {
		rest, inside := strings.CutPrefix(e.ID, componentPath)
		if !inside {
			continue
		}
		e.ID = componentPath + ":" + name + rest
		all = append(all, overlay(e, changes[e.ID]))
	}
	return all
}

// overlay changes an element.
func overlay(e, change element) element {
	set := func(to *string, text string) {
		if text != "" {
			*to = text
		}
	}
	set(&e.SliceName, change.SliceName)
	set(&e.Short, change.Short)
	set(&e.Definition, change.Definition)
	set(&e.Max, change.Max)
	if change.Min != nil {
		e.Min = change.Min
	}
	if change.Slicing != nil {
		e.Slicing = change.Slicing
	}
	if change.Type != nil {
		e.Type = change.Type
	}
	if change.Binding != nil {
		e.Binding = change.Binding
	}
	e.PatternCodeableConcept, e.PatternQuantity = change.PatternCodeableConcept, change.PatternQuantity
	e.Constraint = append(slices.Clip(e.Constraint), change.Constraint...)
	return e
}
