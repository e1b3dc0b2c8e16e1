package wording

import (
	"slices"
	"strings"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// Exercise is the title of an exercise: "External rotation at 90 degrees of
// flexion, arm supported".
func (c *Catalogue) Exercise(e *plan.Exercise) string { return Capital(c.exercise(e)) }

func (c *Catalogue) exercise(e *plan.Exercise) string {
	switch e.Purpose {
	case plan.RestoreRange:
		return c.fill(c.phrases.exerciseRange, c.Movement(e.Movement))
	case plan.BeginFunction, plan.FullFunction:
		return c.Purpose(e.Purpose)
	}
	title := c.MotionAt(e.Motion, e.Position)
	if e.Support != shoulder.SupportUnstated {
		title += c.phrases.listJoin + c.Support(e.Support)
	}
	if e.Purpose == plan.Continue {
		title = c.fill(c.phrases.exerciseGoesOn, title)
	}
	return title
}

// ExerciseDetail is resistance and dose, set-up, and the source of the dose of
// an exercise, in sentences.
func (c *Catalogue) ExerciseDetail(e *plan.Exercise) string {
	detail := []string{c.Dose(e), c.SetUp(e), c.DoseSource(e)}
	if e.Provisional {
		detail = append([]string{c.Provisional()}, detail...)
	}
	return strings.Join(detail, " ")
}

// Provisional says that a position is open without a measurement there, a
// sentence.
func (c *Catalogue) Provisional() string { return c.Sentence(c.phrases.provisional) }

// NoExercise says that nothing is proposed, a sentence.
func (c *Catalogue) NoExercise(p *plan.Plan) string {
	if p.Examine {
		return c.Sentence(c.phrases.noExerciseFlag)
	}
	return c.Sentence(c.phrases.noExercise)
}

// Dose is the resistance and the dose of an exercise, a sentence.
func (c *Catalogue) Dose(e *plan.Exercise) string {
	if e.Mode == plan.NoResistance {
		return c.Sentence(c.Translated(e.Dose.Text))
	}
	return c.sentence(c.phrases.labelled, c.Mode(e.Mode), c.Translated(e.Dose.Text))
}

// Translated is the title, a dose or a source of a protocol, in the catalogue's language if it is the default
// protocol's, else as the protocol has it.
func (c *Catalogue) Translated(text string) string {
	if translated, ok := c.prose[text]; ok {
		return translated
	}
	return text
}

// DoseSource is the citation of the dose, a sentence.
func (c *Catalogue) DoseSource(e *plan.Exercise) string {
	return c.sentence(c.phrases.doseSource, c.Translated(e.Dose.Source))
}

// SetUp is the cues of an exercise, in sentences.
func (c *Catalogue) SetUp(e *plan.Exercise) string {
	cues := make([]string, len(e.Cues))
	for i, cue := range e.Cues {
		cues[i] = c.Cue(cue)
	}
	return strings.Join(cues, " ")
}

// Request is what to measure or find out, and why: a phrase.
func (c *Catalogue) Request(r *plan.Request) string { return c.Requests([]*plan.Request{r}) }

// RequestGroups groups the requests that ask for the same thing for the same reason at the
// same time, in the order of the first of each.
func RequestGroups(requests []plan.Request) [][]*plan.Request {
	all := make([]*plan.Request, len(requests))
	for i := range requests {
		all[i] = &requests[i]
	}
	return grouped(all, func(a, b *plan.Request) bool {
		return a.Ask == b.Ask && a.Why == b.Why && a.Mismatch == b.Mismatch && a.First == b.First
	})
}

// grouped groups the requests that are the same in some way, in the order of the first
// of each.
func grouped(requests []*plan.Request, same func(a, b *plan.Request) bool) (groups [][]*plan.Request) {
	for _, r := range requests {
		at := slices.IndexFunc(groups, func(g []*plan.Request) bool { return same(g[0], r) })
		if at < 0 {
			groups = append(groups, []*plan.Request{r})
			continue
		}
		groups[at] = append(groups[at], r)
	}
	return groups
}

// Requests is a group of requests as one phrase.
func (c *Catalogue) Requests(group []*plan.Request) string {
	subjects := make([]string, len(group))
	for i, r := range group {
		subjects[i] = c.asked(r)
	}
	ask := c.terms.ask
	if group[0].Why == plan.WhyUnexamined {
		ask = c.terms.askShort // which does not say "before any load": work goes on beside it
	}
	return c.fill(c.phrases.withReason, c.fill(term(ask, group[0].Ask), c.list(subjects)), c.why(group))
}

func (c *Catalogue) why(group []*plan.Request) string {
	return c.list(append([]string{c.reason(group[0])}, c.order(group)...))
}

func (c *Catalogue) reason(r *plan.Request) string {
	if r.Why == plan.WhyNotAlike {
		return c.Mismatch(r.Mismatch)
	}
	return c.Why(r.Why)
}

// order says that the order of a group is that of what each would settle; nothing if
// there is nothing to choose.
func (c *Catalogue) order(group []*plan.Request) []string {
	if group[0].Settles == group[len(group)-1].Settles {
		return nil
	}
	return []string{c.phrases.mostTelling}
}

// asked names what a request is about.
func (c *Catalogue) asked(r *plan.Request) string {
	switch r.Ask {
	case plan.AskStrength:
		return c.MotionAt(r.Motion, r.Position)
	case plan.AskRange:
		return c.RangeOf(r.Movement, true, shoulder.PositionUnstated)
	case plan.AskPassive:
		return c.RangeOf(r.Movement, false, shoulder.PositionUnstated)
	case plan.AskSteadiness:
		return c.at(r.Position)
	case plan.AskOutcome:
		return c.Outcome(r.Outcome)
	}
	return ""
}

// Goal is the aim of a goal, its date and its achievement: a phrase.
func (c *Catalogue) Goal(g *plan.Goal) string {
	aim := c.fill(term(c.terms.aim, g.Aim), c.Motion(g.Motion))
	return c.fill(c.phrases.goal, aim, c.targets(g.Targets), c.due(g), c.Achievement(g.Achievement))
}

// GoalShort is the value to reach, its date, and the present values: a sentence.
func (c *Catalogue) GoalShort(g *plan.Goal) string {
	aim, present := c.fill(term(c.terms.aim, g.Aim), c.Motion(g.Motion)), make([]string, len(g.Targets))
	for i := range g.Targets {
		present[i] = c.now(&g.Targets[i])
		if len(g.Targets) > 1 {
			present[i] = c.fill(c.phrases.present, c.PositionShort(g.Targets[i].Position), present[i])
		}
	}
	return c.sentence(c.phrases.goalShort, aim, c.due(g), c.wanted(&g.Targets[0]), c.list(present))
}

// due says by when, or that no date can be given.
func (c *Catalogue) due(g *plan.Goal) string {
	if g.Due.IsZero() {
		return c.phrases.noDue
	}
	return c.fill(c.phrases.by, c.Date(g.Due))
}

func (c *Catalogue) targets(targets []plan.Target) string {
	if len(targets) == 1 {
		return c.Target(&targets[0])
	}
	present := make([]string, len(targets))
	for i := range targets {
		present[i] = c.fill(c.phrases.present, c.at(targets[i].Position), c.now(&targets[i]))
	}
	return c.fill(c.phrases.targetIndexes, c.wanted(&targets[0]), c.list(present))
}

// Target is one measurable part of a goal: "limb symmetry index at least 75 %
// at 90 degrees of flexion (now 68.8 %)".
func (c *Catalogue) Target(t *plan.Target) string {
	return c.fill(c.phrases.withReason, c.target(t), c.fill(c.phrases.now, c.now(t)))
}

// wanted is the value to reach, rounded up if it is a range.
func (c *Catalogue) wanted(t *plan.Target) string {
	threshold := t.Threshold
	threshold.Unit = t.Unit
	if t.Unit == "deg" {
		return c.threshold(threshold, roundedUp(t.Value, places(t.Value, t.Unit)))
	}
	return c.threshold(threshold, inFull(t.Value))
}

func (c *Catalogue) now(t *plan.Target) string {
	switch {
	case t.Doubted:
		return c.phrases.inDoubt
	case t.Current == nil:
		return c.phrases.notMeasured
	}
	return c.Quantity(*t.Current, t.Unit, t.Value)
}

func (c *Catalogue) target(t *plan.Target) string {
	switch {
	case t.Movement != shoulder.MovementUnknown:
		return c.fill(c.phrases.targetRange, c.Movement(t.Movement), c.wanted(t))
	case t.Position != shoulder.PositionUnstated:
		return c.fill(c.phrases.targetIndex, c.wanted(t), c.at(t.Position))
	}
	return c.fill(c.phrases.targetPain, c.wanted(t))
}
