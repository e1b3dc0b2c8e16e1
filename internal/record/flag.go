package record

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// addFlags adds the red flags before all other results, including those that a clinician
// has examined.
func (b *builder) addFlags() {
	flags := b.a.Readiness.Flags
	for i := range flags {
		ref := b.addFlag(&flags[i])
		b.flags = append(b.flags, ref)
		if flags[i].Holds() {
			b.holding = append(b.holding, ref)
		}
	}
}

func (b *builder) addFlag(f *redflag.Flag) fhir.Reference {
	name := b.w.FlagName(f.Code)
	o := b.observation(b.titled(fhir.CodeRedFlag, name), fhir.DateTime(b.dateTime(f.Now.When)))
	o.Encounter = b.encounterAt(f.Now.When)
	o.Value = b.own(f.Code.String(), name)
	used := [][]shoulder.SourceID{f.Sources}
	if f.Holds() {
		o.Interpretation = abnormal
	} else {
		used = append(used, []shoulder.SourceID{f.Examined.Source})
	}
	o.DerivedFrom = b.inputs.measured(used...)
	o.Component = b.appendFlagged(b.flagState(f), f)
	o.Component = b.appendBothValues(o.Component, f)
	o.Component = b.appendFlagValue(o.Component, f)
	o.Note = notes(b.w.Flag(f))
	if f.Side != b.a.Episode.Involved {
		o.BodySite = shoulderOf(f.Side)
	}
	return b.addResult(o, fhir.CodeRedFlag+"/"+b.flagKey(f))
}

// flagKey tells the flags of one answer apart: a code may stand there for each side, and
// for a motion without steps beside the trained ones.
func (b *builder) flagKey(f *redflag.Flag) string {
	key := f.Code.String()
	if f.Side != b.a.Episode.Involved {
		key += "/" + f.Side.String()
	}
	if f.Motion != shoulder.MotionUnknown && !f.Motion.Trained() {
		key += "/" + f.Motion.String()
	}
	return key
}

// flagState says whether the flag holds, or when it was examined.
func (b *builder) flagState(f *redflag.Flag) []fhir.Component {
	all := append(b.draft(), component(fhir.CodeFlagHolds, fhir.Boolean(f.Holds())))
	if f.Holds() {
		return all
	}
	return append(all, component(fhir.CodeExaminationDate, fhir.DateTime(b.statedAt(f.Examined))))
}

// statedAt is the time of an examination as far as it is known.
func (b *builder) statedAt(x *shoulder.Statement) string {
	if x.IsDay {
		return b.date(x.When)
	}
	return b.dateTime(x.When)
}

// appendFlagged adds what the numbers of a flag are about.
func (b *builder) appendFlagged(all []fhir.Component, f *redflag.Flag) []fhir.Component {
	if f.Motion != shoulder.MotionUnknown {
		all = append(all, b.motionComponent(f.Motion))
	}
	if f.Position != shoulder.PositionUnstated {
		all = append(all, component(fhir.CodeArmPosition, b.coded(f.Position)))
	}
	if f.Context != shoulder.PainUnstated {
		all = append(all, component(fhir.CodePainContext, b.coded(f.Context)))
	}
	if measure := b.flagMeasure(f); measure != nil {
		all = append(all, component(fhir.CodeFlagMeasure, measure))
	}
	if f.Code == redflag.CannotLift {
		all = append(all, component(fhir.CodeFlagAgainst, accompanyingMeasure(f)))
	}
	return all
}

// flagMeasure is the code of the measurement that raised a flag; nil for a test that came
// too soon, whatever it measured.
func (b *builder) flagMeasure(f *redflag.Flag) *fhir.CodeableConcept {
	switch f.Code {
	case redflag.SuddenStrengthLoss, redflag.NearZeroForce:
		if f.Now.Unit == "%" {
			return new(computed[fhir.CodeLimbSymmetryIndex])
		}
		code := fhir.CodesOf(f.Motion).Strength
		if f.Grade != shoulder.GradeUnknown {
			code = fhir.CodesOf(f.Motion).Grade
		}
		return b.own(code, b.w.MotionAt(f.Motion, f.Position))
	case redflag.RangeLoss, redflag.CannotLift:
		active := rangeConcept(f.Movement, true)
		return &active
	case redflag.PainSurge, redflag.HighRestPain:
		return &painScore
	}
	return nil
}

// accompanyingMeasure is the code of the second measurement of a flag about an arm that
// cannot be lifted.
func accompanyingMeasure(f *redflag.Flag) *fhir.CodeableConcept {
	against := rangeConcept(f.Movement, false)
	if f.Motion != shoulder.MotionUnknown {
		against = computed[fhir.CodeLimbSymmetryIndex]
	}
	return &against
}

