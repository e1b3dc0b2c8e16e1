package record

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// addChanges adds what changed since the previous session and the first one:
// strength of each side, because one side is read against the other, and range,
// pain and outcome measures of the involved side. The change of an index stands with the index.
func (b *builder) addChanges() {
	changes := b.a.Measurements.Changes
	for i := range changes {
		c := &changes[i]
		shown := c.Subject == measure.StrengthChange || c.Subject != measure.SymmetryChange && c.Side == b.a.Episode.Involved
		if c.Against != measure.Previous || !shown || !b.a.Current(c.ToWhen) {
			continue
		}
		b.addChange(c, baselineOf(changes[i+1:], c))
	}
}

// baselineOf is the change since the first session, which the core lists behind
// the one since the previous session; nil if the two are the same.
func baselineOf(behind []measure.Change, previous *measure.Change) *measure.Change {
	if len(behind) == 0 || behind[0].Against != measure.Baseline || behind[0].FromWhen.Equal(previous.FromWhen) {
		return nil
	}
	return &behind[0]
}

func (b *builder) addChange(c, baseline *measure.Change) {
	o := b.observation(b.changeTitle(c), fhir.DateTime(b.dateTime(c.ToWhen)))
	o.Encounter = b.encounterAt(c.ToWhen)
	o.Value = b.difference(c)
	o.Interpretation = sinceLast(c.Direction)
	o.DerivedFrom = b.inputs.measured(c.Sources)
	if baseline != nil {
		o.DerivedFrom = b.inputs.measured(c.Sources, baseline.Sources)
	}
	o.Component = b.aboutChange(c)
	if c.Subject == measure.StrengthChange {
		o.Method = b.method(c.Setting.Instrument)
		o.BodySite = shoulderOf(c.Side)
	}
	o.Component = append(o.Component, fhir.Component{Code: currentCode(c), Value: b.measured(c.To, c.Unit)})
	o.Component = b.appendChange(o.Component, c, baseline)
	texts := []string{b.w.Change(c)}
	if baseline != nil {
		texts = append(texts, b.w.Change(baseline))
	}
	b.addResult(o, b.changeKey(c), texts...)
}

func (b *builder) changeTitle(c *measure.Change) fhir.CodeableConcept {
	switch c.Subject {
	case measure.RangeChange:
		return b.titled(fhir.CodeRangeChange, b.w.Movement(c.Movement))
	case measure.PainChange:
		return b.titled(fhir.CodePainChange, b.w.PainContext(c.Context))
	case measure.OutcomeChange:
		return b.titled(fhir.CodeOutcomeChange, b.w.Outcome(c.Outcome))
	}
	return b.settingTitle(fhir.CodeStrengthChange, c.Setting, b.w.Side(c.Side))
}

// currentCode is the code of the current value: the standard one if there is
// one.
func currentCode(c *measure.Change) fhir.CodeableConcept {
	switch c.Subject {
	case measure.RangeChange:
		return rangeConcept(c.Movement, c.Active)
	case measure.PainChange:
		return painScore
	case measure.OutcomeChange:
		return outcomeConcept(c.Outcome)
	}
	return computed[fhir.CodeCurrentValue]
}

// aboutChange is the components that say what changed.
func (b *builder) aboutChange(c *measure.Change) (all []fhir.Component) {
	switch c.Subject {
	case measure.StrengthChange:
		return b.settingComponents(c.Setting, 11)
	case measure.PainChange:
		if c.Context != shoulder.PainUnstated {
			all = append(all, component(fhir.CodePainContext, b.own(c.Context.String(), b.w.PainContext(c.Context))))
		}
	}
	if c.Position != shoulder.PositionUnstated {
		all = append(all, component(fhir.CodeArmPosition, b.own(c.Position.String(), b.w.Position(c.Position))))
	}
	return all
}

func (b *builder) changeKey(c *measure.Change) string {
	switch c.Subject {
	case measure.RangeChange:
		mode := "passive"
		if c.Active {
			mode = "active"
		}
		return b.join(fhir.CodeRangeChange, "/", c.Movement.String(), "/", mode, "/", c.Position.String())
	case measure.PainChange:
		return b.join(fhir.CodePainChange, "/", c.Context.String(), "/", c.Position.String())
	case measure.OutcomeChange:
		return b.join(fhir.CodeOutcomeChange, "/", c.Outcome.ID)
	}
	return b.settingKey(fhir.CodeStrengthChange, c.Setting, b.join(c.Side.String(), "/", c.Unit))
}

// appendChange adds the change since the previous session and, unless it is
// nil, since the first one.
func (b *builder) appendChange(all []fhir.Component, previous, baseline *measure.Change) []fhir.Component {
	all = b.appendSince(all, previous, sincePrevious)
	if baseline != nil {
		all = b.appendSince(all, baseline, sinceBaseline)
	}
	return all
}

// since is the codes of a change against one reference.
type since struct{ value, change, percent, detectable, direction, important string }

var (
	sincePrevious = since{
		fhir.CodePreviousValue, fhir.CodeChangePrevious, fhir.CodeChangePreviousPercent,
		fhir.CodeDetectablePrevious, fhir.CodeDirectionPrevious, fhir.CodeImportantPrevious,
	}
	sinceBaseline = since{
		fhir.CodeBaselineValue, fhir.CodeChangeBaseline, fhir.CodeChangeBaselinePercent,
		fhir.CodeDetectableBaseline, fhir.CodeDirectionBaseline, fhir.CodeImportantBaseline,
	}
)

func (b *builder) appendSince(all []fhir.Component, c *measure.Change, codes since) []fhir.Component {
	all = append(all,
		component(codes.value, b.measured(c.From, c.Unit)),
		component(codes.change, b.difference(c)))
	if c.Percent != nil {
		all = append(all, component(codes.percent, b.measured(*c.Percent, "%")))
	}
	all = append(all,
		component(codes.detectable, b.beside(c.Detectable, c.Unit, c.Difference.Abs())),
		component(codes.direction, b.own(c.Direction.String(), b.w.Direction(c.Direction))))
	if c.Outcome != nil && c.Outcome.Important != nil {
		important := component(codes.important, fhir.Boolean(c.Important))
		important.ReferenceRange = b.thresholdRange(*c.Outcome.Important)
		all = append(all, important)
	}
	return all
}

// difference is a change, written so that it does not seem to reach the smallest
// detectable one, or to stay under it, when it does not.
func (b *builder) difference(c *measure.Change) *fhir.Quantity {
	limit, err := exact.Parse(b.float(c.Detectable, inFull))
	if err != nil {
		return b.measured(c.Difference, c.Unit)
	}
	if c.Difference.Sign() < 0 {
		limit = limit.Neg()
	}
	return b.measured(c.Difference, c.Unit, limit)
}
