package fhirapi

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
)

// demand is the verdict on a demand of work or sport.
func demand() profile {
	criteria := []part{one(fhir.CodeDemandID, ofType("string")), several(fhir.CodeDemandHeldBy, codedBy("demand-hold"))}
	for _, k := range []struct {
		code  string
		value content
	}{
		{fhir.CodeDemandIndex, inUnit("%")},
		{fhir.CodeDemandRange, inUnit("deg")},
		{fhir.CodeDemandPain, inUnit("{score}")},
		{fhir.CodeDemandMeasure, ofType("Quantity")},
		{fhir.CodeDemandWeeks, inUnit("wk")},
	} {
		of := several(k.code, k.value)
		of.lacking = true
		criteria = append(criteria, of)
	}
	return profile{
		id: "demand", title: "Demand of work or sport",
		description: "How sure it is that the shoulder meets a demand of work or sport that the clinic's protocol lists: the verdict is that of the criterion that is met the least surely. Each criterion has a component with its value, its threshold as a reference range and, as the interpretation, how sure it is that the threshold is met; one that the latest session did not measure has a reason in place of the value, and leaves the verdict not clear at best. So does whatever keeps functional work closed, or sport; it is named.",
		code:        fhir.CodeDemand, value: codedBy("certainty"), derived: true, parts: criteria,
	}
}

// demandGroup is what a demand can wait for.
func demandGroup() group {
	return group{"demand-hold", "What a demand waits for", "What keeps the verdict on a demand of work or sport from being met, whatever its criteria say.",
		named(readiness.DemandHolds[:], holdName)}
}

func holdName(h readiness.DemandHold) string {
	return [...]string{"red flag", "doubt about a measurement", "finding to be settled", "incomplete record", "load that is not permitted yet", "functional work that is not open"}[h]
}

// demandActions are the demands of a protocol with their criteria in words; none for a
// protocol that has none.
func demandActions(p *protocol.Protocol) []action {
	if len(p.Demands) == 0 {
		return nil
	}
	all := make([]action, len(p.Demands))
	for i := range p.Demands {
		d := &p.Demands[i]
		all[i] = action{
			Title: words.Demand(d), Description: "Asks for " + strings.Join(words.DemandAsks(d, p), "; ") + ".",
			Code: []*codeableConcept{conceptOf(ours(fhir.CodeDemand))},
		}
		for _, source := range d.Sources() {
			all[i].Documentation = append(all[i].Documentation, cite(source))
		}
	}
	return []action{{Title: words.Headings.Demands, Description: definitions[fhir.CodeDemand], Action: all}}
}
