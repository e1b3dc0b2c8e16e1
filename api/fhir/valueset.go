package fhirapi

import (
	"slices"

	"evenreach.example/internal/cdshooks"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// valueSet is a FHIR ValueSet.
type valueSet struct {
	about
	Compose compose `json:"compose"`
}

type compose struct {
	Include []include `json:"include"`
}

// include is all codes of a system, or those that are listed.
type include struct {
	System  string     `json:"system"`
	Concept []setCoded `json:"concept,omitempty"`
}

type setCoded struct {
	Code    string `json:"code"`
	Display string `json:"display,omitempty"`
}

// valueSets are one for each code system and each group of our codes, and those
// of the standard codes that are read and written.
func valueSets() []Resource {
	all := []Resource{
		set(shoulderCodes, "All codes of a shoulder rotation re-check", "Every code of the code system.", "", include{System: fhir.SystemShoulder}),
		set(inputIssueCodes, "All input issues", "Every code of the code system.", "", include{System: fhir.SystemInputIssue}),
		set(cdshooks.TopicCodes, "All topics of cards", "Every code of the code system.", "", include{System: canonical("CodeSystem", cdshooks.TopicCodes)}),
		set(cdshooks.ReasonCodes, "All reasons to override a card", "Every code of the code system.", "", include{System: canonical("CodeSystem", cdshooks.ReasonCodes)}),
	}
	for _, g := range groups() {
		own := include{System: fhir.SystemShoulder}
		for _, c := range g.concepts {
			own.Concept = append(own.Concept, setCoded{c.Code, c.Display})
		}
		all = append(all, set(g.id, g.title, g.description, "", own))
	}
	for _, s := range standardSets {
		all = append(all, set(s.id, s.title, s.description, s.copyright, s.include...))
	}
	return all
}

func set(id, title, description, copyright string, of ...include) Resource {
	content := valueSet{about: describe("ValueSet", id, title, description), Compose: compose{of}}
	content.Copyright = copyright
	return resource("ValueSet", id, content)
}

// The owners of standard codes whose displays are given here.
const (
	ofLOINC  = "Holds codes of LOINC, copyright Regenstrief Institute, Inc., under the licence at http://loinc.org/license."
	ofSNOMED = "Holds codes of SNOMED CT, copyright International Health Terminology Standards Development Organisation. Its use may need a licence."
	ofUCUM   = "Holds codes of UCUM, copyright Regenstrief Institute, Inc."
)

// standardSet is a value set of standard codes.
type standardSet struct {
	id, title, description, copyright string
	include                           []include
}

var standardSets = []standardSet{
	{"rotation", "Rotation", "The rotations of the shoulder.", ofSNOMED, []include{{fhir.SystemSNOMED, []setCoded{
		{fhir.SNOMEDExternalRotation, "External rotation, function (observable entity)"},
		{fhir.SNOMEDInternalRotation, "Internal rotation, function (observable entity)"},
	}}}},
	{"motion", "Motion", "The motions of the shoulder that are tested and are no rotations.", ofSNOMED, []include{{fhir.SystemSNOMED, []setCoded{
		{fhir.SNOMEDAbduction, "Abduction, function (observable entity)"},
	}}}},
	{"shoulder-side", "Shoulder with its side", "The shoulder regions with their sides, the usual body sites of a measurement.", ofSNOMED, []include{{fhir.SystemSNOMED, []setCoded{
		{fhir.SNOMEDRightShoulder, "Structure of right shoulder region"},
		{fhir.SNOMEDLeftShoulder, "Structure of left shoulder region"},
	}}}},
	{"strength-measure", "Isometric strength", "The codes of the strength of a motion.", "", []include{{
		fhir.SystemShoulder, listed(ofMotions(func(c *fhir.MotionCodes) string { return c.Strength })...)}}},
	{"manual-muscle-test", "Manual muscle test", "The codes of the grade of a motion.", "", []include{{
		fhir.SystemShoulder, listed(ofMotions(func(c *fhir.MotionCodes) string { return c.Grade })...)}}},
	{"shoulder-range", "Range of motion of the shoulder", "The codes of a range of motion whose side is in the body site.", ofLOINC, []include{{fhir.SystemLOINC, []setCoded{
		{fhir.LOINCFlexionActive, "Shoulder Flexion Active Range of Motion Quantitative"},
		{fhir.LOINCFlexionPassive, "Shoulder Flexion Passive Range of Motion Quantitative"},
		{fhir.LOINCAbductionActive, "Shoulder Abduction Active Range of Motion Quantitative"},
		{fhir.LOINCAbductionPassive, "Shoulder Abduction Passive Range of Motion Quantitative"},
		{fhir.LOINCExternalRotationActive, "Shoulder External rotation Active Range of Motion Quantitative"},
		{fhir.LOINCExternalRotationPassive, "Shoulder External rotation Passive Range of Motion Quantitative"},
		{fhir.LOINCInternalRotationActive, "Shoulder Internal rotation Active Range of Motion Quantitative"},
		{fhir.LOINCInternalRotationPassive, "Shoulder Internal rotation Passive Range of Motion Quantitative"},
	}}}},
	{"pain-score", "Pain from 0 to 10", "The codes of a pain score that are read; the first one is written.", ofLOINC + " " + ofSNOMED, []include{
		{fhir.SystemLOINC, []setCoded{
			{fhir.LOINCPainVerbalRating, "Pain severity - 0-10 verbal numeric rating [Score] - Reported"},
			{Code: fhir.LOINCPainNumericRating},
		}},
		{fhir.SystemSNOMED, []setCoded{{fhir.SNOMEDPainScore, "Pain score (observable entity)"}}},
	}},
	{"doubt", "Doubt about a measurement", "Why a measurement has to be repeated or confirmed before it is relied on.", "", []include{{
		fhir.SystemInputIssue, doubts()}}},
	{"strength-unit", "Units of strength", "The UCUM units of force and torque that are read.", ofUCUM, []include{{System: fhir.SystemUCUM, Concept: units(
		"N", "kN", "kgf", "gf", "[lbf_av]", "N.m", "kgf.m", "kgf.cm", "[lbf_av].[in_i]", "[lbf_av].[ft_i]")}}},
	{"length-unit", "Units of length", "The UCUM units of length that are read.", ofUCUM, []include{{System: fhir.SystemUCUM, Concept: units(
		"m", "cm", "mm", "[in_i]", "[ft_i]")}}},
	{"computed-strength-unit", "Units of computed strength", "The UCUM units of force and torque that are written.", ofUCUM, []include{{System: fhir.SystemUCUM, Concept: units("N", "N.m")}}},
	{"strength-by-mass-unit", "Units of strength by body mass", "The UCUM units that are written.", ofUCUM, []include{{System: fhir.SystemUCUM, Concept: units("N/kg", "N.m/kg")}}},
}

// ofMotions is one of the codes of each motion.
func ofMotions(code func(*fhir.MotionCodes) string) (all []string) {
	for _, m := range shoulder.Motions {
		all = append(all, code(fhir.CodesOf(m)))
	}
	return all
}

// doubts are the input issues that are doubts.
func doubts() (all []setCoded) {
	for _, k := range []fault.Kind{fault.TrialsDisagree, fault.SidesMayBeSwapped, fault.UnitMayBeWrong, fault.ComparisonDeclined} {
		all = append(all, setCoded{k.String(), k.Display()})
	}
	return all
}

// listed are some of our own codes.
func listed(codes ...string) (all []setCoded) {
	for _, c := range concepts() {
		if slices.Contains(codes, c.Code) {
			all = append(all, setCoded{c.Code, c.Display})
		}
	}
	return all
}

// units are UCUM codes, which are their own displays.
func units(codes ...string) (all []setCoded) {
	for _, c := range codes {
		all = append(all, setCoded{Code: c})
	}
	return all
}