// appendBothValues adds the value that raised a flag and the one before, with their dates, as far as there are two.
func (b *builder) appendBothValues(all []fhir.Component, f *redflag.Flag) []fhir.Component {
	if f.Grade != shoulder.GradeUnknown {
		all = append(all, component(fhir.CodeCurrentValue, fhir.String(f.Grade.String())))
	} else {
		all = append(all, component(fhir.CodeCurrentValue, b.measured(f.Now.Value, f.Now.Unit, f.Threshold.Value)))
	}
	all = append(all, component(fhir.CodeCurrentDate, fhir.DateTime(b.dateTime(f.Now.When))))
	switch {
	case f.GradeThen != shoulder.GradeUnknown:
		all = append(all, component(fhir.CodeAgainstValue, fhir.String(f.GradeThen.String())))
	case f.Then.Unit != "":
		all = append(all, component(fhir.CodeAgainstValue, b.measured(f.Then.Value, f.Then.Unit)))
	}
	if !f.Then.When.IsZero() {
		all = append(all, component(fhir.CodeAgainstDate, fhir.DateTime(b.dateTime(f.Then.When))))
	}
	return all
}

// appendFlagValue adds the value that was compared with the threshold of the flag. The
// reference range is that of values that raise no flag; its text has the threshold with
// its source.
func (b *builder) appendFlagValue(all []fhir.Component, f *redflag.Flag) []fhir.Component {
	p := &b.a.Protocol.RedFlag
	if f.Tests > 0 {
		tests := component(fhir.CodeTests, fhir.Integer(f.Tests))
		tests.ReferenceRange = b.unflagged(f.Code, p.Tests)
		all = append(all, tests)
	}
	if f.Grade != shoulder.GradeUnknown {
		grade := component(fhir.CodeFlagValue, fhir.String(f.Grade.String()))
		grade.Interpretation = low
		text := b.join(p.Grade.Comparison.String(), " ", p.Grade.Value.String())
		if f.GradeThen != shoulder.GradeUnknown {
			text = b.limit(f.Threshold)
		}
		grade.ReferenceRange = []fhir.ReferenceRange{{Kind: ruleConcepts[f.Code.String()], Text: text}}
		return append(all, grade)
	}
	value, unit := comparedValue(f)
	held := component(fhir.CodeFlagValue, b.measured(value, unit, f.Threshold.Value))
	if f.Code == redflag.ResistedBeforeClearance { // the threshold is what permits the test
		held.ReferenceRange, held.Interpretation = b.thresholdRange(f.Code.String(), f.Threshold), interpretAgainst(value, f.Threshold)
		return append(all, held)
	}
	held.ReferenceRange, held.Interpretation = b.unflagged(f.Code, f.Threshold), interpretFlagged(value, f.Threshold)
	return append(all, held)
}

// comparedValue is the value that was compared with the threshold: the loss or gain, the
// weeks since a repair, or the measured value itself.
func comparedValue(f *redflag.Flag) (value exact.Number, unit string) {
	switch f.Code {
	case redflag.SuddenStrengthLoss:
		percent, _ := f.Then.Value.Sub(f.Now.Value).Mul(exact.Int(100)).Quo(f.Then.Value)
		return percent, "%"
	case redflag.RangeLoss:
		return f.Then.Value.Sub(f.Now.Value), f.Now.Unit
	case redflag.PainSurge:
		return f.Now.Value.Sub(f.Then.Value), f.Now.Unit
	case redflag.ResistedBeforeClearance:
		weeks, _ := f.Now.Value.Quo(exact.Int(7))
		return weeks, "wk"
	}
	return f.Now.Value, f.Now.Unit
}

// unflagged is the range in which a value raises no flag. FHIR reads its limit as
// inclusive, so the text gives the threshold of the flag, which is the range's type.
func (b *builder) unflagged(code redflag.Code, t protocol.Threshold) []fhir.ReferenceRange {
	value := t.Value.String()
	r := fhir.ReferenceRange{
		Kind: ruleConcepts[code.String()],
		Text: b.limit(t),
	}
	switch {
	case t.Unit == "1": // a count is no quantity
	case raisedAbove(t):
		r.High = b.quantity(value, t.Unit)
	default:
		r.Low = b.quantity(value, t.Unit)
	}
	return []fhir.ReferenceRange{r}
}

// interpretFlagged is the interpretation of a value by the threshold of a flag.
func interpretFlagged(value exact.Number, t protocol.Threshold) []fhir.CodeableConcept {
	switch {
	case !t.Met(value):
		return normal
	case raisedAbove(t):
		return high
	}
	return low
}

// raisedAbove reports whether a flag is raised by a value above its threshold.
func raisedAbove(t protocol.Threshold) bool {
	return t.Comparison == protocol.AtLeast || t.Comparison == protocol.MoreThan
}

// appendHolding adds the codes of the red flags that hold.
func (b *builder) appendHolding(all []fhir.Component) []fhir.Component {
	for i := range b.a.Readiness.Flags {
		if f := &b.a.Readiness.Flags[i]; f.Holds() {
			all = append(all, component(fhir.CodeRedFlag, b.own(f.Code.String(), b.w.FlagName(f.Code))))
		}
	}
	return all
}

// reasonOf are references to the reasons for a request: the red flags, or the readiness of
// a motion or of the shoulder.
func (b *builder) reasonOf(r *plan.Request) []fhir.Reference {
	if r.Why == plan.WhyRedFlag && len(b.holding) > 0 {
		return b.holding
	}
	return []fhir.Reference{b.readinessOf(r.Motion)}
}
