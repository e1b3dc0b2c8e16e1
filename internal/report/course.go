package report

import (
	"strings"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// course is healing, range and pain with their gates, and where strength is
// going. Healing that holds is among the reasons.
func (c composer) course() section {
	s := section{heading: c.w.Headings.Course}
	add := func(phrases []string) {
		for i := range phrases {
			phrases[i] = c.w.Sentence(phrases[i])
		}
		s.entries = append(s.entries, entry{text: strings.Join(phrases, " ")})
	}
	if tissue := &c.Readiness.Tissue; tissue.Verdict == readiness.Met {
		add([]string{c.w.Criterion(&tissue.Criterion, shoulder.RotationUnknown, c.Episode.Involved)})
	}
	ranges := c.Measurements.Ranges
	for i := range ranges {
		if r := &ranges[i]; r.Side == c.Episode.Involved && !laterRange(ranges[i+1:], r) {
			add(c.motion(r))
		}
	}
	pains := c.Measurements.Pains
	for i := range pains {
		if !laterPain(pains[i+1:], &pains[i]) {
			add(c.pain(&pains[i]))
		}
	}
	for _, position := range shoulder.Positions {
		if sides := c.ratios(position); len(sides) > 0 {
			add([]string{c.w.Ratio(sides...)})
		}
	}
	for i := range c.Measurements.Trends {
		add([]string{c.w.Trend(&c.Measurements.Trends[i])})
	}
	return s
}

// motion is one range of motion with the comparison side, its gate and its
// change.
func (c composer) motion(r *measure.RangeScore) []string {
	phrases := []string{c.w.Range(r, c.otherSide(r))}
	for i := range c.Readiness.Rotations[0].Positions {
		at := &c.Readiness.Rotations[0].Positions[i]
		if at.Range.Measured != &r.Degrees {
			continue
		}
		phrases = append(phrases, c.w.Judgement(&at.Range))
		if at.Range.Verdict == readiness.Met && at.RangeMinimum.Verdict != readiness.Met {
			phrases = append(phrases, c.w.Judgement(&at.RangeMinimum))
		}
	}
	return append(phrases, c.changeOf(func(k *measure.Change) bool {
		return k.Subject == measure.RangeChange && k.Movement == r.Movement && k.Active == r.Active &&
			k.Position == r.Position && k.Side == r.Side
	})...)
}

func (c composer) otherSide(r *measure.RangeScore) *measure.RangeScore {
	for i := range c.Measurements.Ranges {
		o := &c.Measurements.Ranges[i]
		if o.Session == r.Session && o.Side == r.Side.Other() && sameMovement(o, r) {
			return o
		}
	}
	return nil
}

// pain is one pain score with its gate, if it is the one judged, and its
// change.
func (c composer) pain(p *measure.PainScore) []string {
	phrases := []string{c.w.Pain(p)}
	for i := range c.Readiness.Rotations[0].Positions {
		if gate := &c.Readiness.Rotations[0].Positions[i].Pain; gate.Value == &p.Score {
			phrases = append(phrases, c.w.Judgement(gate))
			break
		}
	}
	return append(phrases, c.changeOf(func(k *measure.Change) bool {
		return k.Subject == measure.PainChange && k.Context == p.Context && k.Position == p.Position
	})...)
}

// changeOf is what changed since the previous session.
func (c composer) changeOf(about func(*measure.Change) bool) []string {
	for i := range c.Measurements.Changes {
		if k := &c.Measurements.Changes[i]; k.Against == measure.Previous && about(k) {
			return []string{c.w.ChangeBrief(k)}
		}
	}
	return nil
}

func laterRange(later []measure.RangeScore, r *measure.RangeScore) bool {
	for i := range later {
		if later[i].Side == r.Side && sameMovement(&later[i], r) {
			return true
		}
	}
	return false
}

func sameMovement(a, b *measure.RangeScore) bool {
	return a.Movement == b.Movement && a.Active == b.Active && a.Position == b.Position
}

func laterPain(later []measure.PainScore, p *measure.PainScore) bool {
	for i := range later {
		if later[i].Context == p.Context && later[i].Position == p.Position {
			return true
		}
	}
	return false
}

// ratios are the latest ratios in a position, the involved side's first.
func (c composer) ratios(p shoulder.ArmPosition) (sides []*measure.Ratio) {
	for _, side := range [...]shoulder.Side{c.Episode.Involved, c.Episode.Involved.Other()} {
		var latest *measure.Ratio
		for i := range c.Measurements.Ratios {
			r := &c.Measurements.Ratios[i]
			of := r.External
			if of.Position == p && of.Side == side && (latest == nil || of.Session != latest.External.Session) {
				latest = r
			}
		}
		if latest != nil {
			sides = append(sides, latest)
		}
	}
	return sides
}
