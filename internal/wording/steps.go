package wording

import (
	"slices"
	"strings"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// OpenStep is the step at which a rotation is trained: "External rotation: 90 degrees of
// flexion, arm supported."
func (c *Catalogue) OpenStep(r *readiness.MotionReadiness) string {
	return c.sentence(c.phrases.labelled, c.Motion(r.Motion), c.Step(r.Step))
}

// Reasons says why a rotation is at its step, what holds back the next one and what would
// open it: sentences. The side is the involved one. While a red flag calls for an
// examination nothing is said that could be read as advice to train.
func (c *Catalogue) Reasons(r *readiness.MotionReadiness, s shoulder.Side, examine bool) []string {
	var reasons []string
	add := func(applies bool, phrase string) {
		if applies {
			reasons = append(reasons, c.Sentence(phrase))
		}
	}
	if p := r.SteppedBack; p != nil {
		add(true, c.steppedBack(p))
	}
	add(r.PainHolds && !examine, c.phrases.painHolds)
	add(r.Provisional && !examine, c.phrases.provisional)
	add(r.Step == readiness.StepFunctional, c.phrases.directStops)
	said := c.criteria(r, r.Holding, s, nil)
	for i, text := range said {
		if i == 0 && r.Step != readiness.NoStep {
			text = c.fill(c.phrases.notYet, c.Step(r.Next), text)
		}
		add(true, text)
	}
	for i, text := range c.criteria(r, r.HoldingFree, s, said) {
		if i == 0 {
			text = c.fill(c.phrases.notFree, text)
		}
		add(true, text)
	}
	add(len(r.Beside) > 0 && !examine, c.fill(c.phrases.beside, c.positions(r.Beside)))
	return reasons
}

// criteria are the texts of the criteria, each once, without those in before.
func (c *Catalogue) criteria(r *readiness.MotionReadiness, criteria []*readiness.Criterion, s shoulder.Side, before []string) []string {
	var texts []string
	for _, k := range findings(criteria) {
		text := c.Criterion(k, r.Motion, s)
		if !slices.Contains(before, text) && !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	return texts
}

func (c *Catalogue) positions(positions []shoulder.ArmPosition) string {
	names := make([]string, len(positions))
	for i, p := range positions {
		names[i] = c.Position(p)
	}
	return c.list(names)
}

// steppedBack says from where to where the index fell.
func (c *Catalogue) steppedBack(p *readiness.PositionReadiness) string {
	threshold, phrase := p.GoodEnough.Threshold, c.phrases.fellTwice
	switch {
	case p.Symmetry.Beyond(threshold) && p.GoodEnough.Certainty.Not():
		phrase = c.phrases.fellClearly
	case p.Weaker:
		phrase = c.phrases.fellWeaker
	}
	return c.fill(phrase, c.at(p.Position),
		c.inUnit(c.Index(p.FellFrom.Index, threshold), threshold.Unit), c.Date(p.FellFrom.When),
		c.inUnit(c.Index(p.Symmetry.Index, threshold), threshold.Unit), c.Certainty(p.GoodEnough.Certainty))
}

// findings drops criteria that repeat an earlier one: one pain score that is judged for
// two positions, and a range below the position itself if the share of full range, which
// asks for more, is listed.
func findings(criteria []*readiness.Criterion) []*readiness.Criterion {
	var kept []*readiness.Criterion
	for _, k := range criteria {
		if !slices.ContainsFunc(kept, func(earlier *readiness.Criterion) bool { return saysSame(earlier, k) }) {
			kept = append(kept, k)
		}
	}
	return kept
}

func saysSame(earlier, k *readiness.Criterion) bool {
	if earlier.Rule == readiness.RangeOpen && k.Rule == readiness.RangeMinimum {
		return earlier.Position == k.Position && earlier.Needed.Cmp(*k.Needed) >= 0
	}
	same := k.Rule == readiness.PainAcceptable || k.Rule == readiness.LoadPermitted && earlier.Position.Elevated() == k.Position.Elevated()
	return same && earlier.Rule == k.Rule && slices.Equal(earlier.Sources, k.Sources)
}

func (c *Catalogue) list(items []string) string { return strings.Join(items, c.phrases.listJoin) }

// Next says when to measure again, and what to measure before anything else.
func (c *Catalogue) Next(p *plan.Plan) []string {
	next := []string{c.Recheck(p)}
	var first []string
	for _, group := range RequestGroups(p.Requests) {
		if group[0].First {
			first = append(first, c.Requests(group))
		}
	}
	if len(first) > 0 {
		phrase := c.phrases.measureFirst
		if p.Examine {
			phrase = c.phrases.doAtOnce
		}
		next = append(next, c.sentence(phrase, strings.Join(first, c.phrases.partJoin)))
	}
	return next
}
