package record

import (
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addReadiness adds the readiness of each trained motion, and the overall status.
func (b *builder) addReadiness() {
	for i := range b.a.Readiness.Trained() {
		b.motion = append(b.motion, b.addMotion(i))
	}
	b.overall = b.addOverall()
}

// addRotation adds the open step of a rotation, with a component for the verdict on each
// criterion of its strength. The criteria that both rotations share are part of the
// overall status.
func (b *builder) addMotion(i int) fhir.Reference {
	r := &b.a.Readiness.Motions[i]
	o := b.observation(b.titled(fhir.CodeRotationReadiness, b.w.Motion(r.Motion)), fhir.DateTime(b.dateTime(b.a.AsOf)))
	o.Encounter = b.encounter
	o.Value = b.own(r.Step.String(), b.w.Step(r.Step))
	o.Component = append(b.draft(), b.motionComponent(r.Motion))
	o.Component = b.appendStep(o.Component, r)

	var used [][]shoulder.SourceID
	for k := range r.Positions {
		for _, c := range judgedStrength(&r.Positions[k]) {
			o.Component = b.appendCriterion(o.Component, r.Motion, c)
			used = append(used, usedBy(c)...)
		}
	}
	o.DerivedFrom = appendKnown(b.inputs.measured(used...), b.indices[r.Motion][:]...)
	return b.addResult(o, fhir.CodeRotationReadiness+"/"+r.Motion.String())
}

// judgedStrength are the criteria of strength in a position. Confirmation is asked of what
// is even alone.
func judgedStrength(p *readiness.PositionReadiness) []*readiness.Criterion {
	all := p.Strength()
	if p.Even.Verdict != readiness.Met {
		all = slices.DeleteFunc(all, func(c *readiness.Criterion) bool { return c.Rule == readiness.EvenConfirmed })
	}
	return all
}

// usedBy are the inputs of a criterion that no other result is about.
func usedBy(c *readiness.Criterion) [][]shoulder.SourceID {
	if hasResult(c) {
		return nil
	}
	return [][]shoulder.SourceID{c.Sources}
}

// appendStep adds what else is open at the step, and what holds back the next one.
func (b *builder) appendStep(all []fhir.Component, r *readiness.MotionReadiness) []fhir.Component {
	if r.Next != readiness.NoStep {
		all = append(all, component(fhir.CodeNextStep, b.coded(r.Next)))
	}
	for _, c := range r.Holding {
		all = append(all, component(fhir.CodeHeldBy, b.heldBy(c, r.Motion)))
	}
	for _, c := range r.HoldingFree {
		all = append(all, component(fhir.CodeSupportedBy, b.heldBy(c, r.Motion)))
	}
	for _, p := range r.Beside {
		all = append(all, component(fhir.CodeContinueBeside, b.coded(p)))
	}
	if r.SteppedBack != nil {
		all = append(all, component(fhir.CodeSteppedBack, b.coded(r.SteppedBack.Position)))
	}
	if r.Provisional {
		all = append(all, component(fhir.CodeProvisional, fhir.Boolean(true)))
	}
	return all
}

// heldBy is a criterion that holds back a step, and why.
func (b *builder) heldBy(c *readiness.Criterion, r shoulder.Motion) *fhir.CodeableConcept {
	return b.own(CriterionCode(c.Rule, c.Position), b.w.Criterion(c, r, b.a.Episode.Involved))
}

// criterionCodes are the codes of criteria and of the values that were compared with their
// thresholds, by rule and position.
var criterionCodes = func() (all [len(readiness.Rules)][len(shoulder.Positions) + 1]struct{ verdict, value fhir.CodeableConcept }) {
	for _, r := range readiness.Rules {
		for p := range all[r] {
			code := CriterionCode(r, shoulder.ArmPosition(p))
			all[r][p].verdict, all[r][p].value = ownCode(code), ownCode(code+fhir.SuffixValue)
		}
	}
	return all
}()

// appendCriterion adds the verdict on a criterion that applies, under the code of its rule
// and arm position, with a text where the numbers do not explain it. If no other result
// has the value that was compared with the threshold, it follows under the same code with
// the suffix -value.
func (b *builder) appendCriterion(all []fhir.Component, motion shoulder.Motion, c *readiness.Criterion) []fhir.Component {
	if c.Verdict == readiness.NotApplicable {
		return all
	}
	verdict := fhir.Component{Code: criterionCodes[c.Rule][c.Position].verdict}
	why := ""
	if !isSelfExplanatory(c) {
		why = b.w.Criterion(c, motion, b.a.Episode.Involved)
	}
	verdict.Value = b.own(c.Verdict.String(), why)
	verdict.Interpretation = unsure[c.Certainty]
	all = append(all, verdict)
	if hasResult(c) || c.Value == nil && c.Grade == shoulder.GradeUnknown {
		return all
	}
	return append(all, b.criterionValue(c))
}

// isSelfExplanatory reports whether a verdict follows from a value and its threshold, or
// from the absence of a value, alone.
func isSelfExplanatory(c *readiness.Criterion) bool {
	switch c.Basis {
	case readiness.NoBasis, readiness.Dynamometry, readiness.ManualTest:
		return c.Rule < readiness.AllMeasured && c.Outcome == nil // which of them only the text tells
	}
	return false
}

// hasResult reports whether another component or result has the value of a criterion.
func hasResult(c *readiness.Criterion) bool {
	switch c.Rule {
	case readiness.GoodEnough, readiness.Even, readiness.EvenConfirmed: // the index has it
		return c.Grade == shoulder.GradeUnknown && c.Basis != readiness.ChangeFromFirst
	}
	return !HasValue(c.Rule)
}

// HasValue reports whether the criteria of a rule may have a component for the value that
// was compared with the threshold. A range has a result of its own; the weeks since a
// repair are given with the first criterion of healing.
func HasValue(r readiness.Rule) bool {
	switch r {
	case readiness.LoadPermitted, readiness.RangeOpen, readiness.RangeMinimum:
		return false
	}
	return true
}

// criterionValue is the value that was compared with the threshold of a criterion. The
// threshold of a grade is no quantity.
func (b *builder) criterionValue(c *readiness.Criterion) fhir.Component {
	value := fhir.Component{Code: criterionCodes[c.Rule][c.Position].value}
	if c.Grade != shoulder.GradeUnknown {
		t := b.a.Protocol.Grade.GoodEnough
		value.Value = fhir.String(c.Grade.String())
		value.ReferenceRange = []fhir.ReferenceRange{{Kind: ruleConcepts[c.Rule.String()], Text: t.Comparison.String() + " " + t.Value.String()}}
		return value
	}
	value.Value = b.measured(*c.Value, c.Threshold.Unit, c.Threshold.Value)
	value.ReferenceRange = b.thresholdRange(c.Rule.String(), c.Threshold)
	if c.Outcome != nil {
		value.Code.Text = b.w.Outcome(c.Outcome)
		value.ReferenceRange = b.ownRange(c.Threshold)
	}
	return value
}

// addOverall adds the status of the shoulder, as a panel of both rotations, with the
// verdicts on what they share.
func (b *builder) addOverall() fhir.Reference {
	status := b.a.Readiness.Overall
	o := b.observation(b.titled(fhir.CodeOverallReadiness), fhir.DateTime(b.dateTime(b.a.AsOf)))
	o.Encounter = b.encounter
	o.Value = b.own(status.String(), b.w.Status(b.a.Readiness))
	irritability := b.a.Plan.Irritability
	o.Component = append(b.draft(), component(fhir.CodeIrritability, b.own("irritability-"+irritability.String(), "")))
	o.Component = b.appendHolding(o.Component)
	o.Component = b.appendHealing(o.Component)
	used := make([][]shoulder.SourceID, 0, 8)
	for _, c := range b.shared() {
		o.Component = b.appendCriterion(o.Component, shoulder.MotionUnknown, c)
		used = append(used, usedBy(c)...)
	}
	o.HasMember = b.motion
	o.DerivedFrom = append(appendKnown(b.usedByOverall(used), b.ranges[:]...), b.flags...)
	return b.addResult(o, fhir.CodeOverallReadiness)
}

// usedByOverall are the inputs of the overall status. Those of the sessions before the
// latest, where they decide, stand with the course, which takes their place.
func (b *builder) usedByOverall(used [][]shoulder.SourceID) []fhir.Reference {
	if b.a.Readiness.Function.AllEven.Value == nil || b.course.Reference == "" {
		return b.inputs.measured(used...)
	}
	return append(b.inputs.measuredBeside(b.courseInputs, used), b.course)
}

// shared are the criteria of both rotations: healing, the conditions for training in each
// position, and those for functional work.
func (b *builder) shared() []*readiness.Criterion {
	r := b.a.Readiness
	all := append(make([]*readiness.Criterion, 0, 24), &r.Tissue.Criterion)
	for i := range r.Outcomes {
		all = append(all, &r.Outcomes[i])
	}
	for i := range r.Gates() {
		all = append(all, r.Gates()[i].Gates()...)
	}
	return append(all, r.Function.Criteria()...)
}

// appendHealing adds the load that is permitted now and the one that comes next,
// where a repair or a statement limits it.
func (b *builder) appendHealing(all []fhir.Component) []fhir.Component {
	h := &b.a.Readiness.Tissue.Healing
	if h.Basis == healing.NoRepair {
		return all
	}
	all = append(all, component(fhir.CodePermittedLoad, b.coded(h.Phase)))
	if h.Next == h.Phase {
		return all
	}
	all = append(all, component(fhir.CodeNextLoad, b.coded(h.Next)))
	return b.appendDate(all, fhir.CodeNextLoadDate, h.NextDate)
}

// cautions are the cautions of the plan as notes.
func (b *builder) cautions() []fhir.Annotation {
	texts := make([]string, len(b.a.Plan.Cautions))
	for i, c := range b.a.Plan.Cautions {
		texts[i] = b.w.Caution(c)
	}
	return notes(texts...)
}

// titledText joins a title and a text, either of which may be missing.
func titledText(title, text string) string {
	if title == "" || text == "" {
		return title + text
	}
	return title + ": " + text
}
