package intake

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// conceptMap is the part of a FHIR R4 ConceptMap that is read. Rest collects
// the other members, so that a misspelt one is found.
type conceptMap struct {
	ResourceType string     `json:"resourceType"`
	Group        []mapGroup `json:"group"`
	Rest         members    `json:",embed"`
}

type mapGroup struct {
	Source   string       `json:"source"`
	Target   string       `json:"target"`
	Element  []mapElement `json:"element"`
	Unmapped *mapUnmapped `json:"unmapped"`
	Rest     members      `json:",embed"`
}

type mapUnmapped struct {
	Mode string  `json:"mode"`
	Rest members `json:",embed"`
}

type mapElement struct {
	Code   string      `json:"code"`
	Target []mapTarget `json:"target"`
	Rest   members     `json:",embed"`
}

type mapTarget struct {
	Code        string        `json:"code"`
	Equivalence string        `json:"equivalence"`
	DependsOn   []mapProperty `json:"dependsOn"`
	Product     []mapProperty `json:"product"`
	Rest        members       `json:",embed"`
}

type mapProperty struct {
	Property string  `json:"property"`
	System   string  `json:"system"`
	Value    string  `json:"value"`
	Rest     members `json:",embed"`
}

type members map[string]jsontext.Value

// The members that may be there and are not read, by the type that has them.
//
// Source: FHIR R4 4.0.1, ConceptMap.
var (
	restOfMap = strings.Fields(`id meta language text contained extension url identifier version name title status
		experimental date publisher contact description useContext jurisdiction purpose copyright
		sourceUri sourceCanonical targetUri targetCanonical resourceType`)
	restOfGroup    = strings.Fields("id extension sourceVersion targetVersion source target")
	restOfUnmapped = strings.Fields("id extension code display url mode")
	restOfElement  = strings.Fields("id extension display code")
	restOfTarget   = strings.Fields("id extension display comment code equivalence")
	restOfProperty = strings.Fields("id extension display property system value")
)

// usableEquivalences say that the code of ours holds for all that the site's
// code means.
//
// Source: FHIR R4 4.0.1, value set concept-map-equivalence.
var usableEquivalences = map[string]bool{"equal": true, "equivalent": true, "wider": true, "subsumes": true}

// ReadCodeMap reads a site's own codes from a FHIR R4 ConceptMap in JSON. Each
// element maps a code of the group's source system to one that Evenreach reads:
// a measurement, a component, a value of one, a method, a body site, a
// condition or a repair.
//
// A measurement's target may say more about the site's code by product or
// dependsOn, which are read alike: property arm-position, arm-support or side,
// bare or behind the code system's URL and "#", with the code as its value.
//
// The error is always *fault.Errors, lists every problem, and quotes nothing of
// the map in its text.
func ReadCodeMap(data []byte) (*CodeMap, error) {
	var c conceptMap
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, mapSyntax(err)
	}
	m := mapReader{meanings: map[code]meaning{}}
	m.read(&c)
	fault.Sort(m.issues)
	if err := fault.New(m.issues); err != nil {
		return nil, err
	}
	return &CodeMap{m.meanings}, nil
}

// mapSyntax describes why a text cannot be read as a ConceptMap at all.
func mapSyntax(err error) error {
	if syntax, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		kind, detail := fault.Syntax, "not well-formed JSON in UTF-8"
		if errors.Is(err, jsontext.ErrDuplicateName) {
			kind, detail = fault.DuplicateName, "a name twice in one object"
		}
		return fault.Refuse(kind, "ConceptMap", fmt.Sprintf("%s at byte %d", detail, syntax.ByteOffset))
	}
	if semantic, ok := errors.AsType[*json.SemanticError](err); ok {
		return fault.Refuse(fault.Structure, "ConceptMap", fmt.Sprintf("not the JSON type that FHIR R4 expects, at byte %d", semantic.ByteOffset))
	}
	return fault.Refuse(fault.Syntax, "ConceptMap", "found no text; expected a ConceptMap in JSON")
}

// mapReader reads one ConceptMap and collects its problems.
type mapReader struct {
	meanings map[code]meaning
	issues   []fault.Issue
}

func (m *mapReader) refuse(kind fault.Kind, path, detail string) {
	m.issues = append(m.issues, fault.Issue{Severity: fault.Error, Kind: kind, Path: path, Detail: detail})
}

func (m *mapReader) read(c *conceptMap) {
	if c.ResourceType != "ConceptMap" {
		m.refuse(fault.WrongResource, "", "expected resourceType ConceptMap")
	}
	m.checkRest("ConceptMap", c.Rest, restOfMap)
	if len(c.Group) == 0 {
		m.refuse(fault.RequiredMissing, "ConceptMap.group", "no group; expected one for each source system")
	}
	for i := range c.Group {
		m.group(fmt.Sprintf("ConceptMap.group[%d]", i), &c.Group[i])
	}
}

// checkRest refuses members that R4 does not have, and those that would change
// the meaning of the map.
func (m *mapReader) checkRest(path string, rest members, known []string) {
	for _, name := range slices.Sorted(maps.Keys(rest)) {
		switch {
		case name == "modifierExtension" || name == "implicitRules":
			m.refuse(fault.ModifierUnknown, path+"."+name, "changes the meaning in a way that is not understood; expected none")
		case !slices.Contains(known, strings.TrimPrefix(name, "_")):
			m.refuse(fault.UnknownElement, path, "a name that FHIR R4 does not have here")
		}
	}
}

