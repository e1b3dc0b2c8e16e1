// Package questionnaire is the re-check as a questionnaire: what is asked, and the Observations that its answers come to.
// The published Questionnaire, and the extraction here, are both made of the same items.
package questionnaire

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Kind is what an item asks for.
type Kind uint8

// The kinds.
const (
	Strength Kind = iota // of one motion, position and side; an answer for each trial
	Range                // active, of one movement and side, in degrees
	Pain                 // 0 to 10
	Outcome              // a measure of one number of the protocol
)

// An Item is a question whose answer becomes an Observation.
type Item struct {
	LinkID   string
	Kind     Kind
	Code     fhir.Coding // of the Observation
	Side     shoulder.Side
	Motion   shoulder.Motion
	Position shoulder.ArmPosition
	Movement shoulder.Movement
	Context  shoulder.PainContext
	Measure  *protocol.OutcomeMeasure // of an Outcome
}

// The link ids of what holds for a whole visit.
const (
	LinkInvolved    = "involved-side"
	LinkMethod      = "strength-method"
	LinkContraction = "contraction-type"
)

// LinkSupport is the link id of whether the arm was supported in a position.
func LinkSupport(p shoulder.ArmPosition) string { return "arm-support." + p.String() }

// Supports are the positions of which it is asked.
var Supports = []shoulder.ArmPosition{shoulder.Flexion90, shoulder.Abduction90}

// Methods, Contractions and SupportCodes are the codes of ours that may be chosen.
var (
	Methods      = []string{"handheld-dynamometry", "belt-stabilised-dynamometry", "isokinetic-dynamometry"}
	Contractions = []string{shoulder.Make.String(), shoulder.Break.String()}
	SupportCodes = []string{shoulder.Supported.String(), shoulder.Unsupported.String()}
)

// ID is the id of the questionnaire of a protocol.
func ID(p *protocol.Protocol) string { return p.ID + "-recheck" }

// URL is its canonical URL.
func URL(p *protocol.Protocol) string { return fhir.CanonicalBase + "/Questionnaire/" + ID(p) }

// ranges are the codes of the active range of movements.
var ranges = map[shoulder.Movement]string{
	shoulder.Flexion: fhir.LOINCFlexionActive, shoulder.Abduction: fhir.LOINCAbductionActive,
	shoulder.ExternalRotation: fhir.LOINCExternalRotationActive, shoulder.InternalRotation: fhir.LOINCInternalRotationActive,
}

// Items are the questions of a protocol, in the order in which they are asked.
func Items(p *protocol.Protocol) (all []Item) {
	sides := []shoulder.Side{shoulder.Right, shoulder.Left}
	for _, r := range shoulder.Motions {
		for _, position := range r.TestedIn() {
			for _, side := range sides {
				code := fhir.Coding{System: fhir.SystemShoulder, Code: fhir.CodesOf(r).Strength}
				all = append(all, Item{LinkID: join("strength", r.String(), position.String(), side.String()), Kind: Strength, Code: code, Side: side, Motion: r, Position: position})
			}
		}
	}
	for m := shoulder.Flexion; m <= shoulder.InternalRotation; m++ {
		for _, side := range sides {
			all = append(all, Item{LinkID: join("range", m.String(), side.String()), Kind: Range, Code: fhir.Coding{System: fhir.SystemLOINC, Code: ranges[m]}, Side: side, Movement: m})
		}
	}
	for c := shoulder.PainAtRest; c <= shoulder.PainWorst24h; c++ {
		all = append(all, Item{LinkID: join("pain", c.String()), Kind: Pain, Code: fhir.Coding{System: fhir.SystemLOINC, Code: fhir.LOINCPainVerbalRating}, Context: c})
	}
	for i := range p.OutcomeMeasures {
		m := &p.OutcomeMeasures[i]
		all = append(all, Item{LinkID: join("outcome", m.ID), Kind: Outcome, Code: fhir.Coding{System: m.Codes[0].System, Code: m.Codes[0].Code, Display: m.Codes[0].Display}, Measure: m})
	}
	return all
}

func join(parts ...string) string { return strings.Join(parts, ".") }

// sites are the shoulders, as body sites.
var sites = map[shoulder.Side]string{shoulder.Right: fhir.SNOMEDRightShoulder, shoulder.Left: fhir.SNOMEDLeftShoulder}

// Template is the Observation of an item without what only its answers tell.
func (i *Item) Template() *fhir.Observation {
	o := &fhir.Observation{Status: "final", Code: fhir.CodeableConcept{Coding: []fhir.Coding{i.Code}}}
	if site := sites[i.Side]; site != "" {
		o.BodySite = &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemSNOMED, Code: site}}}
	}
	if i.Kind == Strength {
		o.Component = append(o.Component, coded(fhir.CodeArmPosition, i.Position.String()))
	}
	if i.Kind == Pain {
		o.Component = append(o.Component, coded(fhir.CodePainContext, i.Context.String()))
	}
	return o
}

// Unit is the unit of an item's number; empty where the answer has its own.
func (i *Item) Unit() string {
	switch i.Kind {
	case Range:
		return "deg"
	case Pain:
		return "{score}"
	case Outcome:
		return i.Measure.Unit
	}
	return ""
}

// coded is a component with a code of ours as its value.
func coded(code, value string) fhir.Component {
	return fhir.Component{Code: Ours(code), Value: &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: value}}}}
}

// Ours is a concept of a code of ours.
func Ours(code string) fhir.CodeableConcept {
	return fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: code}}}
}
