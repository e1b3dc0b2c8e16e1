package fhirapi

import (
	"strconv"

	"evenreach.example/internal/fhir"
)

// structureDefinition is a FHIR StructureDefinition of a profile.
type structureDefinition struct {
	about
	FHIRVersion    string   `json:"fhirVersion"`
	Kind           string   `json:"kind"`
	Abstract       bool     `json:"abstract"`
	Type           string   `json:"type"`
	BaseDefinition string   `json:"baseDefinition"`
	Derivation     string   `json:"derivation"`
	Snapshot       elements `json:"snapshot"`
	Differential   elements `json:"differential"`
}

type elements struct {
	Element []element `json:"element"`
}

// profile is what an Observation of one kind looks like.
type profile struct {
	id, title, description string
	// code is the one code of the Observation; codes is a value set of several.
	code, codes string
	value       content
	valueNeeded bool
	// method binds Observation.method to our value set.
	method bool
	// sideNeeded: the body site must be there.
	sideNeeded bool
	// computed: a result of ours and not a measurement.
	computed bool
	// derived: a result that always names what it was computed from.
	derived bool
	// byClinician: a statement that only a clinician can make.
	byClinician bool
	// members is how many Observations the result at least has as members.
	members int
	parts   []part
	rules   []constraint
}

// part is one component.
type part struct {
	code    coding // of ours
	value   content
	min     int
	repeats bool
	// lacking: the value may be absent for a reason.
	lacking bool
}

// content is what a value may be.
type content struct {
	types []string
	// unit is the UCUM code that a Quantity must have, set the id of the value
	// set for the code of a CodeableConcept or the unit of a Quantity.
	unit, set string
}

func inUnit(ucum string) content     { return content{types: []string{"Quantity"}, unit: ucum} }
func inUnitsOf(set string) content   { return content{types: []string{"Quantity"}, set: set} }
func codedBy(set string) content     { return content{types: []string{"CodeableConcept"}, set: set} }
func ofType(types ...string) content { return content{types: types} }

// one is a component of ours that has to be there, may one that need not, and
// several one that may be there more than once.
func one(code string, value content) part { return part{code: ours(code), value: value, min: 1} }
func may(code string, value content) part { return part{code: ours(code), value: value} }
func several(code string, value content) part {
	return part{code: ours(code), value: value, repeats: true}
}

// profiles are the StructureDefinitions of what is measured and computed.
func profiles() []Resource {
	var all []Resource
	for _, p := range append(measuredProfiles(), computedProfiles()...) {
		all = append(all, p.resource())
	}
	return all
}

func (p *profile) resource() Resource {
	differential := p.differential()
	return resource("StructureDefinition", p.id, structureDefinition{
		about:          describe("StructureDefinition", p.id, p.title, p.description),
		FHIRVersion:    "4.0.1",
		Kind:           "resource",
		Type:           "Observation",
		BaseDefinition: "http://hl7.org/fhir/StructureDefinition/Observation",
		Derivation:     "constraint",
		Snapshot:       elements{snapshot(differential)},
		Differential:   elements{differential},
	})
}

// differential is what the profile changes of Observation, in the order of the
// elements.
func (p *profile) differential() []element {
	all := []element{{ID: "Observation", Path: "Observation", Short: p.title, Definition: p.description, Constraint: p.rules}}
	add := func(e element) { all = append(all, e) }
	if p.computed {
		add(at("identifier").atLeast(1).says("A digest of what the result was computed from"))
	}
	add(p.codeElement())
	add(at("subject").atLeast(1))
	if p.computed {
		add(at("effective[x]").atLeast(1).typed("dateTime", "Period"))
	} else {
		add(at("effective[x]").atLeast(1))
	}
	if p.byClinician {
		add(at("performer").atLeast(1).says("Who states it, a Practitioner or PractitionerRole among them"))
	}
	add(p.valueElement())
	if p.sideNeeded {
		add(at("bodySite").atLeast(1).boundTo("shoulder-side", p.strength()))
	} else {
		add(at("bodySite").boundTo("shoulder-side", p.strength()))
	}
	if p.method {
		add(at("method").boundTo("strength-method", p.strength()))
	}
	if p.computed {
		add(at("device").atLeast(1).says("The software with its version"))
	}
	if p.members > 0 {
		add(at("hasMember").atLeast(p.members))
	}
	if p.derived {
		add(at("derivedFrom").atLeast(1).says("Every measurement that the result was computed from"))
	}
	return append(all, p.components()...)
}

// strength is how strictly a value set holds: a measurement may come with other
// codes beside, or instead, where a result of ours never does.
func (p *profile) strength() string {
	if p.computed {
		return "required"
	}
	return "extensible"
}

func (p *profile) codeElement() element {
	if p.code != "" {
		return at("code").is(ours(p.code))
	}
	return at("code").boundTo(p.codes, "required")
}

func (p *profile) valueElement() element {
	e := at("value[x]").holds(p.value)
	if p.valueNeeded {
		e = e.atLeast(1)
	}
	return e
}

// components are the slices of Observation.component, told apart by code. Other
// components may stand beside them.
func (p *profile) components() []element {
	if len(p.parts) == 0 {
		return nil
	}
	needed := 0
	for _, c := range p.parts {
		needed += c.min
	}
	all := []element{at("component").atLeast(needed).sliced()}
	for _, c := range p.parts {
		all = append(all, c.elements()...)
	}
	return all
}

func (c part) elements() []element {
	name, most := c.code.Code, "1"
	if c.repeats {
		most = "*"
	}
	value := slice(name, "value[x]").holds(c.value)
	if !c.lacking && c.min > 0 {
		value = value.atLeast(1)
	}
	return []element{
		slice(name, "").counts(c.min, most).named(name),
		slice(name, "code").is(c.code),
		value,
	}
}

// counts sets how often an element occurs.
func (e element) counts(least int, most string) element {
	e.Min, e.Max = &least, most
	return e
}

// atLeast sets how often an element occurs at least; 0 leaves it as it is.
func (e element) atLeast(n int) element {
	if n > 0 {
		e.Min = &n
	}
	return e
}

func (e element) named(slice string) element {
	e.SliceName = slice
	return e
}

func (e element) says(short string) element {
	e.Short = short
	return e
}

func (e element) typed(types ...string) element {
	e.Type = nil
	for _, t := range types {
		e.Type = append(e.Type, elementType{Code: t})
	}
	return e
}

// is requires a code, beside which there may be others.
func (e element) is(c coding) element {
	e.PatternCodeableConcept = conceptOf(c)
	return e
}

func (e element) boundTo(set, strength string) element {
	e.Binding = &binding{Strength: strength, ValueSet: canonical("ValueSet", set)}
	return e
}

// holds restricts a value.
func (e element) holds(c content) element {
	e = e.typed(c.types...)
	if c.unit != "" {
		e.PatternQuantity = &quantity{System: fhir.SystemUCUM, Code: c.unit}
	}
	if c.set != "" {
		e = e.boundTo(c.set, "required")
	}
	return e
}

// sliced tells components apart by their code.
func (e element) sliced() element {
	e.Slicing = &slicing{Discriminator: []discriminator{{"pattern", "code"}}, Rules: "open"}
	return e
}

// rule is an invariant of a profile.
func rule(n int, human, expression string) constraint {
	return constraint{
		Key:        "evenreach-" + strconv.Itoa(n),
		Severity:   "error",
		Human:      human,
		Expression: expression,
	}
}
