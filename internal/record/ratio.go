package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
)

// addRatios adds the current ratio of external to internal rotation strength
// of each side and position: those of the latest session that has any.
func (b *builder) addRatios() {
	for _, r := range b.a.Measurements.LatestRatios() {
		if b.a.Current(r.External.When) {
			b.addRatio(r)
		}
	}
}

func (b *builder) addRatio(r *measure.Ratio) {
	s := r.External
	o := b.observation(b.titled(fhir.CodeRotationRatio, b.w.Position(s.Position), b.w.Side(s.Side)), fhir.DateTime(b.dateTime(s.When)))
	o.Encounter = b.encounterOf(s.Session)
	o.BodySite = shoulderOf(s.Side)
	o.Method = b.method(s.Instrument)
	o.Value = b.measured(r.Value, "{ratio}", r.Band.Low, r.Band.High)
	o.Interpretation = bandInterpretation(r.Relation)
	o.ReferenceRange = []fhir.ReferenceRange{{
		Low:  b.quantity(r.Band.Low.String(), "{ratio}"),
		High: b.quantity(r.Band.High.String(), "{ratio}"),
	}}
	o.DerivedFrom = b.inputs.measured(r.External.Sources, r.Internal.Sources)
	o.Component = b.settingComponents(s.Setting)[1:] // both rotations are in the code
	key := b.settingKey(fhir.CodeRotationRatio, s.Setting, b.join(s.Side.String(), "/", s.Dimension.String()))
	b.addResult(o, key)
}

func bandInterpretation(p measure.BandRelation) []fhir.CodeableConcept {
	switch p {
	case measure.BelowBand:
		return low
	case measure.AboveBand:
		return high
	}
	return normal
}
