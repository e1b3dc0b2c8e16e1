package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addReadiness adds where each trained motion stands, and the overall status.
func (b *builder) addReadiness() {
	for i := range b.a.Readiness.Trained() {
		b.rotation = append(b.rotation, b.addRotation(i))
	}
	b.overall = b.addOverall()
}

// addRotation adds the open step of a rotation, with one component for the
// verdict of each criterion and one for the value that was held against its
// threshold.
func (b *builder) addRotation(i int) fhir.Reference {
	r := &b.a.Readiness.Rotations[i]
	o := b.observation(b.titled(fhir.CodeRotationReadiness, b.w.Rotation(r.Rotation)), fhir.DateTime(b.dateTime(b.a.AsOf)))
	o.Encounter = b.encounter
	o.Value = b.own(r.Step.String(), b.w.Step(r.Step))
	o.Component = make([]fhir.Component, 0, 48)
	o.Component = append(o.Component, b.motionComponent(r.Rotation))
	o.Component = b.appendStep(o.Component, r)

	tissue := &b.a.Readiness.Tissue.Criterion
	o.Component = b.appendCriterion(o.Component, r.Rotation, tissue)
	used := [][]shoulder.SourceID{tissue.Sources}
	for k := range b.a.Readiness.Outcomes {
		c := &b.a.Readiness.Outcomes[k]
		o.Component = b.appendCriterion(o.Component, r.Rotation, c)
		used = append(used, c.Sources)
	}
	for k := range r.Positions {
		for _, c := range r.Positions[k].Criteria() {
			o.Component = b.appendCriterion(o.Component, r.Rotation, c)
			used = append(used, c.Sources)
		}
	}
	o.DerivedFrom = append(b.inputs.measured(used...), b.computedFor(r.Rotation)...)
	return b.addResult(o, fhir.CodeRotationReadiness+"/"+r.Rotation.String(), b.report.Why(i)...)
}

// computedFor refers to the results of ours that a rotation was judged by.
func (b *builder) computedFor(motion shoulder.Rotation) (references []fhir.Reference) {
	for _, list := range [...]byPosition{b.indices[motion], b.pooled[motion], b.ranges} {
		for _, r := range list {
			if r.Reference != "" {
				references = append(references, r)
			}
		}
	}
	return references
}

// appendStep adds what is open beside the step, and what holds the next one.
func (b *builder) appendStep(all []fhir.Component, r *readiness.RotationReadiness) []fhir.Component {
	if r.Next != readiness.NoStep {
		all = append(all, component(fhir.CodeNextStep, b.own(r.Next.String(), b.w.Step(r.Next))))
	}
	for _, c := range r.Holding {
		all = append(all, component(fhir.CodeHeldBy, b.partsOf(c).name))
	}
	for _, c := range r.HoldingFree {
		all = append(all, component(fhir.CodeSupportedBy, b.partsOf(c).name))
	}
	for _, p := range r.Beside {
		all = append(all, component(fhir.CodeContinueBeside, b.own(p.String(), b.w.Position(p))))
	}
	if r.SteppedBack != nil {
		all = append(all, component(fhir.CodeSteppedBack, b.own(r.SteppedBack.Position.String(), b.w.Position(r.SteppedBack.Position))))
	}
	if r.Step != readiness.NoStep {
		all = append(all, component(fhir.CodeProvisional, fhir.Boolean(r.Provisional)))
	}
	return all
}

// criterionParts is what all criteria of one rule and position share: both
// rotations are judged by the same ones.
type criterionParts struct {
	name      *fhir.CodeableConcept // of the verdict
	value     *fhir.CodeableConcept // of what was held against the threshold
	threshold []fhir.ReferenceRange
}

func (b *builder) partsOf(c *readiness.Criterion) *criterionParts {
	if c.Outcome != nil {
		return b.outcomeParts(c)
	}
	parts := &b.criteria[c.Rule][c.Position]
	if parts.name != nil {
		return parts
	}
	position := ""
	if c.Position != shoulder.PositionUnstated {
		position = b.w.Position(c.Position)
	}
	code, rule := CriterionCode(c.Rule, c.Position), b.w.Rule(c.Rule)
	parts.name = b.own(code, titledText(rule, position))
	parts.value = b.own(code+fhir.SuffixValue, rule)
	return parts
}

// outcomeParts are those of a criterion about an outcome measure, which its text
// names.
func (b *builder) outcomeParts(c *readiness.Criterion) *criterionParts {
	name := b.w.Outcome(c.Outcome)
	return &criterionParts{
		name:      b.own(c.Rule.String(), titledText(b.w.Rule(c.Rule), name)),
		value:     b.own(c.Rule.String()+fhir.SuffixValue, name),
		threshold: b.thresholdRange(c.Threshold),
	}
}

