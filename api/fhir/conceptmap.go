package fhirapi

import "evenreach.example/internal/fhir"

// conceptMap is a FHIR ConceptMap.
type conceptMap struct {
	about
	Group []mapGroup `json:"group"`
}

type mapGroup struct {
	Source  string       `json:"source"`
	Target  string       `json:"target"`
	Element []mapElement `json:"element"`
}

type mapElement struct {
	Code    string      `json:"code"`
	Display string      `json:"display"`
	Target  []mapTarget `json:"target"`
}

type mapTarget struct {
	Code        string        `json:"code,omitempty"`
	Equivalence string        `json:"equivalence"`
	Comment     string        `json:"comment,omitempty"`
	Product     []mapProperty `json:"product,omitempty"`
}

type mapProperty struct {
	Property string `json:"property"`
	System   string `json:"system"`
	Value    string `json:"value"`
}

// The code systems of the invented hospital of the example.
const (
	exampleFlowsheet = "https://hospital.example/fhir/CodeSystem/flowsheet"
	exampleSites     = "https://hospital.example/fhir/CodeSystem/body-site"
)

// siteCodesExample is a worked example of the ConceptMap with which a hospital
// tells what its own codes mean. It is the file of the flag --code-map.
func siteCodesExample() Resource {
	const id = "site-codes-example"
	about := describe("ConceptMap", id, "Codes of an invented hospital",
		"A worked example of a hospital's own codes: one code for rotation, arm position, support and side together; a code for the rotation alone; a site's component, method, range and body site; and a code without a match.")
	about.Experimental = true
	return resource("ConceptMap", id, conceptMap{
		about: about,
		Group: []mapGroup{
			{exampleFlowsheet, fhir.SystemShoulder, []mapElement{
				{"301", "ER strength 90 abd free R", mapped(fhir.CodeExternalRotationStrength, "subsumes",
					property(fhir.CodeArmPosition, "abduction-90"), property(fhir.CodeArmSupport, "unsupported"), property(fhir.CodeSide, "right"))},
				{"302", "ER strength 90 abd free L", mapped(fhir.CodeExternalRotationStrength, "subsumes",
					property(fhir.CodeArmPosition, "abduction-90"), property(fhir.CodeArmSupport, "unsupported"), property(fhir.CodeSide, "left"))},
				{"310", "IR strength arm at side", mapped(fhir.CodeInternalRotationStrength, "subsumes",
					property(fhir.CodeArmPosition, "arm-at-side"))},
				{"320", "Test position", mapped(fhir.CodeArmPosition, "equal")},
				{"321", "90 flexion", mapped("flexion-90", "equal")},
				{"330", "Dynamometer, belt", mapped("belt-stabilised-dynamometry", "equivalent")},
				{"399", "Grip strength", []mapTarget{{Equivalence: "unmatched", Comment: "Not a measurement of the shoulder."}}},
			}},
			{exampleFlowsheet, fhir.SystemLOINC, []mapElement{
				{"401", "Flexion AROM R", mapped(fhir.LOINCFlexionActive, "subsumes", property(fhir.CodeSide, "right"))},
			}},
			{exampleSites, fhir.SystemSNOMED, []mapElement{
				{"SHL", "Left shoulder", mapped(fhir.SNOMEDLeftShoulder, "equal")},
			}},
		},
	})
}

// mapped is the one meaning of a code. R4's equivalence speaks of the target:
// one that subsumes the site's code is wider, and the properties say the rest.
func mapped(code, equivalence string, product ...mapProperty) []mapTarget {
	return []mapTarget{{Code: code, Equivalence: equivalence, Product: product}}
}

func property(name, value string) mapProperty {
	return mapProperty{fhir.SystemShoulder + "#" + name, fhir.SystemShoulder, value}
}
