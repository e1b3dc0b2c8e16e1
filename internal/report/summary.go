package report

import (
	"slices"
	"strings"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Every form begins with the summary: whose shoulder it is, any alarm, the decision,
// what changed, where each rotation stands, when it may be even, and what to measure
// next. It fits twelve lines of a terminal and can be read without the rest.

// summaryAlarms is how many alarms the summary says in full. Those behind it are
// counted, and said in full below.
const summaryAlarms = 1

// summary is everything that stands before the first section of a page.
type summary struct {
	who      []string // whose shoulder, and the visit
	alarms   []string
	decision string
	lines    []string
	// rest are the alarms that alarms only counts.
	rest []string
}

func (c composer) summary() summary {
	s := summary{who: c.who(), decision: c.w.Decision(c.Readiness)}
	s.alarms, s.rest = c.firstAlarms()
	add := func(line string) {
		if line != "" {
			s.lines = append(s.lines, line)
		}
	}
	add(c.healing())
	if !c.Readiness.Examine() { // a red flag says what changed
		add(c.changed())
		s.lines = append(s.lines, c.w.Concerns(c.Readiness)...)
		s.lines = append(s.lines, c.w.Stands(c.Readiness)...)
		add(c.evenWhen())
	}
	add(c.w.Soon(c.Plan, len(s.alarms) > 0))
	return s
}

// healing is the state of a repair; of one that permits everything only when it was.
func (c composer) healing() string {
	lines := c.w.Healing(&c.Readiness.Tissue, c.Readiness.Examine())
	if len(lines) > 1 && c.Readiness.Tissue.Healing.Phase == shoulder.LoadSport && !c.Readiness.Examine() {
		lines = lines[:1]
	}
	return strings.Join(lines, " ")
}

// firstAlarms are the alarms that are said at once, the most urgent first, and the
// rest.
func (c composer) firstAlarms() (first, rest []string) {
	alarms, most := c.alarms(), summaryAlarms
	if c.Readiness.Examine() {
		most++ // what to do goes before what was found
	}
	if len(alarms) <= most {
		return alarms, nil
	}
	rest = alarms[most:]
	return append(slices.Clip(alarms[:most]), c.w.More(len(rest))), rest
}

// who is the patient and the visit.
func (c composer) who() []string {
	visit := c.w.Visit(tested(c.Assessment), c.Episode.Involved)
	if who := c.w.Who(c.Episode.Person); who != "" {
		return []string{who, visit}
	}
	return []string{visit}
}

// changed is what changed on the involved side since the last test and, where that was
// another one, since the first.
func (c composer) changed() string {
	last, first := c.changesAgainst(measure.Previous), c.changesAgainst(measure.Baseline)
	changed := func(k *measure.Change) bool { return k.Direction != measure.Unchanged }
	inDoubt := len(c.Readiness.Doubts) > 0 && !slices.ContainsFunc(last, changed) && !slices.ContainsFunc(first, changed)
	if len(last) == 0 || inDoubt || !c.Current(tested(c.Assessment)) { // what is in doubt or long ago tells neither change nor its absence
		return ""
	}
	for i := range first {
		if !first[i].FromWhen.Equal(last[i].FromWhen) { // both lists name the same tests
			return c.w.Changed(last, first)
		}
	}
	return c.w.Changed(last, nil)
}

// changesAgainst are the changes of strength, range and pain to the latest session.
func (c composer) changesAgainst(a measure.Against) (changes []*measure.Change) {
	latest := tested(c.Assessment)
	for i := range c.Measurements.Changes {
		k := &c.Measurements.Changes[i]
		if k.Against == a && k.Subject != measure.SymmetryChange && k.Side == c.Episode.Involved &&
			measure.DaysBetween(k.ToWhen, latest) == 0 {
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
		r := &c.Readiness.Rotations[i]
		for k := range r.Positions {
			allEven = allEven && r.Positions[k].Even.Verdict == readiness.Met
		}
	}
	if allEven {
		return c.evenToday()
	}
	return c.w.EvenWhen(c.Course)
}

// evenToday says that all six tests of the latest visit were even, while that is still to
// be confirmed; empty if it is confirmed, or rests on a weaker comparison side or on an
// earlier visit.
func (c composer) evenToday() string {
	if c.Readiness.AllConfirmed() {
		return ""
	}
	for i := range c.Readiness.Trained() {
		r := &c.Readiness.Rotations[i]
		for k := range r.Positions {
			p := &r.Positions[k]
			if p.Symmetry == nil || p.Confirmed.Basis == readiness.ComparisonWeaker || p.Confirmed.Basis == readiness.ComparisonHurts || measure.DaysBetween(p.Symmetry.When, tested(c.Assessment)) != 0 {
				return ""
			}
		}
	}
	return c.w.EvenInAll()
}
