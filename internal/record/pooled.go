package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addPooled adds what all sessions of a rotation and position show together,
// because it can confirm evenness.
func (b *builder) addPooled(p *readiness.PositionReadiness) fhir.Reference {
	even, goodEnough, last := b.a.Protocol.Symmetry.Even, b.a.Protocol.Symmetry.GoodEnough, p.Symmetry
	sessions := b.a.Measurements.DecidingIndices(last.Rotation, last.Position)
	effective := &fhir.Period{Start: b.dateTime(sessions[0].When), End: b.dateTime(last.When)}
	title := b.titled(fhir.CodePooledSymmetryIndex, b.w.Rotation(last.Rotation), b.w.Position(last.Position))
	o := b.observation(title, effective)
	o.Value = b.beside(p.Pooled.Index, "%", even.Value, goodEnough.Value)
	o.ReferenceRange = b.even
	used := make([][]shoulder.SourceID, 0, 2*len(sessions))
	for _, s := range sessions {
		used = append(used, s.Involved.Sources, s.Comparison.Sources)
	}
	o.DerivedFrom = b.inputs.measured(used...)

	probability := component(fhir.CodeProbabilityAtThreshold, b.beside(100*p.Pooled.ProbabilityEven, "%", b.a.Protocol.Symmetry.Pooled.Value))
	probability.ReferenceRange = b.thresholdRange(b.a.Protocol.Symmetry.Pooled)
	drift := b.a.Protocol.Symmetry.Drift
	o.Component = []fhir.Component{
		b.motionComponent(last.Rotation),
		component(fhir.CodeArmPosition, b.own(last.Position.String(), b.w.Position(last.Position))),
		component(fhir.CodeIntervalLow, b.beside(p.Pooled.Low, "%", even.Value, goodEnough.Value)),
		component(fhir.CodeIntervalHigh, b.beside(p.Pooled.High, "%", even.Value, goodEnough.Value)),
		probability,
		component(fhir.CodeSessions, fhir.Integer(p.Pooled.Sessions)),
		cited(fhir.CodeDrift, b.quantity(drift.Value.String(), "%/wk"), drift.Source),
	}
	key := b.join(fhir.CodePooledSymmetryIndex, "/", last.Rotation.String(), "/", last.Position.String())
	return b.addResult(o, key, title.Text)
}