// appendCriterion adds the verdict on a criterion, whose code says rule and arm
// position and whose text says why. If the criterion is about a number or a
// grade, what was held against its threshold follows under the same code with
// the suffix -value; there the reference range gives threshold and source.
func (b *builder) appendCriterion(all []fhir.Component, rotation shoulder.Rotation, c *readiness.Criterion) []fhir.Component {
	verdict := fhir.Component{Code: *b.partsOf(c).name}
	if c.Verdict == readiness.NotApplicable {
		verdict.Value = b.own(c.Verdict.String(), b.w.Verdict(c.Verdict))
		return append(all, verdict)
	}
	verdict.Value = b.own(c.Verdict.String(), b.w.Criterion(c, rotation, b.a.Episode.Involved))
	if c.Certainty == measure.WithinError {
		verdict.Interpretation = b.withinError()
	}
	all = append(all, verdict)
	if c.Threshold.Source == "" {
		return all
	}
	return append(all, b.criterionValue(c))
}

// criterionValue is what was held against the threshold of a criterion, or that
// there is no such value.
func (b *builder) criterionValue(c *readiness.Criterion) fhir.Component {
	value := fhir.Component{Code: *b.partsOf(c).value, ReferenceRange: b.criterionRange(c)}
	switch {
	case c.Grade != shoulder.GradeUnknown:
		value.Value = fhir.String(c.Grade.String())
	case c.Value != nil:
		value.Value = b.measured(*c.Value, c.Threshold.Unit, c.Threshold.Value)
		value.Interpretation = against(*c.Value, c.Threshold)
	default:
		value.DataAbsentReason = &unknown
	}
	return value
}

// criterionRange is the threshold of a criterion with its source. The threshold
// of a grade is no quantity.
func (b *builder) criterionRange(c *readiness.Criterion) []fhir.ReferenceRange {
	if c.Grade != shoulder.GradeUnknown {
		t := b.a.Protocol.Grade.GoodEnough
		return []fhir.ReferenceRange{{Kind: &recommended, Text: t.Comparison.String() + " " + t.Value.String() + "; " + t.Source}}
	}
	if c.Basis == readiness.ChangeFromFirst {
		return b.thresholdRange(c.Threshold) // the change that this test can detect
	}
	parts := b.partsOf(c)
	if parts.threshold == nil {
		parts.threshold = b.thresholdRange(c.Threshold)
	}
	return parts.threshold
}

// withinError is the standard code for a doubtful result, with ours.
func (b *builder) withinError() []fhir.CodeableConcept {
	if b.doubtful == nil {
		ours := fhir.Coding{System: fhir.SystemShoulder, Code: measure.WithinError.String()}
		b.doubtful = []fhir.CodeableConcept{{Coding: []fhir.Coding{equivocal.Coding[0], ours}, Text: b.w.Certainty(measure.WithinError)}}
	}
	return b.doubtful
}

// addOverall adds the status of the shoulder, as a panel of both rotations.
func (b *builder) addOverall() fhir.Reference {
	status := b.a.Readiness.Overall
	o := b.observation(computed[fhir.CodeOverallReadiness], fhir.DateTime(b.dateTime(b.a.AsOf)))
	o.Encounter = b.encounter
	o.Value = b.own(status.String(), b.w.Overall(status))
	irritability := b.a.Plan.Irritability
	o.Component = make([]fhir.Component, 0, 16)
	o.Component = append(o.Component, component(fhir.CodeIrritability, b.own("irritability-"+irritability.String(), b.w.Irritability(irritability))))
	o.Component = b.appendHolding(o.Component)
	o.Component = b.appendHealing(o.Component)
	used := make([][]shoulder.SourceID, 0, 8)
	for _, c := range b.a.Readiness.Function.Criteria() {
		o.Component = b.appendCriterion(o.Component, shoulder.RotationUnknown, c)
		used = append(used, c.Sources)
	}
	o.HasMember = b.rotation
	o.DerivedFrom = append(b.inputs.measured(used...), b.flags...)
	o.Note = b.cautions()
	texts := append([]string{b.w.Overall(status)}, b.flagTexts()...)
	return b.addResult(o, fhir.CodeOverallReadiness, append(texts, b.w.Healing(&b.a.Readiness.Tissue, b.a.Readiness.Examine())...)...)
}

// appendHealing adds the load that is permitted now and the one that comes next,
// where a repair or a statement limits it.
func (b *builder) appendHealing(all []fhir.Component) []fhir.Component {
	h := &b.a.Readiness.Tissue.Healing
	if h.Basis == healing.NoRepair {
		return all
	}
	all = append(all, component(fhir.CodePermittedLoad, b.own(h.Phase.String(), b.w.LoadPhase(h.Phase))))
	if h.Next == h.Phase {
		return all
	}
	all = append(all, component(fhir.CodeNextLoad, b.own(h.Next.String(), b.w.LoadPhase(h.Next))))
	return b.appendDate(all, fhir.CodeNextLoadDate, h.NextDate)
}

// cautions are what the reader must not lose sight of.
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
