package wording

import (
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// MostNamed is how many items of a list the summary names. The rest is counted, because
// the summary has to be short; the pages that follow name all.
const MostNamed = 2

// some lists the first few items and counts the rest.
func (c *Catalogue) some(items []string, most int) string {
	if len(items) <= most {
		return c.list(items)
	}
	return c.fill(c.phrases.more, c.list(items[:most]), strconv.Itoa(len(items)-most))
}

// More says that so many alarms and other warnings are named below: a sentence, which stands
// behind an alarm or alone.
func (c *Catalogue) More(warnings int, alone bool) string {
	if alone {
		return c.sentence(c.phrases.warnedBelow, strconv.Itoa(warnings))
	}
	return c.sentence(c.phrases.moreAlarms, strconv.Itoa(warnings))
}

// Stands are the position in which each rotation is trained, the next step, and what holds
// it back, at most so many causes by name: sentences. What is true of both rotations is
// said once.
func (c *Catalogue) Stands(r *readiness.Readiness, most int) []string {
	external, internal := c.trainingState(&r.Motions[0], most), c.trainingState(&r.Motions[1], most)
	if external == internal {
		return []string{c.sentence(c.phrases.labelled, c.phrases.bothRotations, external)}
	}
	return []string{
		c.sentence(c.phrases.labelled, c.Motion(r.Motions[0].Motion), external),
		c.sentence(c.phrases.labelled, c.Motion(r.Motions[1].Motion), internal),
	}
}

func (c *Catalogue) trainingState(r *readiness.MotionReadiness, most int) string {
	step := c.StepShort(r.Step)
	if held := c.heldBy(findings(r.Holding), most); held != "" && r.Next != readiness.NoStep {
		return c.fill(c.phrases.held, step, Capital(c.StepShort(r.Next)), held)
	}
	return step
}

// heldBy names what keeps a step closed: each cause once, the first with the worst
// value that was measured and how many others there are.
func (c *Catalogue) heldBy(holding []*readiness.Criterion, most int) string {
	var causes, values []string // the values of the first cause
	for _, k := range worstFirst(holding) {
		cause := c.cause(k)
		if !slices.Contains(causes, cause) {
			causes = append(causes, cause)
		}
		if cause != causes[0] {
			continue
		}
		if value := c.shortValue(k); value != "" {
			values = append(values, value)
		}
	}
	if len(causes) > 0 {
		causes[0] = c.withValues(causes[0], values)
	}
	for _, first := range [...]string{c.phrases.heldHealing, c.phrases.heldPermit} {
		if slices.Contains(causes, first) {
			return first // until more load is permitted, the other criteria are irrelevant
		}
	}
	if most == 0 {
		return ""
	}
	most = min(len(causes), most)
	text := strings.Join(causes[:most], c.phrases.partJoin)
	if rest := len(causes) - most; rest > 0 { // the first cause may count positions already
		text = c.fill(c.phrases.otherCauses, text, strconv.Itoa(rest))
	}
	return text
}

// worstFirst puts the criteria of one rule in the order of their values.
func worstFirst(holding []*readiness.Criterion) []*readiness.Criterion {
	sorted := slices.Clone(holding)
	slices.SortStableFunc(sorted, func(a, b *readiness.Criterion) int {
		if a.Rule != b.Rule || a.Value == nil || b.Value == nil {
			return 0
		}
		return a.Value.Cmp(*b.Value)
	})
	return sorted
}

func (c *Catalogue) withValues(cause string, values []string) string {
	if len(values) == 0 {
		return cause
	}
	return c.fill(c.phrases.withReason, cause, c.some(values, 1))
}

// cause says in a few words what is asked for.
func (c *Catalogue) cause(k *readiness.Criterion) string {
	switch k.Rule {
	case readiness.GoodEnough, readiness.EvenConfirmed:
		return c.strengthCause(k)
	case readiness.PainAcceptable:
		if k.Basis == readiness.UnstatedPain {
			return c.phrases.heldAnyPain
		}
		return c.phrases.heldPain
	case readiness.RangeOpen, readiness.RangeMinimum:
		if k.Verdict == readiness.NotMeasured {
			return c.fill(c.phrases.heldRangeTest, c.RangeOf(movementAt(k.Position), true, shoulder.PositionUnstated))
		}
		return c.phrases.heldRange
	case readiness.OtherRotationEven:
		return c.Rule(k.Rule)
	case readiness.AllMeasured:
		return c.phrases.heldSession
	case readiness.AllEvenProbable:
		return c.fill(c.phrases.heldAllEven, c.Threshold(k.Threshold))
	case readiness.TissueHealed, readiness.LoadPermitted, readiness.FunctionPermitted:
		return c.healingCause(k)
	}
	return c.Criterion(k, shoulder.MotionUnknown, shoulder.SideUnknown)
}

// healingCause is more healing where the weeks decide, or the date of the repair is missing;
// else what a clinician states.
func (c *Catalogue) healingCause(k *readiness.Criterion) string {
	if k.Basis != readiness.ConservativeNo && (k.Value == nil || k.Threshold.Met(*k.Value)) {
		return c.phrases.heldPermit
	}
	return c.phrases.heldHealing
}

func (c *Catalogue) strengthCause(k *readiness.Criterion) string {
	switch {
	case k.Basis == readiness.Doubted:
		return c.phrases.heldDoubt
	case k.Basis == readiness.TooFaint:
		return c.phrases.heldFaint
	case k.Basis == readiness.ManualTest:
		return c.phrases.heldGrade
	case k.Basis == readiness.ChangeFromFirst:
		return c.phrases.heldChange
	case k.Basis == readiness.NoYardstick && k.Rule == readiness.EvenConfirmed:
		return c.phrases.heldDecision
	case k.Basis == readiness.NoYardstick:
		return c.phrases.heldSecond
	case k.Value == nil:
		return c.phrases.heldMissing
	case k.Basis == readiness.ComparisonHurts:
		return c.phrases.heldPainless
	case k.Basis == readiness.ComparisonLow:
		return c.phrases.heldLift
	case k.Basis == readiness.ComparisonWeaker:
		return c.phrases.heldUsual
	case k.Threshold.Met(*k.Value):
		return c.phrases.heldConfirm
	}
	return c.fill(c.phrases.heldIndex, c.Threshold(k.Threshold))
}

// shortValue is what was measured, with the position; empty if the cause says all.
func (c *Catalogue) shortValue(k *readiness.Criterion) string {
	position := c.PositionShort(k.Position)
	switch {
	case k.Rule == readiness.GoodEnough || k.Rule == readiness.EvenConfirmed:
		return c.shortStrength(k, position)
	case (k.Rule == readiness.PainAcceptable || k.Rule == readiness.AllEvenProbable) && k.Value != nil:
		return c.Quantity(*k.Value, k.Unit, k.Threshold.Value)
	case (k.Rule == readiness.RangeOpen || k.Rule == readiness.RangeMinimum) && k.Measured != nil && k.Needed != nil:
		measured, needed := MeasuredAndNeeded(*k.Measured, *k.Needed, places(*k.Measured, k.Unit), places(*k.Needed, k.Unit))
		return c.fill(c.phrases.ofNeeded, c.Movement(movementAt(k.Position)), c.localised(measured), c.inUnit(needed, k.Unit))
	}
	return ""
}

func (c *Catalogue) shortStrength(k *readiness.Criterion, position string) string {
	switch {
	case k.Basis == readiness.ManualTest:
		return c.fill(c.phrases.valueAt, c.Grade(k.Grade), position)
	case k.Basis == readiness.NoYardstick && k.Rule == readiness.EvenConfirmed:
		return "" // in no position
	case k.Value == nil || k.Basis == readiness.Doubted || k.Basis == readiness.ChangeFromFirst || k.Basis == readiness.ComparisonWeaker:
		return position
	}
	return c.fill(c.phrases.valueAt, c.index(k), position)
}

// Who is the name of the patient, with the date of birth if it is known; empty without a
// name. It is free text from the record.
func (c *Catalogue) Who(p shoulder.Person) string {
	switch {
	case p.Name == "":
		return ""
	case p.Born == "":
		return c.Sentence(p.Name)
	}
	return c.sentence(c.phrases.person, p.Name, p.Born)
}

// Visit is the day that the page is about, and the involved side: a sentence.
func (c *Catalogue) Visit(t time.Time, involved shoulder.Side) string {
	return c.sentence(c.phrases.visit, c.Date(t), c.Side(involved))
}

// EvenInAll says that every index is even: a sentence.
func (c *Catalogue) EvenInAll() string { return c.Sentence(c.phrases.evenInAll) }

// EvenWhen says when all indices may be even if the course goes on, or why no date can
// be given: a sentence. The course is nil if there is none. Nothing is seen before the re-check.
func (c *Catalogue) EvenWhen(k *course.Course, recheck plan.Window) string {
	switch {
	case k == nil || k.All.Prospect == course.TooFew:
		return c.sentence(c.phrases.evenNoDate, c.phrases.noCourse)
	case k.All.Prospect == course.Reached:
		return c.Sentence(c.phrases.evenProbably)
	case k.All.Prospect == course.Forecast:
		return c.Sentence(c.forecast(c.phrases.evenBy, c.phrases.evenSoon, recheck.Forecast(k, &k.All)))
	case k.Lowest != nil:
		t := k.Lowest
		return c.sentence(c.phrases.evenNoDate, c.fill(c.phrases.labelled, c.fill(c.phrases.inPosition, c.Motion(t.Motion), c.PositionShort(t.Position)), c.prospect(k, t, recheck)))
	}
	return c.sentence(c.phrases.evenNoDate, c.phrases.notLikely)
}

// Changed says what changed clearly or probably since the last test and since the first:
// a sentence. What got worse goes first, at most so many items of a kind by name. Where
// nothing did, how many values are better since the first test is enough: the table has
// how much.
func (c *Catalogue) Changed(last, first []*measure.Change, most int) string {
	if n := measure.AllLower(last); n > 0 && !anyReal(last) {
		lower := c.fill(c.phrases.allLower, strconv.Itoa(n))
		if anyWorse(first) {
			lower += c.phrases.partJoin + c.changedSince(c.phrases.sinceFirstTest, first, 1)
		}
		return c.Sentence(lower)
	}
	if !anyReal(last) && !anyReal(first) {
		return c.Sentence(c.phrases.unchanged)
	}
	if better := len(c.changedItems(first, measure.Improved)); better > 0 && anyReal(last) && !anyWorse(last) && !anyWorse(first) {
		return c.Sentence(strings.Join([]string{
			c.changedSince(c.phrases.sinceLastTest, last, 1),
			c.betterSinceFirst(better),
		}, c.phrases.partJoin))
	}
	parts := []string{c.changedSince(c.phrases.sinceLastTest, last, most)}
	if !anyReal(last) || anyWorse(first) {
		parts = append(parts, c.changedSince(c.phrases.sinceFirstTest, first, 1))
	}
	return c.Sentence(strings.Join(parts, c.phrases.partJoin))
}

// OnlySinceFirst counts in a line what is clearly better since the first test, where nothing
// changed since the last: a sentence. It is empty where something did, or got worse: who has
// recovered far must not read that nothing changed.
func (c *Catalogue) OnlySinceFirst(last, first []*measure.Change) string {
	better := len(c.changedItems(first, measure.Improved))
	if better == 0 || anyReal(last) || anyWorse(first) || measure.AllLower(last) > 0 {
		return ""
	}
	return c.Sentence(c.changedSince(c.phrases.sinceLastTest, nil, 0) + c.phrases.partJoin + c.betterSinceFirst(better))
}

func (c *Catalogue) betterSinceFirst(better int) string {
	return c.fill(c.phrases.labelled, c.phrases.sinceFirstTest, c.fill(c.phrases.betterCount, strconv.Itoa(better)))
}

// OnSide says of which side a sentence is that begins with no noun: a sentence.
func (c *Catalogue) OnSide(s shoulder.Side, sentence string) string {
	first, size := utf8.DecodeRuneInString(sentence)
	side, rest := Capital(term(c.terms.onSide, s)), string(unicode.ToLower(first))+sentence[size:]
	if strings.HasPrefix(rest, c.phrases.sinceLastTest) { // which a colon follows already
		return side + " " + rest
	}
	return c.fill(c.phrases.labelled, side, rest)
}

func anyReal(changes []*measure.Change) bool {
	return slices.ContainsFunc(changes, func(k *measure.Change) bool { return k.Direction != measure.Unchanged })
}

func anyWorse(changes []*measure.Change) bool {
	return slices.ContainsFunc(changes, func(k *measure.Change) bool {
		return k.Direction == measure.Declined || k.Direction == measure.PossiblyDeclined
	})
}

func (c *Catalogue) changedSince(since string, changes []*measure.Change, most int) string {
	var parts []string
	for _, d := range [...]measure.Direction{measure.Declined, measure.PossiblyDeclined, measure.Improved, measure.PossiblyImproved} {
		if items := c.changedItems(changes, d); len(items) > 0 {
			parts = append(parts, c.fill(c.towards(d), c.some(items, most)))
		}
	}
	if len(parts) == 0 {
		parts = []string{c.phrases.nothingChanged}
	}
	return c.fill(c.phrases.labelled, since, strings.Join(parts, c.phrases.listJoin))
}

// towards is the phrase that lists what changed in a direction.
func (c *Catalogue) towards(d measure.Direction) string {
	switch d {
	case measure.Declined:
		return c.phrases.worse
	case measure.PossiblyDeclined:
		return c.phrases.maybeWorse
	case measure.PossiblyImproved:
		return c.phrases.maybeBetter
	}
	return c.phrases.better
}

func (c *Catalogue) changedItems(changes []*measure.Change, d measure.Direction) (items []string) {
	for _, k := range changes {
		if k.Direction != d {
			continue
		}
		difference, _, unit := c.difference(k)
		items = append(items, c.fill(c.phrases.inPosition, c.shortSubject(k), c.differenceIn(difference, unit)))
	}
	return items
}

// shortSubject names what changed on the involved side.
func (c *Catalogue) shortSubject(k *measure.Change) string {
	switch k.Subject {
	case measure.RangeChange:
		return c.RangeOf(k.Movement, k.Active, k.Position)
	case measure.PainChange:
		return c.PainOf(k.Context, k.Position)
	case measure.OutcomeChange:
		return c.Outcome(k.Outcome)
	}
	return c.fill(c.phrases.inPosition, c.Motion(k.Setting.Motion), c.PositionShort(k.Setting.Position))
}

// Soon says when to measure again and, unless an alarm says it already, what to find out
// first: sentences.
func (c *Catalogue) Soon(p *plan.Plan, alarmed bool) string {
	if alarmed {
		return c.Recheck(p)
	}
	var first []string
	for _, group := range RequestGroups(p.Requests) {
		if group[0].First {
			first = append(first, c.shortRequest(group, 1))
		}
	}
	line := c.Recheck(p)
	if len(first) == 0 {
		return line
	}
	what := first[0]
	if rest := len(first) - 1; rest > 0 { // the first request may count subjects already
		what = c.fill(c.phrases.otherRequests, what, strconv.Itoa(rest))
	}
	return line + " " + c.sentence(c.phrases.labelled, c.first(p), what)
}

// shortRequest names a request with as many subjects as there is room for.
func (c *Catalogue) shortRequest(group []*plan.Request, most int) string {
	return c.fill(term(c.terms.askShort, group[0].Ask), c.some(c.subjectsShort(group), most))
}

// subjectsShort names what a group of requests is about, the positions of a rotation
// together.
func (c *Catalogue) subjectsShort(group []*plan.Request) []string {
	if group[0].Ask != plan.AskStrength {
		subjects := make([]string, len(group))
		for i, r := range group {
			subjects[i] = c.asked(r)
		}
		return subjects
	}
	motions := make([]string, 0, len(shoulder.Motions))
	for _, motion := range grouped(group, func(a, b *plan.Request) bool { return a.Motion == b.Motion }) {
		positions := make([]string, len(motion))
		for i, r := range motion {
			positions[i] = c.PositionShort(r.Position)
		}
		motions = append(motions, c.fill(c.phrases.withReason, c.Motion(motion[0].Motion), c.list(positions)))
	}
	return motions
}

// StepShort names a step in short: "90° flexion, supported".
func (c *Catalogue) StepShort(s readiness.Step) string { return term(c.terms.stepShort, s) }

// AskShort is what to measure or find out at the re-check, in short: sentences, one for each
// kind of request.
func (c *Catalogue) AskShort(p *plan.Plan, first bool) (lines []string) {
	for _, group := range RequestGroups(p.Requests) {
		if group[0].First == first {
			lines = append(lines, c.askShort(group))
		}
	}
	return lines
}

// askShort leaves out that a request belongs to the re-check, under whose date it stands.
func (c *Catalogue) askShort(group []*plan.Request) string {
	short, why := c.shortRequest(group, len(group)), c.order(group)
	if group[0].Why != plan.WhyRoutineCheck {
		why = append([]string{c.reason(group[0])}, why...)
	}
	if len(why) > 0 {
		short = c.fill(c.phrases.withReason, short, c.list(why))
	}
	return c.Sentence(short)
}

// DifferenceMarked is the difference of a change without its unit, marked if it is clearly
// better or worse. From 100 on it is whole, so that the cell of a table has room for it.
func (c *Catalogue) DifferenceMarked(k *measure.Change) string {
	difference, _, _ := c.difference(k)
	if whole, _, _ := strings.Cut(difference, "."); len(whole) >= len("+100") {
		shown, _ := c.shown(k.Difference, k.Unit)
		difference = signed(shown.Text(0))
	}
	if k.Direction == measure.Improved || k.Direction == measure.Declined {
		return c.fill(c.phrases.marked, c.localised(difference))
	}
	return c.localised(difference)
}

// MarkMeans explains the mark of DifferenceMarked: a sentence.
func (c *Catalogue) MarkMeans() string { return c.Sentence(c.phrases.markMeans) }

// IndexMeans explains the index, where a page uses it first: a sentence.
func (c *Catalogue) IndexMeans() string { return c.Sentence(c.phrases.indexMeans) }

// PassiveToo says that a range is limited passively too: a sentence.
func (c *Catalogue) PassiveToo(r *measure.RangeScore) string {
	return c.ofPassive(c.phrases.passiveToo, r)
}

// PassiveMore says that a range is much larger passively than actively: a sentence.
func (c *Catalogue) PassiveMore(r *measure.RangeScore) string {
	return c.ofPassive(c.phrases.passiveMore, r)
}

func (c *Catalogue) ofPassive(phrase string, r *measure.RangeScore) string {
	return c.sentence(phrase, c.RangeOf(r.Movement, false, r.Position), c.Quantity(r.Degrees, "deg"))
}

// CautionsInBrief are the cautions on every page: sentences.
func (c *Catalogue) CautionsInBrief() string { return c.phrases.cautionsBrief }

// NoteCaution is the caution on every note, a sentence.
func (c *Catalogue) NoteCaution() string { return c.Sentence(c.phrases.noteCaution) }

// PageBasis is the day that a short page holds for, and its protocol: a sentence.
func (c *Catalogue) PageBasis(asOf time.Time, r protocol.Ref) string {
	return c.sentence(c.phrases.pageBasis, c.AsOf(asOf), r.ID, r.Version)
}

// FullReport says where everything is that a short page leaves out: a sentence.
func (c *Catalogue) FullReport() string { return c.Sentence(c.phrases.fullReport) }

// MoreIssues says that there are so many further ones: a sentence.
func (c *Catalogue) MoreIssues(n int) string {
	return c.sentence(c.phrases.moreIssues, strconv.Itoa(n))
}

// Span is Interval in the narrow column of the table of six.
func (c *Catalogue) Span(i measure.Interval, thresholds ...protocol.Threshold) string {
	if i.Bounds != measure.Bounded {
		return c.phrases.noLimits
	}
	low, high := c.limits(i, thresholds)
	return c.fill(c.phrases.span, low, high)
}

// StrengthTested says when strength was tested last, for a visit at which it was not: a
// sentence.
func (c *Catalogue) StrengthTested(t time.Time) string {
	return c.sentence(c.phrases.strengthTested, c.Date(t))
}

// SideTested is StrengthTested of one side alone.
func (c *Catalogue) SideTested(side shoulder.Side, t time.Time) string {
	return c.sentence(c.phrases.sideTested, term(c.terms.onSide, side), c.Date(t))
}

// CarriedFrom says that the comparison side is that of an earlier session, and how long before
// a visit that was: a sentence.
func (c *Catalogue) CarriedFrom(s *measure.Symmetry, visit time.Time) string {
	return c.sentence(c.phrases.carried, c.Side(s.Comparison.Side), c.Date(s.Comparison.When), strconv.Itoa(measure.DaysBetween(s.Comparison.When, visit)))
}