func (m *mapReader) group(path string, g *mapGroup) {
	m.checkRest(path, g.Rest, restOfGroup)
	switch g.Source {
	case "":
		m.refuse(fault.RequiredMissing, path+".source", "expected the site's code system")
	case fhir.SystemShoulder:
		m.refuse(fault.BadValue, path+".source", "this code system needs no map; expected the site's")
	}
	if g.Target == "" {
		m.refuse(fault.RequiredMissing, path+".target", "expected "+fhir.SystemShoulder+", "+fhir.SystemLOINC+" or "+fhir.SystemSNOMED)
	}
	if g.Unmapped != nil {
		m.checkRest(path+".unmapped", g.Unmapped.Rest, restOfUnmapped)
		if g.Unmapped.Mode != "provided" {
			m.refuse(fault.BadValue, path+".unmapped.mode", "a code that is not in the map keeps its own meaning; expected provided, or no unmapped")
		}
	}
	for i := range g.Element {
		m.element(fmt.Sprintf("%s.element[%d]", path, i), g, &g.Element[i])
	}
}

func (m *mapReader) element(path string, g *mapGroup, e *mapElement) {
	m.checkRest(path, e.Rest, restOfElement)
	own := code{e.Code, g.Source}
	_, taken := m.meanings[own]
	switch {
	case e.Code == "":
		m.refuse(fault.RequiredMissing, path+".code", "expected the site's code")
	case taken:
		m.refuse(fault.Duplicate, path+".code", "mapped before; expected each code once")
	case isRead(own):
		m.refuse(fault.BadValue, path+".code", "this code is read as it is; expected one that is the site's own")
	}
	mapped := -1
	for i := range e.Target {
		at := fmt.Sprintf("%s.target[%d]", path, i)
		means, ok := m.target(at, g.Target, &e.Target[i])
		if !ok {
			continue
		}
		if mapped >= 0 {
			m.refuse(fault.Duplicate, at, "a second meaning of one code; expected one target")
			continue
		}
		mapped = i
		m.meanings[own] = means
	}
}

// target reads one target. It reports false for one that says that there is no
// match, and after a problem.
func (m *mapReader) target(path, system string, t *mapTarget) (meaning, bool) {
	m.checkRest(path, t.Rest, restOfTarget)
	switch {
	case t.Equivalence == "unmatched" || t.Equivalence == "disjoint":
		return meaning{}, false
	case t.Equivalence == "":
		m.refuse(fault.RequiredMissing, path+".equivalence", "expected equal, equivalent, wider or subsumes")
	case !usableEquivalences[t.Equivalence]:
		m.refuse(fault.BadValue, path+".equivalence", "too loose to compute with; expected equal, equivalent, wider or subsumes")
	}
	means := meaning{code: code{t.Code, system}}
	switch {
	case t.Code == "":
		m.refuse(fault.RequiredMissing, path+".code", "expected a code that is read")
	case !isRead(means.code):
		m.refuse(fault.CodeUnknown, path+".code", "not a code that is read; expected one of "+fhir.SystemShoulder+", or of LOINC or SNOMED CT for range, pain, body measures, body sites, conditions and repairs")
	}
	for i := range t.Product {
		m.property(fmt.Sprintf("%s.product[%d]", path, i), &t.Product[i], &means)
	}
	for i := range t.DependsOn {
		m.property(fmt.Sprintf("%s.dependsOn[%d]", path, i), &t.DependsOn[i], &means)
	}
	return means, true
}

// property reads a detail that a site's code implies in addition to the measurement.
func (m *mapReader) property(path string, p *mapProperty, means *meaning) {
	m.checkRest(path, p.Rest, restOfProperty)
	if p.System != "" && p.System != fhir.SystemShoulder {
		m.refuse(fault.CodeUnknown, path+".system", "expected "+fhir.SystemShoulder)
		return
	}
	measured := measures[means.code]
	switch strings.TrimPrefix(p.Property, fhir.SystemShoulder+"#") {
	case fhir.CodeArmPosition:
		setProperty(m, path, p.Value, positions, &means.position, measured.takes()&takesPosition != 0)
	case fhir.CodeArmSupport:
		setProperty(m, path, p.Value, supports, &means.support, measured.takes()&takesSupport != 0)
	case fhir.CodeSide:
		var side shoulder.Side
		setProperty(m, path, p.Value, sideCodes, &side, rules[measured.kind].side != sideless)
		means.laterality |= lateralityOfSide(side)
	default:
		m.refuse(fault.CodeUnknown, path+".property", "expected "+fhir.CodeArmPosition+", "+fhir.CodeArmSupport+" or "+fhir.CodeSide)
	}
}

// setProperty stores the value of a property in a field that has none yet.
func setProperty[T comparable](m *mapReader, path, text string, values map[string]T, field *T, applies bool) {
	value, known := values[text]
	switch {
	case !applies:
		m.refuse(fault.BadValue, path+".property", "has no meaning for this target; expected none")
	case !known:
		m.refuse(fault.CodeUnknown, path+".value", "expected "+strings.Join(slices.Sorted(maps.Keys(values)), ", "))
	case conflict(*field, value):
		m.refuse(fault.Duplicate, path+".value", "stated before with another value; expected one")
	default:
		*field = value
	}
}
