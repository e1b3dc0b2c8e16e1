package oru

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
)

// OwnSystem is the name of the project's code system in a message: one of the names for
// local codes.
//
// Source: HL7 version 2.9, table 0396, 99zzz.
const OwnSystem = "99EVR"

// systems are the URIs of coding systems.
//
// Source: HL7 version 2.9, table 0396; HL7 terminology for the URIs.
var systems = map[string]string{
	"LN": fhir.SystemLOINC, "SCT": fhir.SystemSNOMED, "UCUM": fhir.SystemUCUM, "ICF": fhir.SystemICF,
	OwnSystem: fhir.SystemShoulder,
}

// systemNames are the names of coding systems, by their URIs.
var systemNames = map[string]string{
	fhir.SystemLOINC: "LN", fhir.SystemSNOMED: "SCT", fhir.SystemUCUM: "UCUM", fhir.SystemICF: "ICF",
	fhir.SystemShoulder: OwnSystem,
}

// system is the URI of a coding system or an assigning authority by its name: from the
// site's configuration, else from the standard, else a URN with the name in it.
func (r *reader) system(name string) string {
	if uri := r.options.Systems[name]; uri != "" {
		return uri
	}
	if uri := systems[name]; uri != "" {
		return uri
	}
	if table, ok := strings.CutPrefix(name, "HL7"); ok && len(table) == 4 {
		return tables + table
	}
	if name == "" {
		return ""
	}
	return "urn:id:" + name
}

// tables is where HL7 terminology has the tables of version 2.
const tables = "http://terminology.hl7.org/CodeSystem/v2-"

// yesNo is table 0136.
const yesNo = tables + "0136"

// concept reads the codings of a coded field (CWE, or the older CE), those of all its
// repetitions.
func (r *reader) concept(f hl7v2.Field) (c fhir.CodeableConcept) {
	for _, one := range f.Repetitions() {
		for _, at := range [...]int{1, 4, 10} {
			if code := one.Text(at); code != "" {
				c.Coding = append(c.Coding, fhir.Coding{System: r.system(one.Text(at + 2)), Code: code, Display: one.Text(at + 1)})
			}
		}
		if c.Text == "" {
			c.Text = one.Text(9)
		}
	}
	return c
}

// nilIfEmpty is nil for an empty concept.
func nilIfEmpty(c fhir.CodeableConcept) *fhir.CodeableConcept {
	if c.IsEmpty() {
		return nil
	}
	return &c
}
