package wording

import (
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// mostNamed is how many of several things the summary names. The rest is counted,
// because the summary has to be short whatever there is to say; the pages behind it
// name all.
const mostNamed = 2

// some lists the first few items and counts the rest.
func (c *Catalogue) some(items []string) string {
	if len(items) <= mostNamed+1 {
		return c.list(items)
	}
	return c.fill(c.phrases.more, c.list(items[:mostNamed]), strconv.Itoa(len(items)-mostNamed))
}

// More says that there are so many further alarms: a sentence.
func (c *Catalogue) More(alarms int) string {
	return c.sentence(c.phrases.moreAlarms, strconv.Itoa(alarms))
}

// Stand is where a rotation is trained, the next step, and what holds it: a sentence.
func (c *Catalogue) Stand(r *readiness.RotationReadiness) string {
	line := c.fill(c.phrases.labelled, c.Rotation(r.Rotation), c.StepShort(r.Step))
	if held := c.heldBy(findings(r.Holding)); held != "" && r.Next != readiness.NoStep {
		line = c.fill(c.phrases.held, line, Capital(c.StepShort(r.Next)), held)
	}
	return c.Sentence(line)
}

// heldBy names what keeps a step closed, each kind of criterion once with its numbers.
func (c *Catalogue) heldBy(holding []*readiness.Criterion) string {
	var causes []string
	done := map[string]bool{}
	for _, k := range holding {
		cause := c.cause(k)
		if done[cause] {
			continue
		}
		done[cause] = true
		var values []string
		for _, other := range holding {
			if value := c.shortValue(other); c.cause(other) == cause && value != "" {
				values = append(values, value)
			}
		}
		causes = append(causes, c.withValues(cause, values))
	}
	if len(causes) > mostNamed+1 {
		causes = append(causes[:mostNamed], c.fill(c.phrases.moreAlarms, strconv.Itoa(len(causes)-mostNamed)))
	}
	return strings.Join(causes, c.phrases.partJoin)
}

func (c *Catalogue) withValues(cause string, values []string) string {
	if len(values) == 0 {
		return cause
	}
	return c.fill(c.phrases.withReason, cause, c.list(values))
}

// cause says in a few words what is asked for.
func (c *Catalogue) cause(k *readiness.Criterion) string {
	switch k.Rule {
	case readiness.GoodEnough, readiness.EvenConfirmed:
		return c.strengthCause(k)
	case readiness.PainAcceptable, readiness.RangeOpen, readiness.RangeMinimum:
		return c.Rule(k.Rule)
	}
	return c.Criterion(k, shoulder.RotationUnknown, shoulder.SideUnknown)
}

func (c *Catalogue) strengthCause(k *readiness.Criterion) string {
	switch {
	case k.Basis == readiness.Doubted:
		return c.phrases.heldDoubt
	case k.Basis == readiness.ManualTest:
		return c.phrases.heldGrade
	case k.Basis == readiness.ChangeFromFirst:
		return c.phrases.heldChange
	case k.Value == nil:
		return c.phrases.heldMissing
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
	case k.Rule == readiness.PainAcceptable && k.Value != nil:
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
	case k.Value == nil || k.Basis == readiness.Doubted || k.Basis == readiness.ChangeFromFirst:
		return position
	}
	return c.fill(c.phrases.valueAt, c.index(k), position)
}

// Who names the patient, with the date of birth if it is known; empty if nobody is
// named. It is free text of the record.
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

// EvenBy says when the last of the indices is even if the course goes on: a sentence.
func (c *Catalogue) EvenBy(t *measure.Trend) string {
	if t.Latest.IsZero() {
		return c.sentence(c.phrases.evenByOpen, c.Date(t.Date), c.Date(t.Earliest))
	}
	return c.sentence(c.phrases.evenBy, c.Date(t.Date), c.Date(t.Earliest), c.Date(t.Latest))
}

// NoDate says why no date of evenness can be given, by the first test that keeps it
// from being said: a sentence. The trend is nil if the test has no course.
func (c *Catalogue) NoDate(r shoulder.Rotation, p shoulder.ArmPosition, t *measure.Trend) string {
	why := c.phrases.noCourse
	if t != nil {
		why = c.Outlook(t.Outlook)
	}
	return c.sentence(c.phrases.evenNoDate, c.RotationAt(r, p), why)
}

// Changed says what changed beyond measurement error since the last test and, unless
// that was the first, since the first: a sentence. What got worse goes first.
func (c *Catalogue) Changed(last, first []*measure.Change) string {
	parts := []string{c.changedSince(c.phrases.sinceLastTest, last)}
	if len(first) > 0 {
		parts = append(parts, c.changedSince(c.phrases.sinceFirstTest, first))
	}
	return c.Sentence(strings.Join(parts, c.phrases.partJoin))
}

func (c *Catalogue) changedSince(since string, changes []*measure.Change) string {
	var parts []string
	for _, d := range [...]measure.Direction{measure.Declined, measure.Improved} {
		if items := c.changedItems(changes, d); len(items) > 0 {
			parts = append(parts, c.fill(c.phrases.inPosition, c.DirectionShort(d), c.some(items)))
		}
	}
	if len(parts) == 0 {
		parts = []string{c.phrases.nothingChanged}
	}
	return c.fill(c.phrases.labelled, since, strings.Join(parts, c.phrases.listJoin))
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
	}
	return c.fill(c.phrases.inPosition, c.Rotation(k.Setting.Rotation), c.PositionShort(k.Setting.Position))
}

