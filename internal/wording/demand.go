package wording

import (
	"cmp"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Demand names a demand of work or sport, in English if it has no name in the language.
func (c *Catalogue) Demand(d *protocol.Demand) string {
	return cmp.Or(d.Title[c.language], d.Title["en"])
}

// DemandVerdict is a demand with its verdict: a sentence.
func (c *Catalogue) DemandVerdict(d *readiness.Demand) string {
	return c.sentence(c.phrases.labelled, c.Demand(d.Row), c.Certainty(d.Verdict))
}

// DemandBrief is the verdict with what decides it and what is missing: sentences.
func (c *Catalogue) DemandBrief(d *readiness.Demand, permitted shoulder.LoadPhase) []string {
	lines := []string{c.DemandVerdict(d)}
	switch weakest := d.Weakest(); {
	case len(d.Holds) > 0 && (!d.Verdict.Not() || d.HeldBy(readiness.HeldByHealing)):
		lines = append(lines, c.demandHeld(d.Holds, permitted))
	case weakest != nil && !weakest.Certainty.Met():
		lines = append(lines, c.Sentence(c.DemandCriterion(weakest)))
	}
	return append(lines, c.demandMissing(d)...)
}

// DemandReasons are what holds a demand, each of its criteria, and what is missing:
// sentences. Before an examination no criterion is said to be met.
func (c *Catalogue) DemandReasons(d *readiness.Demand, permitted shoulder.LoadPhase) (lines []string) {
	if len(d.Holds) > 0 {
		lines = append(lines, c.demandHeld(d.Holds, permitted))
	}
	if !d.HeldBy(readiness.HeldByFlag) {
		for i := range d.Criteria {
			if k := &d.Criteria[i]; k.Value != nil {
				lines = append(lines, c.Sentence(c.DemandCriterion(k)))
			}
		}
	}
	return append(lines, c.demandMissing(d)...)
}

func (c *Catalogue) demandHeld(holds []readiness.DemandHold, permitted shoulder.LoadPhase) string {
	names := make([]string, len(holds))
	for i, h := range holds {
		names[i] = c.DemandHold(h, permitted)
	}
	return c.sentence(c.phrases.demandHeld, c.list(names))
}

// DemandHold is what a demand waits for, with the load that is permitted now.
func (c *Catalogue) DemandHold(h readiness.DemandHold, permitted shoulder.LoadPhase) string {
	return c.fill(term(c.terms.demandHold, h), c.LoadPhase(permitted))
}

func (c *Catalogue) demandMissing(d *readiness.Demand) []string {
	var names []string
	for _, k := range d.Missing() {
		names = append(names, c.DemandCriterionName(k))
	}
	if len(names) == 0 {
		return nil
	}
	return []string{c.sentence(c.phrases.demandMissing, c.list(names))}
}

// DemandCriterion is a criterion with its value, its threshold and how sure it is that it
// is met: "active flexion 172 degrees (at least 160 degrees): clearly met".
func (c *Catalogue) DemandCriterion(k *readiness.DemandCriterion) string {
	if k.Value == nil {
		return c.fill(c.phrases.labelled, c.fill(c.phrases.withReason, c.DemandCriterionName(k), c.Threshold(k.Threshold)), c.Verdict(k.Verdict))
	}
	value := c.Quantity(*k.Value, k.Threshold.Unit, k.Threshold.Value)
	return c.fill(c.phrases.labelled,
		c.fill(c.phrases.withReason, c.fill(c.phrases.nameValue, c.DemandCriterionName(k), value), c.Threshold(k.Threshold)),
		c.Certainty(k.Certainty))
}

// DemandCriterionName names what a criterion asks for: "active flexion".
func (c *Catalogue) DemandCriterionName(k *readiness.DemandCriterion) string {
	switch k.Kind {
	case readiness.DemandRange:
		return c.RangeOf(k.Movement, true, k.Position)
	case readiness.DemandPain:
		return c.PainContext(k.Occasion)
	case readiness.DemandMeasure:
		return c.Outcome(k.Outcome)
	case readiness.DemandWeeks:
		return c.phrases.demandWeeks
	}
	return c.fill(c.phrases.indexSubject, c.MotionAt(k.Motion, k.Position))
}

// DemandAsks are the criteria of a demand with their thresholds, and the load that has to be
// permitted.
func (c *Catalogue) DemandAsks(d *protocol.Demand, p *protocol.Protocol) []string {
	asks := []string{c.LoadPhase(d.PermittedLoad)}
	criteria := readiness.CriteriaOf(d, p)
	for i := range criteria {
		asks = append(asks, c.fill(c.phrases.nameValue, c.DemandCriterionName(&criteria[i]), c.Threshold(criteria[i].Threshold)))
	}
	return asks
}

// Demands says which demands the patient may return to, and which not yet: sentences.
func (p Plain) Demands(r *readiness.Readiness) (lines []string) {
	var open, notYet []string
	for i := range r.Demands {
		if d := &r.Demands[i]; d.Verdict.Met() {
			open = append(open, p.c.Demand(d.Row))
		} else {
			notYet = append(notYet, p.c.Demand(d.Row))
		}
	}
	if len(open) > 0 {
		lines = append(lines, p.c.sentence(p.c.plain.demandsOpen, p.c.list(open)))
	}
	if len(notYet) > 0 {
		lines = append(lines, p.c.sentence(p.c.plain.demandsNotYet, p.c.list(notYet)))
	}
	return lines
}

// demands adds the demands with their criteria.
func (s *sourceList) demands() {
	for i := range s.protocol.Demands {
		d := &s.protocol.Demands[i]
		s.add(s.words.fill(s.words.phrases.labelled, s.words.Headings.Demands, s.words.Demand(d)), d.Sources()...)
	}
}
