package report

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// none stands in a cell without a value.
const none = "-"

// strength is the table of both sides by motion and position.
func (c composer) strength() section {
	h := &c.w.Headings
	t := &table{notes: h.Change, columns: []column{
		{h.Position, 15, false}, {h.Involved, 10, true}, {h.Comparison, 11, true}, {h.Index, 7, true},
		{c.w.IntervalHead(c.Protocol.Error.Interval), 15, true}, {h.Verdict, 23, false},
	}}
	for i := range c.Readiness.Motions {
		r := &c.Readiness.Motions[i]
		g := group{name: wording.Capital(c.w.Motion(r.Motion))}
		for k := range r.Positions {
			g.rows = append(g.rows, c.row(r.Motion, &r.Positions[k]))
		}
		t.groups = append(t.groups, g)
	}
	return section{heading: h.Workings, table: t}
}

func (c composer) row(r shoulder.Motion, p *readiness.PositionReadiness) row {
	s := shownIndex(p)
	if s == nil {
		return c.rowWithoutIndex(r, p)
	}
	thresholds := c.thresholds()
	line := row{cells: []string{
		c.w.PositionShort(p.Position), c.w.Involved(s), c.w.Comparison(s),
		c.w.Index(s.Index, thresholds...), c.w.Interval(s.Interval, thresholds...),
		c.w.Level(p, c.Readiness.ComparisonAffected),
	}}
	c.note(&line, c.judgements(p)...)
	if t := c.TogetherOf(p); t != nil {
		c.note(&line, c.w.Together(t, c.Protocol.Symmetry.GoodEnough, c.Protocol.Symmetry.Even))
	}
	c.note(&line, c.changes(s.Involved)...)
	c.note(&line, c.realChanges(s.Comparison)...)
	c.noteComparison(&line, p, s)
	c.note(&line, c.w.SymmetryNotes(s)...)
	c.noteForces(&line, s.Involved, s.Comparison)
	for _, other := range p.Others {
		c.note(&line, c.w.AlsoTested(other, thresholds...))
	}
	c.noteDate(&line, s.When)
	return line
}

// shownIndex is the index of a position, whether it decides or not: the present one,
// one that is in doubt, or one that is too old.
func shownIndex(p *readiness.PositionReadiness) *measure.Symmetry {
	switch {
	case p.Symmetry != nil:
		return p.Symmetry
	case p.Doubted != nil:
		return p.Doubted
	}
	return p.Stale
}

// noteComparison says what the comparison side's course does to an index: against its
// usual strength, against its best if it lost strength, and that it was even before.
func (c composer) noteComparison(line *row, p *readiness.PositionReadiness, s *measure.Symmetry) {
	if p.WasEven != nil {
		c.note(line, c.w.WasEven(p.WasEven))
	}
	for _, d := range c.Readiness.Doubts {
		if d.Doubt == measure.ComparisonDeclined && d.Score == s.Comparison && s.Dimension == d.Other.Dimension {
			if best := c.EarlierBest(s); best != nil {
				c.note(line, c.w.AgainstBest(s, best, c.Protocol.Symmetry.Even))
			}
		}
	}
	if p.Usual != nil && p.Confirmed.Basis == readiness.ComparisonWeaker {
		c.note(line, c.w.Usual(*p.Usual, c.Protocol.Symmetry.Even.Value))
	}
}

// rowWithoutIndex shows what was measured of either side.
func (c composer) rowWithoutIndex(r shoulder.Motion, p *readiness.PositionReadiness) row {
	line := row{cells: []string{c.w.PositionShort(p.Position), none, none, none, none, c.w.Level(p, c.Readiness.ComparisonAffected)}}
	c.note(&line, c.judgements(p)...)
	involved := c.Measurements.LatestScore(c.Episode.Involved, r, p.Position)
	comparison := c.Measurements.LatestScore(c.Episode.Involved.Other(), r, p.Position)
	if comparison != nil {
		line.cells[2] = c.w.Strength(comparison.Value, comparison.Dimension)
	}
	if involved == nil {
		return line
	}
	line.cells[1] = c.w.Strength(involved.Value, involved.Dimension)
	c.note(&line, c.changes(involved)...)
	if c.Readiness.ComparisonAffected && comparison != nil {
		c.note(&line, c.changes(comparison)...) // each side against its own first measurement
	}
	c.note(&line, c.w.ScoreNotes(involved)...)
	c.noteForces(&line, involved, comparison)
	c.noteDate(&line, involved.When)
	return line
}

func (c composer) thresholds() []protocol.Threshold {
	return []protocol.Threshold{c.Protocol.Symmetry.GoodEnough, c.Protocol.Symmetry.Even}
}

// judgements are the verdicts that the level in words rests on: on evenness
// if the sides are even, on both thresholds between the two.
func (c composer) judgements(p *readiness.PositionReadiness) (texts []string) {
	if p.GoodEnough.Verdict != readiness.NotMeasured && p.Even.Verdict != readiness.Met {
		texts = append(texts, c.w.Judgement(&p.GoodEnough))
	}
	if p.GoodEnough.Verdict == readiness.Met && p.Even.Verdict != readiness.NotMeasured {
		texts = append(texts, c.w.Judgement(&p.Even))
	}
	return texts
}

// changes are how a score of the involved side changed since the previous
// session, and since the first if that is another one.
func (c composer) changes(s *measure.Score) []string {
	return c.changesOf(s, func(*measure.Change) bool { return true })
}

func (c composer) changesOf(s *measure.Score, counts func(*measure.Change) bool) (texts []string) {
	var previous time.Time
	for i := range c.Measurements.Changes {
		k := &c.Measurements.Changes[i]
		if !isChangeOf(k, s) {
			continue
		}
		if k.Against == measure.Previous {
			previous = k.FromWhen
		} else if k.FromWhen.Equal(previous) {
			continue
		}
		if counts(k) {
			texts = append(texts, c.w.ChangeOf(k))
		}
	}
	return texts
}

// realChanges are the changes of a score beyond measurement error.
func (c composer) realChanges(s *measure.Score) []string {
	return c.changesOf(s, func(k *measure.Change) bool { return k.Direction != measure.Unchanged })
}

func (c composer) note(line *row, phrases ...string) {
	for _, phrase := range phrases {
		line.notes = append(line.notes, c.w.Sentence(phrase))
	}
}

// noteForces adds the forces by body mass, if that is known.
func (c composer) noteForces(line *row, involved, comparison *measure.Score) {
	byMass, ok := involved.ByMass()
	if !ok || involved.Dimension != shoulder.Force {
		return
	}
	var other *exact.Number
	if comparison != nil && comparison.Dimension == shoulder.Force {
		if x, ok := comparison.ByMass(); ok {
			other = &x
		}
	}
	c.note(line, c.w.PerMass(&byMass, other, c.Protocol.Symmetry.Weak.Value))
	band, published := c.Protocol.ByMass.Of(involved.Motion)
	if published && c.Readiness.ComparisonAffected && involved.Position == shoulder.AtSide {
		c.note(line, c.w.ByMassBand(band))
	}
}

// noteDate adds the date of a measurement that is not of the day.
func (c composer) noteDate(line *row, when time.Time) {
	if measure.DaysBetween(when, c.AsOf) != 0 {
		c.note(line, c.w.MeasuredOn(when))
	}
}
