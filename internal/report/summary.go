package report

import (
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// Every form begins with the summary: whose shoulder it is, any alarm, the decision,
// what changed, where each rotation stands, when it may be even, and what to measure
// next. It fits twelve lines of a terminal and can be read without the rest.

// summary is everything that stands before the first section of a page.
type summary struct {
	who      []string // whose shoulder, and the visit
	alarms   []string
	decision string
	lines    []string
	// rest is what is said below: the alarms that alarms only counts, and then so many other
	// warnings that the summary had no room for.
	rest     []string
	warnings int
	// below is what else it had no room for.
	below []string
}

// summaryLines is how many lines of a terminal the summary has, under the title.
const summaryLines = 12

// brevity is what the summary leaves to the pages that follow, so that it keeps to its
// lines. Each step leaves out what those before leave out, and something that matters
// more: nothing that holds a load is left out, it is said further below.
type brevity uint8

const (
	inFull        brevity = iota
	sinceLast             // what changed since the first test stands in the table
	firstCause            // the first cause that holds a rotation; the others are counted
	permitsBelow          // which permits do not count
	dateBelow             // when all tests may be even
	oneChange             // the first change of a kind; the others are counted
	concernsBelow         // all concerns but the first
	requestsBelow         // what to measure first
	changesBelow          // what changed
	nextBelow             // what a repair permits next
	flagsBelow            // all red flags but the first, and that some of the record is missing
	alarmsBelow           // all alarms but the most urgent, and all concerns beside an alarm, and all causes
)

// summary is as long as there is room for.
func (c composer) summary() (own summary) {
	step := shortened(alarmsBelow, func(b brevity) bool {
		return fitsEverywhere(c.w, summaryLines, func(t *textWriter, w *wording.Catalogue) {
			s := composer{c.Assessment, w}.brief(b)
			t.summary(&s)
			if w == c.w {
				own = s
			}
		})
	})
	if step == alarmsBelow { // which was not tried
		return c.brief(step)
	}
	return own
}

// brief is the summary without what a brevity leaves out.
func (c composer) brief(b brevity) summary {
	s := summary{who: c.who(), decision: c.w.Decision(c.Readiness)}
	s.firstAlarms(c, b)
	add := func(line string) {
		if line != "" {
			s.lines = append(s.lines, line)
		}
	}
	add(c.healing(b))
	if !c.Readiness.Examine() { // a red flag says what changed
		for _, line := range c.changedSides(b) {
			add(s.unless(b >= changesBelow, line))
		}
		concerns, _ := c.concerns(b)
		s.lines = append(s.lines, concerns...)
		if b < alarmsBelow || c.Readiness.Tissue.Open() { // else the decision says that nothing is trained against resistance
			s.lines = append(s.lines, c.w.Stands(c.Readiness, named(b, firstCause))...)
		}
		add(s.unless(b >= dateBelow, c.evenWhen()))
	}
	if b >= nextBelow {
		s.unless(true, c.w.NextPhase(&c.Readiness.Tissue, c.Readiness.Examine()))
	}
	add(c.w.Soon(c.Plan, len(s.alarms) > 0 || b >= requestsBelow))
	return s
}

// unless puts a line below, or returns it.
func (s *summary) unless(below bool, line string) string {
	if !below || line == "" {
		return line
	}
	s.below = append(s.below, line)
	return ""
}

// named is how many items of a list a brevity names, one from a step on.
func named(b, from brevity) int {
	if from == firstCause && b >= alarmsBelow {
		return 0
	}
	if b >= from {
		return 1
	}
	return wording.MostNamed
}

// concerns are what nobody may pass over, as far as there is room; the rest is said below.
func (c composer) concerns(b brevity) (first, rest []string) {
	all, most := c.w.Concerns(c.Readiness), 1
	if b >= alarmsBelow && len(c.alarms()) > 0 {
		most = 0
	}
	if b < concernsBelow || len(all) <= most || c.Readiness.Examine() {
		return all, nil
	}
	return all[:most], all[most:]
}

// healing is the state of a repair; of one that permits everything only when it was.
func (c composer) healing(b brevity) string {
	t, examine := &c.Readiness.Tissue, c.Readiness.Examine()
	lines := c.w.Healing(t, examine)
	if len(lines) > 1 && t.Healing.Phase == shoulder.LoadSport && !examine {
		lines = lines[:1]
	}
	if b >= permitsBelow {
		below := c.w.PermitsNotCounted(t, examine)
		if b >= nextBelow {
			below = append(below, c.w.NextPhase(t, examine))
		}
		lines = slices.DeleteFunc(lines, func(line string) bool { return slices.Contains(below, line) })
	}
	return strings.Join(lines, " ")
}

// urgent is how many alarms the summary says in full; those behind them are counted, and said
// in full below. While a red flag holds these are what to do and the flags, the first of which
// it always says with its numbers; and that some of the record is missing. Else it is the
// first, beside a missing record the next as well.
func (c composer) urgent(b brevity) (most int) {
	switch examine := c.Readiness.Examine(); {
	case examine && b >= flagsBelow:
		return 2
	case examine:
		most = 1 + c.holding()
	default:
		most = 1
	}
	if c.Readiness.Incomplete && b < alarmsBelow {
		most++
	}
	return most
}

// holding is how many red flags hold.
func (c composer) holding() (n int) {
	for i := range c.Readiness.Flags {
		if c.Readiness.Flags[i].Holds() {
			n++
		}
	}
	return n
}

// firstAlarms says the most urgent alarms at once, and counts the rest, with what else there
// is no room for.
func (s *summary) firstAlarms(c composer, b brevity) {
	alarms := c.alarms()
	most := min(c.urgent(b), len(alarms))
	_, warnings := c.concerns(b)
	if b >= permitsBelow {
		warnings = append(c.w.PermitsNotCounted(&c.Readiness.Tissue, c.Readiness.Examine()), warnings...)
	}
	s.alarms, s.rest, s.warnings = alarms, slices.Concat(alarms[most:], warnings), len(warnings)
	if len(s.rest) > 0 {
		s.alarms = append(slices.Clip(alarms[:most]), c.w.More(len(s.rest), most == 0))
	}
}

// who is the patient and the visit.
func (c composer) who() []string {
	visit := c.w.Visit(tested(c.Assessment), c.Episode.Involved)
	if who := c.w.Who(c.Episode.Person); who != "" {
		return []string{who, visit}
	}
	return []string{visit}
}

// changedSides are what changed on the involved side; where both are affected, on each.
func (c composer) changedSides(b brevity) (lines []string) {
	involved := c.Episode.Involved
	if !c.Readiness.ComparisonAffected {
		return []string{c.changed(involved, b)}
	}
	if line := c.changed(involved, b); line != "" {
		lines = append(lines, c.w.OnSide(involved, line))
	}
	other, all := involved.Other(), [...]measure.Against{measure.Previous, measure.Baseline}
	for _, against := range all {
		if slices.ContainsFunc(c.changesAgainst(against, other), isReal) {
			return append(lines, c.w.OnSide(other, c.changed(other, b)))
		}
	}
	return lines
}

// changed is what changed on a side since the last test and, where that was another one,
// since the first.
func (c composer) changed(side shoulder.Side, b brevity) string {
	last, first := c.changesAgainst(measure.Previous, side), c.changesAgainst(measure.Baseline, side)
	inDoubt := len(c.Readiness.Doubts) > 0 && !slices.ContainsFunc(last, isReal) && !slices.ContainsFunc(first, isReal)
	if len(last) == 0 || inDoubt || !c.Current(tested(c.Assessment)) { // what is in doubt or long ago tells neither change nor its absence
		return ""
	}
	if b >= sinceLast { // a loss of strength is not left to the table, nor how many values rose where nothing did since
		if line := c.w.OnlySinceFirst(last, first); line != "" {
			return line
		}
		first = slices.DeleteFunc(slices.Clone(first), func(k *measure.Change) bool {
			return k.Subject != measure.StrengthChange || k.Direction != measure.Declined
		})
	}
	for i := range first {
		if !first[i].FromWhen.Equal(beforeLast(last, first[i])) {
			return c.w.Changed(last, first, named(b, oneChange))
		}
	}
	return c.w.Changed(last, nil, named(b, oneChange))
}

// isReal reports whether a change is more than error, at least probably.
func isReal(k *measure.Change) bool { return k.Direction != measure.Unchanged }

// beforeLast is the day that the change of the same test since the last visit begins on.
func beforeLast(last []*measure.Change, of *measure.Change) time.Time {
	for _, k := range last {
		if k.Subject == of.Subject && k.Setting == of.Setting && k.Movement == of.Movement && k.Active == of.Active &&
			k.Context == of.Context && k.Position == of.Position && k.Outcome == of.Outcome {
			return k.FromWhen
		}
	}
	return time.Time{}
}

// changesAgainst are the changes of strength, range, pain and outcome measures of a side to the
// session whose strength was tested last, or to a later one.
func (c composer) changesAgainst(a measure.Against, side shoulder.Side) (changes []*measure.Change) {
	latest := tested(c.Assessment)
	for i := range c.Measurements.Changes {
		k := &c.Measurements.Changes[i]
		if k.Against == a && k.Subject != measure.SymmetryChange && k.Side == side &&
			measure.DaysBetween(latest, k.ToWhen) >= 0 {
			changes = append(changes, k)
		}
	}
	return changes
}

// evenWhen says when all six tests may be even, or why no date can be given. It is empty
// where nothing may be said of the time to come.
func (c composer) evenWhen() string {
	if !c.LooksAhead() {
		return ""
	}
	allEven := true
	for i := range c.Readiness.Trained() {
		r := &c.Readiness.Motions[i]
		for k := range r.Positions {
			allEven = allEven && r.Positions[k].Even.Verdict == readiness.Met
		}
	}
	if allEven {
		return c.evenToday()
	}
	return c.w.EvenWhen(c.Course, c.Plan.Recheck)
}

// evenToday says that all six tests of the latest visit were even, while that is still to
// be confirmed; empty if it is confirmed, or rests on a weaker comparison side or on an
// earlier visit.
func (c composer) evenToday() string {
	if c.Readiness.AllConfirmed() {
		return ""
	}
	for i := range c.Readiness.Trained() {
		r := &c.Readiness.Motions[i]
		for k := range r.Positions {
			p := &r.Positions[k]
			if p.Symmetry == nil || p.Confirmed.Basis.OfComparison() || measure.DaysBetween(p.Symmetry.When, tested(c.Assessment)) != 0 {
				return ""
			}
		}
	}
	return c.w.EvenInAll()
}
