package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addSymmetries adds the deciding index of each motion and position, and the
// others of its session; or the one that is in doubt, which no result rests on.
func (b *builder) addSymmetries() {
	for i := range b.a.Readiness.Motions {
		for k := range b.a.Readiness.Motions[i].Positions {
			r := &b.a.Readiness.Motions[i]
			p := &r.Positions[k]
			if p.Doubted != nil {
				b.addSymmetry(p.Doubted, nil)
			}
			if p.Symmetry == nil {
				continue
			}
			b.indices[r.Motion][p.Position] = b.addSymmetry(p.Symmetry, p)
			for _, other := range p.Others {
				b.addSymmetry(other, nil)
			}
		}
	}
}

// addSymmetry adds one limb symmetry index with what changed; deciding is nil for one
// that decides nothing.
func (b *builder) addSymmetry(s *measure.Symmetry, deciding *readiness.PositionReadiness) fhir.Reference {
	even, goodEnough := b.a.Protocol.Symmetry.Even, b.a.Protocol.Symmetry.GoodEnough
	o := b.observation(b.settingTitle(fhir.CodeLimbSymmetryIndex, s.Setting), fhir.DateTime(b.dateTime(s.When)))
	o.Encounter = b.encounterOf(s.Session)
	o.Method = b.method(s.Instrument)
	o.Value = b.measured(s.Index, "%", even.Value, goodEnough.Value)
	o.ReferenceRange = b.thresholds
	doubts := b.doubtsAbout(s)
	previous, baseline := b.symmetryChange(s)
	o.Interpretation = b.interpretIndex(s, doubts)
	if previous != nil && previous.Direction != measure.Unchanged {
		o.Interpretation = append(o.Interpretation, directions[previous.Direction]...)
	}
	used := append(make([][]shoulder.SourceID, 0, 4), s.Involved.Sources, s.Comparison.Sources)
	o.DerivedFrom = b.inputs.measured(appendSources(used, previous, baseline)...)

	o.Component = b.settingComponents(s.Setting)
	o.Component = b.appendDoubts(o.Component, doubts)
	o.Component = b.appendInterval(o.Component, s)
	o.Component = append(o.Component,
		component(fhir.CodeProbabilityAtThreshold, b.estimate(100*s.ProbabilityEven, 1, "%")),
		component(fhir.CodeProbabilityGoodEnough, b.estimate(100*s.ProbabilityGoodEnough, 1, "%")))
	o.Component = b.appendScores(o.Component, s)
	if deciding != nil {
		o.Component = b.appendEarlier(o.Component, deciding)
	}
	o.Component = b.appendEarlierBest(o.Component, s)
	o.Component = b.appendDominance(o.Component, s)
	if previous != nil {
		o.Component = append(o.Component, b.changed(fhir.CodeChangePrevious, previous))
	}
	if baseline != nil {
		o.Component = append(o.Component, b.changed(fhir.CodeChangeBaseline, baseline))
	}
	o.Note = notes(append(b.doubtTexts(doubts), b.w.SymmetryNotes(s)...)...)
	return b.addResult(o, b.symmetryKey(s))
}

// symmetryKey distinguishes the indices of one setting: of forces and of torques, and of
// several sessions.
func (b *builder) symmetryKey(s *measure.Symmetry) string {
	return b.settingKey(fhir.CodeLimbSymmetryIndex, s.Setting, b.join(s.Involved.Dimension.String(), "/", b.instant(s.When)))
}

// appendInterval adds Fieller's interval. A set that is not bounded, or that excludes the
// middle, is written as the whole line, which contains it.
func (b *builder) appendInterval(all []fhir.Component, s *measure.Symmetry) []fhir.Component {
	if s.Interval.Bounds != measure.Bounded {
		from, to := component(fhir.CodeIntervalLow, nil), component(fhir.CodeIntervalHigh, nil)
		from.DataAbsentReason, to.DataAbsentReason = &minusInfinity, &plusInfinity
		return append(all, from, to)
	}
	even, goodEnough := b.a.Protocol.Symmetry.Even.Value, b.a.Protocol.Symmetry.GoodEnough.Value
	return append(all,
		component(fhir.CodeIntervalLow, b.estimateNear(s.Interval.Low, "%", even, goodEnough)),
		component(fhir.CodeIntervalHigh, b.estimateNear(s.Interval.High, "%", even, goodEnough)))
}

// appendScores adds the strengths of both sides, because an index looks good when both are
// weak.
func (b *builder) appendScores(all []fhir.Component, s *measure.Symmetry) []fhir.Component {
	involved, comparison := s.Involved.Value, s.Comparison.Value
	if s.Dimension == shoulder.Torque && s.Involved.Torque != nil && s.Comparison.Torque != nil {
		involved, comparison = *s.Involved.Torque, *s.Comparison.Torque
	}
	unit := s.Dimension.Unit()
	all = append(all,
		component(fhir.CodeInvolvedStrength, b.measured(involved, unit)),
		component(fhir.CodeComparisonStrength, b.measured(comparison, unit)))
	all = b.appendByMass(all, fhir.CodeInvolvedByMass, s.Involved)
	all = b.appendByMass(all, fhir.CodeComparisonByMass, s.Comparison)
	return append(all,
		b.standardError(fhir.CodeInvolvedError, s.Involved),
		b.standardError(fhir.CodeComparisonError, s.Comparison))
}

func (b *builder) appendByMass(all []fhir.Component, code string, s *measure.Score) []fhir.Component {
	byMass, ok := s.ByMass()
	if !ok {
		return all
	}
	if s.Dimension == shoulder.Torque {
		return append(all, component(code, b.measured(byMass, "N.m/kg")))
	}
	return append(all, component(code, b.measured(byMass, "N/kg", b.a.Protocol.Symmetry.Weak.Value)))
}

// symmetryChange is the change of an index since the previous session, nil if
// there is none, and since the first one, nil if that is the same.
func (b *builder) symmetryChange(s *measure.Symmetry) (previous, baseline *measure.Change) {
	changes := b.a.Measurements.Changes
	for i := range changes {
		c := &changes[i]
		if c.Subject == measure.SymmetryChange && c.Against == measure.Previous &&
			c.Setting == s.Setting && c.ToWhen.Equal(s.When) && c.To.Cmp(s.Index) == 0 {
			return c, baselineOf(changes[i+1:], c)
		}
	}
	return nil, nil
}
