package intake

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// kind is the kind of a finding.
type kind uint8

// The kinds. The zero kind stands for what is not read.
const (
	nothing kind = iota
	strength
	grade
	motion
	pain
	steadiness
	lever
	clearance
	examination
	permit
	confirmation
	tear
	handedness
	bodyMass
	bodyHeight
	outcome // of an outcome measure of the protocol
	repair  // from a Procedure or a Condition
)

// sideRule says how a kind relates to the side of the body.
type sideRule uint8

const (
	sideless sideRule = iota
	sideOptional
	sideNeeded
)

// components is a set of the components that a kind takes.
type components uint8

const (
	takesPosition components = 1 << iota
	takesSupport
	takesContraction
	takesTrials
	takesPainContext
	takesPainDuringTest
)

// rule is how the Observations of a kind are read.
type rule struct {
	name          string // of the kind, for digests
	side          sideRule
	needsPosition bool
	takes         components
	anyBody       bool // the code does not say that it is about a shoulder
	byClinician   bool // a statement that only a clinician can make
	read          func(*reader, pathBase, fhir.Value, *finding) bool
}

var rules = [...]rule{
	strength: {
		name: "strength", side: sideNeeded, needsPosition: true, read: (*reader).strength,
		takes: takesPosition | takesSupport | takesContraction | takesTrials | takesPainDuringTest,
	},
	grade: {
		name: "grade", side: sideNeeded, needsPosition: true, read: (*reader).grade,
		takes: takesPosition | takesSupport | takesContraction,
	},
	motion:       {name: "motion", side: sideNeeded, takes: takesPosition, read: (*reader).angle},
	pain:         {name: "pain", side: sideOptional, takes: takesPosition | takesPainContext, anyBody: true, read: (*reader).painScore},
	steadiness:   {name: "steadiness", side: sideNeeded, needsPosition: true, takes: takesPosition, read: (*reader).yesOrNo},
	lever:        {name: "lever", side: sideOptional, read: (*reader).leverArm},
	clearance:    {name: "clearance", side: sideOptional, byClinician: true, read: (*reader).yesOrNo},
	examination:  {name: "examination", side: sideOptional, byClinician: true, read: (*reader).yesOrNo},
	permit:       {name: "permit", side: sideOptional, byClinician: true, read: (*reader).loadPhase},
	confirmation: {name: "confirmation", byClinician: true, read: (*reader).yesOrNo},
	tear:         {name: "tear", side: sideOptional, read: (*reader).tearSize},
	handedness:   {name: "handedness", read: (*reader).hand},
	bodyMass:     {name: "body mass", read: (*reader).bodyMass},
	bodyHeight:   {name: "body height", read: (*reader).bodyHeight},
	outcome:      {name: "outcome", side: sideOptional, anyBody: true, read: (*reader).outcomeValue},
	repair:       {name: "repair"},
}

// takes is what the components of a measure may be: the range of an elevation
// has no arm position of its own.
func (m measure) takes() components {
	if m.kind == motion && m.movement != shoulder.ExternalRotation && m.movement != shoulder.InternalRotation {
		return 0
	}
	return rules[m.kind].takes
}
