package wording

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"evenreach.example/internal/course"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Side names a side of the body: "left".
func (c *Catalogue) Side(s shoulder.Side) string { return term(c.terms.side, s) }

// Motion names a motion: "external rotation".
func (c *Catalogue) Motion(r shoulder.Motion) string { return term(c.terms.motion, r) }

// Position names an arm position: "90 degrees of flexion".
func (c *Catalogue) Position(p shoulder.ArmPosition) string { return term(c.terms.position, p) }

// PositionShort names an arm position within 14 characters, for a table.
func (c *Catalogue) PositionShort(p shoulder.ArmPosition) string {
	return term(c.terms.positionShort, p)
}

// MotionAt names a motion in a position: "external rotation at 90 degrees
// of abduction".
func (c *Catalogue) MotionAt(r shoulder.Motion, p shoulder.ArmPosition) string {
	return c.fill(c.phrases.rotationAt, c.Motion(r), c.at(p))
}

// at is "at 90 degrees of abduction".
func (c *Catalogue) at(p shoulder.ArmPosition) string { return term(c.terms.atPosition, p) }

// Support says whether the arm lies on something: "arm supported".
func (c *Catalogue) Support(s shoulder.Support) string { return term(c.terms.support, s) }

// Contraction names the kind of test: "make test".
func (c *Catalogue) Contraction(k shoulder.Contraction) string { return term(c.terms.contraction, k) }

// Instrument names the kind of dynamometer.
func (c *Catalogue) Instrument(i shoulder.Instrument) string { return term(c.terms.instrument, i) }

// Movement names a movement whose range is measured: "flexion".
func (c *Catalogue) Movement(m shoulder.Movement) string { return term(c.terms.movement, m) }

// PainContext names a pain score by when it was felt: "pain at rest".
func (c *Catalogue) PainContext(p shoulder.PainContext) string { return term(c.terms.painContext, p) }

// Grade writes a grade of the manual muscle test: "4+".
func (c *Catalogue) Grade(g shoulder.MuscleGrade) string { return g.String() }

// Step names a step: "90 degrees of flexion, arm supported".
func (c *Catalogue) Step(s readiness.Step) string { return term(c.terms.step, s) }

// Overall names an overall status in a few words.
func (c *Catalogue) Overall(o readiness.Overall) string { return term(c.terms.overall, o) }

// Status is Overall as it is with a shoulder: of one that is strengthened it is the decision, so
// that the text of the code and the conclusion say the same.
func (c *Catalogue) Status(r *readiness.Readiness) string {
	if r.Overall == readiness.Strengthening {
		return c.Decision(r)
	}
	return c.Overall(r.Overall)
}

// Decision is a sentence that says what the overall status means.
func (c *Catalogue) Decision(r *readiness.Readiness) string {
	switch {
	case r.Overall == readiness.Strengthening && r.FirstVisit && r.ComparisonAffected:
		return c.phrases.noYardstickAt1
	case r.Overall == readiness.Strengthening && r.FirstVisit:
		return c.phrases.strengthenAt1
	case r.Overall == readiness.Strengthening && r.ComparisonAffected:
		return c.phrases.noYardstick
	case r.Overall == readiness.Strengthening && r.AllConfirmed() && r.Function.AllEven.Holds():
		return c.phrases.evenUnlikely
	case r.Overall == readiness.Strengthening && r.AllConfirmed():
		return c.phrases.evenButWaits
	}
	return term(c.terms.decision, r.Overall)
}

// Verdict names a verdict: "not met".
func (c *Catalogue) Verdict(v readiness.Verdict) string { return term(c.terms.verdict, v) }

// Rule names a criterion: "strong enough to move on".
func (c *Catalogue) Rule(r readiness.Rule) string { return term(c.terms.rule, r) }

// Certainty names a certainty: "probably met".
func (c *Catalogue) Certainty(k measure.Certainty) string { return term(c.terms.certainty, k) }

// Direction names the verdict on a change.
func (c *Catalogue) Direction(d measure.Direction) string { return term(c.terms.direction, d) }

// Mismatch says why two sides may not be compared.
func (c *Catalogue) Mismatch(m measure.Mismatch) string { return term(c.terms.mismatch, m) }

// Condition names a measuring condition.
func (c *Catalogue) Condition(k measure.Condition) string { return term(c.terms.condition, k) }

// Outlook says what may be said about evenness.
func (c *Catalogue) Outlook(p course.Prospect) string { return term(c.terms.outlook, p) }

// BandRelation says where a ratio lies with respect to its band.
func (c *Catalogue) BandRelation(p measure.BandRelation) string { return term(c.terms.bandRelation, p) }

// Irritability names a level of irritability.
func (c *Catalogue) Irritability(i plan.Irritability) string { return term(c.terms.irritability, i) }

// Mode names how resistance is given: "isometric".
func (c *Catalogue) Mode(m plan.Mode) string { return term(c.terms.mode, m) }

// Purpose says why an exercise is in the plan.
func (c *Catalogue) Purpose(p plan.Purpose) string { return term(c.terms.purpose, p) }

// Cue is a set-up instruction, a sentence.
func (c *Catalogue) Cue(k plan.Cue) string { return term(c.terms.cue, k) }

// Caution is a caution for the reader, one or more sentences.
func (c *Catalogue) Caution(k plan.Caution) string { return term(c.terms.caution, k) }

// Why names the reason of a request.
func (c *Catalogue) Why(w plan.Why) string { return term(c.terms.why, w) }

// Achievement names the achievement status of a goal.
func (c *Catalogue) Achievement(a plan.Achievement) string { return term(c.terms.achievement, a) }

// Kind names what is wrong with an input, in a few words with a capital.
func (c *Catalogue) Kind(k fault.Kind) string { return term(c.terms.kind, k) }

// movementAt is the movement whose range opens an elevated position.
func movementAt(p shoulder.ArmPosition) shoulder.Movement {
	if p == shoulder.Abduction90 {
		return shoulder.Abduction
	}
	return shoulder.Flexion
}

// Sentence gives a phrase its capital and its full stop.
func (c *Catalogue) Sentence(phrase string) string {
	if strings.HasSuffix(phrase, c.phrases.stop) {
		return Capital(phrase)
	}
	var space [256]byte // enough for most
	return c.asSentence(append(space[:0], phrase...))
}

// sentence is fill as a sentence.
func (c *Catalogue) sentence(phrase string, values ...string) string {
	var space [256]byte // enough for most
	return c.asSentence(appendFilled(space[:0], phrase, values))
}

func (c *Catalogue) asSentence(text []byte) string {
	if !bytes.HasSuffix(text, []byte(c.phrases.stop)) {
		text = append(text, c.phrases.stop...)
	}
	first, size := utf8.DecodeRune(text)
	upper := unicode.ToUpper(first)
	switch {
	case upper == first:
	case utf8.RuneLen(upper) == size:
		utf8.EncodeRune(text, upper)
	default:
		return string(upper) + string(text[size:])
	}
	return c.texts.Of(text)
}

// Capital gives a phrase its capital, as for a title.
func Capital(phrase string) string {
	first, size := utf8.DecodeRuneInString(phrase)
	if upper := unicode.ToUpper(first); upper != first {
		return string(upper) + phrase[size:]
	}
	return phrase
}
