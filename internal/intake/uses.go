package intake

import (
	"cmp"
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// Use is what a code is for. A sender whose format does not tell the FHIR resource and
// element by itself, such as HL7 version 2, asks for it.
type Use uint8

// The uses.
const (
	NotRead      Use = iota
	Measurement      // the code of an Observation
	Component        // the code of a component of an Observation
	Confirmation     // the code of an Observation that confirms others
	Disorder         // the code of a Condition of the shoulder, or of a repair in history
	Repair           // the code of a Procedure on the cuff
)

// Use is what a code is for, be it a site's own or one that intake reads. A nil CodeMap
// knows only the latter.
func (m *CodeMap) Use(c fhir.Coding) Use {
	means := m.translate(code{c.Code, c.System}).code
	switch {
	case means.system == fhir.SystemShoulder && componentCodes[means.code] != 0:
		return Component
	case measures[means].kind == confirmation:
		return Confirmation
	case measures[means].kind != nothing:
		return Measurement
	case shoulderConditions[means] || historyOfRepair[means]:
		return Disorder
	case cuffRepairs[means] != shoulder.RepairUnstated:
		return Repair
	}
	return NotRead
}

// MeasurementCodes are the codes of the Observations that are read, the site's own included, in
// order.
func (m *CodeMap) MeasurementCodes() []fhir.Coding {
	return m.codesOf(Measurement, Confirmation)
}

// RepairCodes are the codes of the Procedures that are read, the site's own included, in order.
func (m *CodeMap) RepairCodes() []fhir.Coding { return m.codesOf(Repair) }

// codesOf are the codes of some uses.
func (m *CodeMap) codesOf(uses ...Use) []fhir.Coding {
	known := map[code]bool{}
	for c := range measures {
		known[c] = true
	}
	for c := range cuffRepairs {
		known[c] = true
	}
	if m != nil {
		for c := range m.meanings {
			known[c] = true
		}
	}
	var all []fhir.Coding
	for c := range known {
		if coding := (fhir.Coding{System: c.system, Code: c.code}); slices.Contains(uses, m.Use(coding)) {
			all = append(all, coding)
		}
	}
	slices.SortFunc(all, func(a, b fhir.Coding) int {
		return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Code, b.Code))
	})
	return all
}
