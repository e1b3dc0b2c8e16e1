package wording

import (
	"slices"
	"strconv"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// FlagName names a red flag: "sudden loss of strength".
func (c *Catalogue) FlagName(k redflag.Code) string { return term(c.terms.flag, k) }

// DoubtName names a doubt: "the trials disagree".
func (c *Catalogue) DoubtName(k measure.Doubt) string { return term(c.terms.doubt, k) }

// LoadPhase names what a phase of healing permits.
func (c *Catalogue) LoadPhase(p shoulder.LoadPhase) string { return term(c.terms.loadPhase, p) }

// RepairKind names a repair of the cuff.
func (c *Catalogue) RepairKind(k shoulder.RepairKind) string { return term(c.terms.repairKind, k) }

// alarm is a sentence at the top of every form, with the name of what it is about; without
// one it is never shortened to it.
type alarm struct{ text, name string }

// Alarms are the sentences at the top of every form, the most urgent first: what to do, and
// the red flags that hold, with their numbers; that some of the record is missing; the red
// flags that were examined, and the doubts.
func (c *Catalogue) Alarms(r *readiness.Readiness, p *plan.Plan) (lines []string) {
	for _, a := range c.alarms(r, p) {
		lines = append(lines, a.text)
	}
	return lines
}

func (c *Catalogue) alarms(r *readiness.Readiness, p *plan.Plan) (all []alarm) {
	if r.Examine() {
		lead := c.phrases.examine
		if asksFor(p, plan.AskSurgeon) {
			lead += c.phrases.partJoin + c.phrases.contactSurgeon
		}
		all = append(all, alarm{text: c.Sentence(lead)})
	}
	hold, examined := c.flagAlarms(r.Flags)
	all = append(all, hold...)
	if r.Incomplete {
		all = append(all, alarm{text: c.Sentence(c.phrases.incomplete)})
	}
	all = append(all, examined...)
	for _, d := range r.Doubts {
		all = append(all, alarm{c.Doubt(d), c.DoubtName(d.Doubt)})
	}
	return all
}

// flagAlarms are the red flags that hold, and those that were examined.
func (c *Catalogue) flagAlarms(flags []redflag.Flag) (hold, examined []alarm) {
	for i := range flags {
		f := &flags[i]
		to := &examined
		if f.Holds() {
			to = &hold
		}
		*to = append(*to, alarm{c.Flag(f), c.lossName(f)})
	}
	return hold, examined
}

// AlarmsNamed names the red flags and doubts behind the first so many alarms, in one sentence
// that leaves their numbers to the full report, and says what has no number in full.
func (c *Catalogue) AlarmsNamed(r *readiness.Readiness, p *plan.Plan, skip int) (lines []string) {
	var names []string
	for _, a := range c.alarms(r, p)[skip:] {
		switch {
		case a.name == "":
			lines = append(lines, a.text)
		case !slices.Contains(names, a.name):
			names = append(names, a.name)
		}
	}
	if len(names) > 0 {
		lines = append(lines, c.sentence(c.phrases.alarmsNamed, c.list(names)))
	}
	return lines
}

func asksFor(p *plan.Plan, what plan.Ask) bool {
	for i := range p.Requests {
		if p.Requests[i].Ask == what {
			return true
		}
	}
	return false
}

// Flag is a red flag with its numbers and their dates, and whether it was examined: a
// sentence.
func (c *Catalogue) Flag(f *redflag.Flag) string {
	text := c.flag(f)
	switch {
	case f.Together > 0:
		text = c.fill(c.phrases.flagTogether, text, strconv.Itoa(f.Tests), c.inUnit(estimate(f.Together, 0), "%"))
	case f.Code == redflag.SuddenStrengthLoss && f.Tests > 1:
		text = c.fill(c.phrases.flagTests, text, strconv.Itoa(f.Tests))
	}
	if !f.Since.When.IsZero() {
		text = c.fill(c.notEnded(f), text, c.flagValue(f.Since), c.Date(f.Since.When), c.Date(f.From))
	}
	if f.Examined != nil {
		text = c.fill(c.phrases.flagExamined, text, c.Date(f.Examined.When))
	}
	return c.Sentence(text)
}

// notEnded is the phrase that says why a later number ends no flag: it is of the same day, it
// is no better, or it is not whole.
func (c *Catalogue) notEnded(f *redflag.Flag) string {
	switch {
	case measure.DaysBetween(f.Now.When, f.Since.When) == 0:
		return c.phrases.flagSameDay
	case !f.Better():
		return c.phrases.flagNoBetter
	case !f.From.IsZero():
		return c.phrases.flagTooEarly
	}
	return c.phrases.flagSince
}

// lossName names a red flag by what was found: a loss that took long is no sudden one.
func (c *Catalogue) lossName(f *redflag.Flag) string {
	if f.Slow {
		return c.phrases.slowLoss
	}
	return c.FlagName(f.Code)
}

func (c *Catalogue) flag(f *redflag.Flag) string {
	name, what := c.lossName(f), c.flagged(f)
	number, date := c.flagValue(f.Now), c.Date(f.Now.When)
	if f.GradeThen != shoulder.GradeUnknown {
		return c.fill(c.phrases.flagGradeFall, name, what, c.Grade(f.GradeThen), c.Date(f.Then.When), c.Grade(f.Grade), date)
	}
	switch f.Code {
	case redflag.SuddenStrengthLoss, redflag.RangeLoss, redflag.PainSurge:
		return c.fill(c.phrases.flagChange, name, what, c.flagValue(f.Then), c.Date(f.Then.When), number, date)
	case redflag.CannotLift:
		return c.fill(c.phrases.flagBeside, name, what, number, date, c.secondFlagValue(f), c.flagValue(f.Then))
	case redflag.ResistedBeforeClearance:
		return c.fill(c.phrases.flagTooSoon, name, date, number, c.Date(f.Then.When), c.Threshold(f.Threshold))
	}
	if f.Grade != shoulder.GradeUnknown {
		return c.fill(c.phrases.flagGrade, name, what, c.Grade(f.Grade), date)
	}
	return c.fill(c.phrases.flagNumber, name, what, number, date, c.Limit(f.Threshold))
}

// flagged names what a red flag is about, with the side.
func (c *Catalogue) flagged(f *redflag.Flag) string {
	switch f.Code {
	case redflag.RangeLoss, redflag.CannotLift:
		return c.fill(c.phrases.ofSide, c.RangeOf(f.Movement, true, shoulder.PositionUnstated), c.Side(f.Side))
	case redflag.PainSurge, redflag.HighRestPain:
		return c.PainOf(f.Context, f.Position)
	}
	if f.Now.Unit == "%" {
		return c.fill(c.phrases.indexSubject, c.MotionAt(f.Motion, f.Position))
	}
	return c.fill(c.phrases.ofSide, c.MotionAt(f.Motion, f.Position), c.Side(f.Side))
}

// secondFlagValue names the second measurement of a flag about an arm that cannot be
// lifted: the passive range, or the index of external rotation.
func (c *Catalogue) secondFlagValue(f *redflag.Flag) string {
	if f.Then.Unit == "%" {
		return c.fill(c.phrases.indexSubject, c.MotionAt(f.Motion, f.Position))
	}
	return c.RangeOf(f.Movement, false, shoulder.PositionUnstated)
}

func (c *Catalogue) flagValue(r redflag.Measured) string { return c.Quantity(r.Value, r.Unit) }

// Doubt is a doubt with its numbers, and how it can be resolved: a sentence.
func (c *Catalogue) Doubt(d *measure.DoubtFound) string {
	name, s := Capital(c.DoubtName(d.Doubt)), d.Score
	test := c.MotionAt(s.Motion, s.Position)
	ofSide := c.fill(c.phrases.ofSide, test, c.Side(s.Side))
	switch d.Doubt {
	case measure.SidesMayBeSwapped:
		return c.sentence(c.phrases.doubtSides, name, test, c.Date(d.When), c.sideScore(s), c.sideScore(d.Other))
	case measure.UnitMayBeWrong:
		return c.sentence(c.phrases.doubtUnit, name, strconv.Itoa(d.Tests), c.Date(d.When), c.localised(estimate(d.Factor, ratioPlaces)),
			ofSide, c.score(s), c.score(d.Other))
	case measure.ComparisonDeclined:
		return c.sentence(c.phrases.doubtDeclined, name, ofSide, c.score(d.Other), c.Date(d.Other.When), c.score(s), c.Date(s.When),
			c.inUnit(estimate(d.Fall, 0), "%"))
	}
	text := c.fill(c.phrases.doubtTrials, name, ofSide, c.Date(d.When), c.trialValues(d))
	if d.ApartValue != nil {
		text = c.fill(c.phrases.doubtApart, text, c.Strength(*d.ApartValue, s.Dimension))
	}
	return c.Sentence(text)
}

func (c *Catalogue) score(s *measure.Score) string { return c.Strength(s.Value, s.Dimension) }

func (c *Catalogue) sideScore(s *measure.Score) string {
	return c.fill(c.phrases.sideValue, c.Side(s.Side), c.score(s))
}

func (c *Catalogue) trialValues(d *measure.DoubtFound) string {
	values := make([]string, len(d.Trials))
	for i, value := range d.Trials {
		values[i] = c.Strength(value, d.Score.Dimension)
	}
	return c.list(values)
}

// Healing says which repair there was and how long ago, what it permits now, and
// what comes next and when: sentences. It is empty if nothing limits the load. A red
// flag puts the examination before everything that time permits.
func (c *Catalogue) Healing(t *readiness.Tissue, examine bool) (lines []string) {
	h := &t.Healing
	if h.Basis == healing.NoRepair {
		return nil
	}
	if repair := c.repaired(h); repair != "" {
		lines = append(lines, c.Sentence(repair))
	}
	if examine && h.Phase > shoulder.LoadNone {
		return lines // a phase together with a red flag could be read as permission to train
	}
	lines = append(append(lines, c.Sentence(c.permitted(h))), c.PermitsNotCounted(t, examine)...)
	if next := c.NextPhase(t, examine); next != "" {
		lines = append(lines, next)
	}
	return lines
}

// NextPhase is the last sentence of Healing: what is permitted next, and when. It is empty
// if nothing follows, or an examination goes before it.
func (c *Catalogue) NextPhase(t *readiness.Tissue, examine bool) string {
	h := &t.Healing
	switch {
	case h.Next == h.Phase, examine && h.Phase > shoulder.LoadNone, h.Repair == nil && h.Basis == healing.Unread:
		return ""
	case h.NextDate.IsZero():
		return c.sentence(c.phrases.nextStated, c.LoadPhase(h.Next))
	}
	return c.sentence(c.phrases.nextPhase, c.LoadPhase(h.Next), c.Date(h.NextDate))
}

// PermitsNotCounted says which permits of the surgeon do not count, and why: those of the
// sentences of Healing that a short page may say further below.
func (c *Catalogue) PermitsNotCounted(t *readiness.Tissue, examine bool) (lines []string) {
	h := &t.Healing
	if examine && h.Phase > shoulder.LoadNone {
		return nil
	}
	if h.Capped != nil {
		lines = append(lines, c.sentence(c.phrases.permitUndated, c.LoadPhase(h.Capped.Phase), c.Date(h.Capped.When)))
	}
	if h.TooEarly != nil {
		lines = append(lines, c.sentence(c.phrases.permitTooEarly, c.LoadPhase(h.TooEarly.Phase), c.Date(h.TooEarly.When)))
	}
	return lines
}

func (c *Catalogue) repaired(h *healing.State) string {
	switch {
	case h.Repair == nil:
		return ""
	case !h.Dated():
		return c.fill(c.phrases.healingUndated, c.RepairKind(h.Repair.Kind))
	}
	phrase := c.phrases.healing
	if h.Massive {
		phrase = c.phrases.healingMassive
	}
	return c.fill(phrase, c.RepairKind(h.Repair.Kind), c.Date(h.Repair.Date), c.weeks(h))
}

// weeks are the whole weeks since the repair.
func (c *Catalogue) weeks(h *healing.State) string {
	if h.Days/7 == 1 {
		return c.phrases.oneWeek
	}
	return c.inUnit(strconv.Itoa(h.Days/7), "wk")
}

func (c *Catalogue) permitted(h *healing.State) string {
	switch {
	case h.Basis == healing.Refused && h.Stated.IsZero():
		return c.phrases.refusedUndated
	case h.Basis == healing.Refused:
		return c.fill(c.phrases.refusedOn, c.Date(h.Stated))
	case h.Basis == healing.Unread:
		return c.fill(c.phrases.permitUnread, c.LoadPhase(h.Phase))
	case h.Basis == healing.Permitted || h.Basis == healing.Cleared:
		return c.fill(c.phrases.permittedBy, c.LoadPhase(h.Phase), c.Date(h.Stated))
	}
	return c.fill(c.phrases.permittedNow, c.LoadPhase(h.Phase))
}

// HealingFoot is the state of a repair for the footer of a page; empty without a dated
// repair. Of functional work and sport it says nothing before the tests do.
func (c *Catalogue) HealingFoot(r *readiness.Readiness) string {
	h := &r.Tissue.Healing
	switch {
	case !h.Dated():
		return ""
	case r.Examine():
		return c.fill(c.phrases.healingFlag, c.Date(h.Repair.Date), c.weeks(h))
	case untested(r):
		return c.fill(c.phrases.healingSince, c.Date(h.Repair.Date), c.weeks(h))
	}
	return c.fill(c.phrases.healingFoot, c.Date(h.Repair.Date), c.weeks(h), c.LoadPhase(h.Phase))
}

// Usual is the index against the usual strength of the comparison side: a phrase.
func (c *Catalogue) Usual(index exact.Number, even exact.Number) string {
	return c.fill(c.phrases.usualIndex, c.inUnit(roundClearOf(index, strengthPlaces, even), "%"))
}

// WasEven says that a position was even and is no longer: a phrase.
func (c *Catalogue) WasEven(s *measure.Symmetry) string {
	return c.fill(c.phrases.wasEven, c.inUnit(c.Index(s.Index), "%"), c.Date(s.When))
}
