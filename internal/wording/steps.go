package wording

import (
	"slices"
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// OpenStep says where a rotation stands: "External rotation: 90 degrees of
// flexion, arm supported."
func (c *Catalogue) OpenStep(r *readiness.RotationReadiness) string {
	return c.Sentence(fill(c.phrases.labelled, c.Rotation(r.Rotation), c.Step(r.Step)))
}

// Reasons says why a rotation stands where it does, what holds the next step
// and what would open it. Each is one or more sentences. The side is the
// involved one.
func (c *Catalogue) Reasons(r *readiness.RotationReadiness, s shoulder.Side) []string {
	var reasons []string
	add := func(phrase string) { reasons = append(reasons, c.Sentence(phrase)) }
	if p := r.SteppedBack; p != nil {
		add(c.steppedBack(p))
	}
	if r.PainHolds {
		add(c.phrases.painHolds)
	}
	if r.Provisional {
		add(c.phrases.provisional)
	}
	if r.Step == readiness.StepFunctional {
		add(c.phrases.directStops)
	}
	for _, k := range findings(r.Holding) {
		add(fill(c.phrases.nextStep, c.Step(r.Next), c.Criterion(k, r.Rotation, s)))
	}
	for _, k := range findings(r.HoldingFree) {
		if !slices.Contains(r.Holding, k) {
			add(fill(c.phrases.holdFree, c.Criterion(k, r.Rotation, s)))
		}
	}
	if len(r.Beside) > 0 {
		names := make([]string, len(r.Beside))
		for i, p := range r.Beside {
			names[i] = c.Position(p)
		}
		add(fill(c.phrases.beside, c.list(names)))
	}
	return reasons
}

// steppedBack says from where to where the index fell.
func (c *Catalogue) steppedBack(p *readiness.PositionReadiness) string {
	threshold, phrase := p.GoodEnough.Threshold, c.phrases.fellTwice
	if p.GoodEnough.Certainty == measure.Clear {
		phrase = c.phrases.fellClearly
	}
	return fill(phrase, c.at(p.Position),
		c.inUnit(c.Index(p.FellFrom.Index, threshold), threshold.Unit), c.Date(p.FellFrom.When),
		c.inUnit(c.Index(p.Symmetry.Index, threshold), threshold.Unit))
}

// findings drops criteria that say what an earlier one has said: one pain
// score judged for two positions, and a range that misses the position itself
// beside the share of full range that asks for more.
func findings(criteria []*readiness.Criterion) []*readiness.Criterion {
	var kept []*readiness.Criterion
	for _, k := range criteria {
		if !slices.ContainsFunc(kept, func(earlier *readiness.Criterion) bool { return says(earlier, k) }) {
			kept = append(kept, k)
		}
	}
	return kept
}

func says(earlier, k *readiness.Criterion) bool {
	if earlier.Rule == readiness.RangeOpen && k.Rule == readiness.RangeMinimum {
		return earlier.Position == k.Position && earlier.Needed.Cmp(*k.Needed) >= 0
	}
	return k.Rule == readiness.PainAcceptable && earlier.Rule == k.Rule && slices.Equal(earlier.Sources, k.Sources)
}

func (c *Catalogue) list(items []string) string { return strings.Join(items, c.phrases.listJoin) }

// Next says when to measure again, and what to measure before anything else.
func (c *Catalogue) Next(p *plan.Plan) []string {
	next := []string{c.Sentence(fill(c.phrases.recheck, c.Date(p.Recheck.From), c.Date(p.Recheck.To)))}
	var first []string
	for i := range p.Requests {
		if p.Requests[i].First {
			first = append(first, c.Request(&p.Requests[i]))
		}
	}
	if len(first) > 0 {
		next = append(next, c.Sentence(fill(c.phrases.measureFirst, strings.Join(first, c.phrases.partJoin))))
	}
	return next
}

// Conclusion is the decision, then why, then what next, in lines of plain
// text.
func (c *Catalogue) Conclusion(a *assess.Assessment) string {
	lines := []string{c.Decision(a.Readiness.Overall)}
	for i := range a.Readiness.Rotations {
		r := &a.Readiness.Rotations[i]
		reasons := append([]string{c.OpenStep(r)}, c.Reasons(r, a.Episode.Involved)...)
		lines = append(lines, strings.Join(reasons, " "))
	}
	lines = append(lines, c.Next(a.Plan)...)
	return strings.Join(lines, "\n")
}