// Soon says when to measure again and what to find out first, in short: a sentence.
func (c *Catalogue) Soon(p *plan.Plan) string {
	var first []string
	for _, group := range RequestGroups(p.Requests) {
		if group[0].First {
			first = append(first, c.shortRequest(group))
		}
	}
	line := c.Recheck(p)
	if len(first) == 0 {
		return line
	}
	return line + " " + c.sentence(c.phrases.labelled, c.first(p), c.some(first))
}

func (c *Catalogue) shortRequest(group []*plan.Request) string {
	return c.fill(term(c.terms.askShort, group[0].Ask), c.subjectsShort(group))
}

// subjectsShort names what a group of requests is about, the positions of a rotation
// together.
func (c *Catalogue) subjectsShort(group []*plan.Request) string {
	if group[0].Ask != plan.AskStrength {
		subjects := make([]string, len(group))
		for i, r := range group {
			subjects[i] = c.asked(r)
		}
		return c.list(subjects)
	}
	var rotations []string
	for _, rotation := range shoulder.Rotations {
		var positions []string
		for _, r := range group {
			if r.Rotation == rotation {
				positions = append(positions, c.PositionShort(r.Position))
			}
		}
		if len(positions) > 0 {
			rotations = append(rotations, c.fill(c.phrases.withReason, c.Rotation(rotation), c.list(positions)))
		}
	}
	return c.list(rotations)
}

// StepShort names a step in short: "90° flexion, supported".
func (c *Catalogue) StepShort(s readiness.Step) string { return term(c.terms.stepShort, s) }

// AskShort is what to measure or find out at the re-check, in short: sentences, one for each
// kind of request.
func (c *Catalogue) AskShort(p *plan.Plan, first bool) (lines []string) {
	for _, group := range RequestGroups(p.Requests) {
		if group[0].First == first {
			lines = append(lines, c.Sentence(c.fill(c.phrases.withReason, c.shortRequest(group), c.why(group[0]))))
		}
	}
	return lines
}

// DifferenceMarked is the difference of a change without its unit, marked if it is beyond
// measurement error.
func (c *Catalogue) DifferenceMarked(k *measure.Change) string {
	difference, _, _ := c.difference(k)
	if k.Direction == measure.Unchanged {
		return c.localised(difference)
	}
	return c.fill(c.phrases.marked, c.localised(difference))
}

// MarkMeans explains the mark of DifferenceMarked: a sentence.
func (c *Catalogue) MarkMeans() string { return c.Sentence(c.phrases.markMeans) }

// CautionsInBrief are the cautions that no page goes without: sentences.
func (c *Catalogue) CautionsInBrief() string { return c.phrases.cautionsBrief }

// FullReport says where everything is that a short page leaves out: a sentence.
func (c *Catalogue) FullReport() string { return c.Sentence(c.phrases.fullReport) }

// MoreIssues says that there are so many further ones: a sentence.
func (c *Catalogue) MoreIssues(n int) string {
	return c.sentence(c.phrases.moreIssues, strconv.Itoa(n))
}
