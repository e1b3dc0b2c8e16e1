package intake

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// laterality is a set of the sides that codes state.
type laterality uint8

const (
	lateralRight laterality = 1 << iota
	lateralLeft
	lateralBoth // one code that means right and left
)

// site is the meaning of a body site code.
type site struct {
	laterality laterality
	shoulder   bool // the shoulder, or a part of it
}

var sites = map[code]site{
	snomed(fhir.SNOMEDRightShoulder):  {lateralRight, true},
	snomed(fhir.SNOMEDLeftShoulder):   {lateralLeft, true},
	snomed(fhir.SNOMEDShoulder):       {0, true},
	snomed(fhir.SNOMEDShoulderJoint):  {0, true},
	snomed(fhir.SNOMEDShoulderGirdle): {0, true},
	snomed(fhir.SNOMEDShoulderMuscle): {0, true},
	snomed(fhir.SNOMEDSupraspinatus):  {0, true},
	snomed(fhir.SNOMEDInfraspinatus):  {0, true},
	snomed(fhir.SNOMEDSubscapularis):  {0, true},

	snomed(fhir.SNOMEDRight):           {lateralRight, false},
	snomed(fhir.SNOMEDLeft):            {lateralLeft, false},
	snomed(fhir.SNOMEDUnilateralRight): {lateralRight, false},
	snomed(fhir.SNOMEDUnilateralLeft):  {lateralLeft, false},
	snomed(fhir.SNOMEDRightAndLeft):    {lateralBoth, false},
}

var lateralityExtensions = map[string]bool{
	fhir.ExtensionStructureLaterality: true,
	fhir.ExtensionMCODELaterality:     true,
	fhir.ExtensionNictizLaterality:    true,
	fhir.ExtensionSwissLaterality:     true,
}

// lateralityOfSide is the set of one side.
func lateralityOfSide(s shoulder.Side) laterality {
	switch s {
	case shoulder.Right:
		return lateralRight
	case shoulder.Left:
		return lateralLeft
	}
	return 0
}

// single is the side of a set of one; unknown for an empty set and for a code that means
// both sides. It reports false if the set has several.
func (l laterality) single() (side shoulder.Side, ok bool) {
	switch l {
	case 0, lateralBoth:
		return shoulder.SideUnknown, true
	case lateralRight:
		return shoulder.Right, true
	case lateralLeft:
		return shoulder.Left, true
	}
	return shoulder.SideUnknown, false
}

// sides returns the sides that are affected by what lists them: several codes
// of a Condition's body sites add up.
func (l laterality) sides() laterality {
	if l&lateralBoth != 0 {
		return lateralRight | lateralLeft
	}
	return l
}

// bodySite is the meaning of the codings and extensions of a body site. Its text is never
// read, because free text names the wrong side too often.
type bodySite struct {
	site
	elsewhere bool // holds a code that is neither a shoulder nor a side
}

func (r *reader) bodySite(concept *fhir.CodeableConcept) (b bodySite) {
	if concept == nil {
		return b
	}
	for i := range concept.Coding {
		means := r.interpret(&r.caches.sites, &concept.Coding[i])
		b.laterality |= means.term.site.laterality
		b.shoulder = b.shoulder || means.term.site.shoulder
		b.elsewhere = b.elsewhere || !means.term.isSite
	}
	for _, x := range concept.Extension {
		if lateralityExtensions[x.URL] {
			b.laterality |= r.lateralityOf(x.Value)
		}
	}
	return b
}

// lateralityOf reads the value of a laterality extension.
func (r *reader) lateralityOf(v fhir.Value) (found laterality) {
	var codings []fhir.Coding
	switch v := v.(type) {
	case *fhir.CodeableConcept:
		if v != nil {
			codings = v.Coding
		}
	case *fhir.Coding:
		if v != nil {
			codings = []fhir.Coding{*v}
		}
	}
	for i := range codings {
		found |= r.interpret(&r.caches.sites, &codings[i]).term.site.laterality
	}
	return found
}

// side finds the side of an Observation: from its code, the codings of its body
// site, its laterality extensions and bare qualifiers, which must agree.
func (r *reader) side(f *finding, o *fhir.Observation, fromCode laterality) bool {
	needs := rules[f.kind].side
	if needs == sideless {
		return true
	}
	element := ""
	if o.BodySite != nil {
		element = "bodySite"
	}
	found := fromCode | r.bodySite(o.BodySite).laterality
	side, ok := found.single()
	switch {
	case !ok:
		r.warn(f.pathBase(), element, fault.SideConflict, "code and body site name different sides; expected one side", "")
		return false
	case needs == sideNeeded && found == lateralBoth:
		r.warn(f.pathBase(), element, fault.SideConflict, "the body site means both sides; expected one Observation for each side", "")
		return false
	case needs == sideNeeded && side == shoulder.SideUnknown:
		r.warn(f.pathBase(), element, fault.SideMissing, "no side; expected bodySite with SNOMED CT 91774008 (right) or 91775009 (left), a laterality, or a code that holds the side; text is not read", "")
		return false
	}
	f.side = side
	return true
}
