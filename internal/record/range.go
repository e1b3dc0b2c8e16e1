package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/readiness"
)

// addRanges adds, for each elevated position, the active range that opens it as
// a share of full range. All motions ask for the same range.
func (b *builder) addRanges() {
	for i := range b.a.Readiness.Gates() {
		p := &b.a.Readiness.Gates()[i]
		if p.Position.Elevated() && p.Range.Value != nil {
			b.ranges[p.Position] = b.addRange(p)
		}
	}
}

func (b *builder) addRange(p *readiness.PositionReadiness) fhir.Reference {
	c := &p.Range
	movement := p.Position.Elevation()
	o := b.observation(b.titled(fhir.CodeRangeFraction, b.w.Movement(movement)), fhir.DateTime(b.dateTime(c.When)))
	o.Encounter = b.encounterAt(c.When)
	o.Value = b.measured(*c.Value, "%", c.Threshold.Value)
	o.ReferenceRange = b.thresholdRange(c.Rule.String(), c.Threshold)
	o.Interpretation = interpretAgainst(*c.Value, c.Threshold)
	o.DerivedFrom = b.inputs.measured(c.Sources)
	o.Component = []fhir.Component{component(fhir.CodeArmPosition, b.coded(p.Position))}
	if c.Measured != nil && c.Needed != nil {
		needed := *c.Needed
		if minimum := p.RangeMinimum.Needed; minimum != nil && minimum.Cmp(needed) > 0 {
			needed = *minimum
		}
		measured := fhir.Component{Code: rangeConcept(movement, true), Value: b.measured(*c.Measured, "deg", needed)}
		o.Component = append(o.Component, measured,
			component(fhir.CodeRangeNeeded, b.needed(*c.Measured, needed, "deg")))
	}
	return b.addResult(o, fhir.CodeRangeFraction+"/"+p.Position.String())
}
