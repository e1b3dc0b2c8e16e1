package intake

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// laterality is a set of what codes say about the side.
type laterality uint8

const (
	saysRight laterality = 1 << iota
	saysLeft
	saysBoth // one code that means right and left
)

// site is what a coding of a body site says.
type site struct {
	laterality laterality
	shoulder   bool // names the shoulder, or a part of it
}

var sites = map[code]site{
	snomed(fhir.SNOMEDRightShoulder):  {saysRight, true},
	snomed(fhir.SNOMEDLeftShoulder):   {saysLeft, true},
	snomed(fhir.SNOMEDShoulder):       {0, true},
	snomed(fhir.SNOMEDShoulderJoint):  {0, true},
	snomed(fhir.SNOMEDShoulderGirdle): {0, true},
	snomed(fhir.SNOMEDShoulderMuscle): {0, true},
	snomed(fhir.SNOMEDSupraspinatus):  {0, true},
	snomed(fhir.SNOMEDInfraspinatus):  {0, true},
	snomed(fhir.SNOMEDSubscapularis):  {0, true},

	snomed(fhir.SNOMEDRight):           {saysRight, false},
	snomed(fhir.SNOMEDLeft):            {saysLeft, false},
	snomed(fhir.SNOMEDUnilateralRight): {saysRight, false},
	snomed(fhir.SNOMEDUnilateralLeft):  {saysLeft, false},
	snomed(fhir.SNOMEDRightAndLeft):    {saysBoth, false},
}

var lateralityExtensions = map[string]bool{
	fhir.ExtensionStructureLaterality: true,
	fhir.ExtensionMCODELaterality:     true,
	fhir.ExtensionNictizLaterality:    true,
	fhir.ExtensionSwissLaterality:     true,
}

// says is the side as a set.
func says(s shoulder.Side) laterality {
	switch s {
	case shoulder.Right:
		return saysRight
	case shoulder.Left:
		return saysLeft
	}
	return 0
}

// of returns the side that a set of one comes to; unknown for none and for a
// code that means both. It reports false if the set contradicts itself.
func (l laterality) of() (side shoulder.Side, ok bool) {
	switch l {
	case 0, saysBoth:
		return shoulder.SideUnknown, true
	case saysRight:
		return shoulder.Right, true
	case saysLeft:
		return shoulder.Left, true
	}
	return shoulder.SideUnknown, false
}

// sides returns the sides that are affected by what lists them: several codes
// of a Condition's body sites add up.
func (l laterality) sides() laterality {
	if l&saysBoth != 0 {
		return saysRight | saysLeft
	}
	return l
}

// bodySite is what the codings and extensions of a body site say. Its text is
// never read: free text names the wrong side too often.
type bodySite struct {
	site
	elsewhere bool // holds a code that is neither a shoulder nor a side
}

func (r *reader) bodySite(concept *fhir.CodeableConcept) (b bodySite) {
	if concept == nil {
		return b
	}
	for i := range concept.Coding {
		means := r.understand(&r.known.sites, &concept.Coding[i])
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
func (r *reader) lateralityOf(v fhir.Value) (said laterality) {
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
		said |= r.understand(&r.known.sites, &codings[i]).term.site.laterality
	}
	return said
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
	said := fromCode | r.bodySite(o.BodySite).laterality
	side, ok := said.of()
	switch {
	case !ok:
		r.warn(f.place(), element, fault.SideConflict, "code and body site name different sides; expected one side", "")
		return false
	case needs == sideNeeded && said == saysBoth:
		r.warn(f.place(), element, fault.SideConflict, "the body site means both sides; expected one Observation for each side", "")
		return false
	case needs == sideNeeded && side == shoulder.SideUnknown:
		r.warn(f.place(), element, fault.SideMissing, "no side; expected bodySite with SNOMED CT 91774008 (right) or 91775009 (left), a laterality, or a code that holds the side; text is not read", "")
		return false
	}
	f.side = side
	return true
}
