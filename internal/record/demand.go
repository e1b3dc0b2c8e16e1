package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addDemands adds the verdict on each demand of work and sport of the protocol.
func (b *builder) addDemands() {
	for i := range b.a.Readiness.Demands {
		b.addDemand(&b.a.Readiness.Demands[i])
	}
}

// addDemand adds one, with a component for each criterion that applies and for what holds it.
func (b *builder) addDemand(d *readiness.Demand) {
	o := b.observation(b.titled(fhir.CodeDemand, b.w.Demand(d.Row)), fhir.DateTime(b.dateTime(b.a.AsOf)))
	o.Encounter = b.encounter
	o.Value = b.own(d.Verdict.String(), b.w.Certainty(d.Verdict))
	o.Component = append(b.draft(), component(fhir.CodeDemandID, fhir.String(d.Row.ID)))
	for _, h := range d.Holds {
		o.Component = append(o.Component, component(fhir.CodeDemandHeldBy, b.own(h.String(), b.w.DemandHold(h, b.a.Readiness.Tissue.Healing.Phase))))
	}
	var used [][]shoulder.SourceID
	for i := range d.Criteria {
		if c := &d.Criteria[i]; c.Verdict != readiness.NotApplicable {
			o.Component = append(o.Component, b.demandCriterion(c))
			used = append(used, c.Sources)
		}
	}
	o.DerivedFrom = appendKnown(b.inputs.measured(used...), b.overall)
	b.addResult(o, fhir.CodeDemand+"/"+d.Row.ID)
}

// demandCriterion is what was measured, its threshold with its source, and how sure it is
// that the true value meets it.
func (b *builder) demandCriterion(c *readiness.DemandCriterion) fhir.Component {
	k := fhir.Component{Code: computed[c.Kind.String()], ReferenceRange: b.ownRange(c.Threshold)}
	k.Code.Text = b.w.DemandCriterionName(c)
	if c.Value == nil {
		k.DataAbsentReason = &notPerformed
		return k
	}
	k.Value = b.measured(*c.Value, c.Threshold.Unit, c.Threshold.Value)
	k.Interpretation = demandInterpretations[c.Certainty]
	return k
}

// demandInterpretations interpret a criterion by the standard code and ours.
var demandInterpretations = [...][]fhir.CodeableConcept{
	measure.ClearlyNot:  {withOwnCode(hl7(fhir.SystemInterpretation, "A"), measure.ClearlyNot.String())},
	measure.ProbablyNot: {withOwnCode(equivocal, measure.ProbablyNot.String())},
	measure.NotClear:    {withOwnCode(equivocal, measure.NotClear.String())},
	measure.ProbablyMet: {withOwnCode(equivocal, measure.ProbablyMet.String())},
	measure.ClearlyMet:  {withOwnCode(hl7(fhir.SystemInterpretation, "N"), measure.ClearlyMet.String())},
}
