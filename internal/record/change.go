package record

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// addChanges adds what changed since the previous session and the first one: strength,
// range, pain and outcome measures. The change of an index is part of the index.
func (b *builder) addChanges() {
	changes := b.a.Measurements.Changes
	for i := range changes {
		c := &changes[i]
		if c.Against != measure.Previous || c.Subject == measure.SymmetryChange || !b.a.Current(c.ToWhen) {
			continue
		}
		if baseline := baselineOf(changes[i+1:], c); b.isShown(c, baseline) {
			b.addChange(c, baseline)
		}
	}
}

// isShown reports whether a change is shown: every change of the involved side, and a
// change of the other side's strength if it is beyond error, because the index depends on
// it. Where no side is unaffected, the changes of both are shown.
func (b *builder) isShown(previous, baseline *measure.Change) bool {
	if previous.Side == b.a.Episode.Involved {
		return true
	}
	beyondError := previous.Direction != measure.Unchanged || baseline != nil && baseline.Direction != measure.Unchanged
	return previous.Subject == measure.StrengthChange && (beyondError || b.a.Readiness.ComparisonAffected)
}

// baselineOf is the change since the first session, which follows the one since the
// previous session in the list; nil if the two are the same.
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
	o.Interpretation = directions[c.Direction]
	o.DerivedFrom = b.inputs.measured(appendSources(make([][]shoulder.SourceID, 0, 2), c, baseline)...)
	o.Component = b.aboutChange(c)
	if c.Subject == measure.StrengthChange {
		o.Method = b.method(c.Setting.Instrument)
		o.BodySite = shoulderOf(c.Side)
		b.strengthChanges = append(b.strengthChanges, c)
	}
	o.Component = b.appendEarlierValue(o.Component, c)
	o.Component = b.appendImportant(o.Component, fhir.CodeImportantPrevious, c)
	if baseline != nil {
		if c.Subject == measure.StrengthChange {
			b.strengthChanges = append(b.strengthChanges, baseline)
		}
		o.Component = append(o.Component, b.changed(fhir.CodeChangeBaseline, baseline), component(fhir.CodeDetectableBaseline, b.detectable(baseline)))
	}
	o.Component = b.appendImportant(o.Component, fhir.CodeImportantBaseline, baseline)
	b.addResult(o, b.changeKey(c))
}

// appendSources adds the inputs of changes, of which each may be nil.
func appendSources(all [][]shoulder.SourceID, changes ...*measure.Change) [][]shoulder.SourceID {
	for _, c := range changes {
		if c != nil {
			all = append(all, c.Sources)
		}
	}
	return all
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

// appendEarlierValue adds the value that the change is from, and the smallest detectable
// change. The present value of a range or a pain score is added under its standard code.
func (b *builder) appendEarlierValue(all []fhir.Component, c *measure.Change) []fhir.Component {
	now := fhir.Component{Value: b.measured(c.To, c.Unit)}
	switch c.Subject {
	case measure.RangeChange:
		now.Code = rangeConcept(c.Movement, c.Active)
		all = append(all, now)
	case measure.PainChange:
		now.Code = painScore
		all = append(all, now)
	case measure.OutcomeChange:
		now.Code = outcomeConcept(c.Outcome)
		all = append(all, now)
	}
	return append(all,
		component(fhir.CodePreviousValue, b.measured(c.From, c.Unit)),
		component(fhir.CodeDetectablePrevious, b.detectable(c)))
}

// aboutChange is the components that say what changed.
func (b *builder) aboutChange(c *measure.Change) []fhir.Component {
	all := b.draft()
	switch c.Subject {
	case measure.StrengthChange:
		return b.settingComponents(c.Setting)
	case measure.PainChange:
		if c.Context != shoulder.PainUnstated {
			all = append(all, component(fhir.CodePainContext, b.coded(c.Context)))
		}
	}
	if c.Position != shoulder.PositionUnstated {
		all = append(all, component(fhir.CodeArmPosition, b.coded(c.Position)))
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

// changed is a component with a change and its interpretation by measurement error.
func (b *builder) changed(code string, c *measure.Change) fhir.Component {
	change := component(code, b.difference(c))
	change.Interpretation = directions[c.Direction]
	return change
}

// appendImportant adds whether the change of an outcome measure is large enough to matter
// to patients.
func (b *builder) appendImportant(all []fhir.Component, code string, c *measure.Change) []fhir.Component {
	if c == nil || c.Outcome == nil || c.Outcome.Important == nil {
		return all
	}
	important := component(code, fhir.Boolean(c.Important))
	important.ReferenceRange = b.ownRange(*c.Outcome.Important)
	return append(all, important)
}

// detectable is the smallest detectable change.
func (b *builder) detectable(c *measure.Change) *fhir.Quantity {
	return b.estimateNear(c.Detectable, c.Unit, c.Difference.Abs())
}

// difference is a change, rounded so that the written number compares with the smallest
// detectable change as the exact one does.
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
