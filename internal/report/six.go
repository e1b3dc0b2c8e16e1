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

// sixTests is the table that answers at one look: both sides, the index, what changed,
// and what it comes to, one row for each rotation and position.
func (c composer) sixTests(step pageStep) section {
	h := &c.w.Headings
	t := &table{columns: []column{
		{h.Position, 14, false}, {h.Involved, 10, true}, {h.Other, 9, true}, {h.Index, 7, true},
		{c.w.IntervalHead(c.Protocol.Error.Interval), 12, true}, {h.SinceLast, 8, true}, {h.SinceFirst, 7, true}, {h.Verdict, 14, false},
	}}
	marked := false
	for i := range c.Readiness.Motions {
		r := &c.Readiness.Motions[i]
		g := group{name: wording.Capital(c.w.Motion(r.Motion))}
		for k := range r.Positions {
			line, beyond := c.testRow(r.Motion, &r.Positions[k])
			g.rows, marked = append(g.rows, line), marked || beyond
		}
		t.groups = append(t.groups, g)
	}
	s := section{heading: h.Strength, table: t}
	if legend := c.legend(marked, step); legend != "" {
		s.entries = texts(legend)
	}
	s.entries = append(s.entries, texts(c.notOfTheDay()...)...)
	s.entries = append(s.entries, texts(c.rangeAndPain(step)...)...)
	if passive := c.passive(); passive != "" {
		s.entries = append(s.entries, texts(passive)...)
	}
	return s
}

// The columns of the index and its interval.
const indexColumn, afterIndex = 3, 5

// withoutIndex leaves the columns of the index and its interval out if no row has one, as where no side is unaffected, and
// gives their room to the verdict.
func (t *table) withoutIndex() {
	for _, g := range t.groups {
		for _, r := range g.rows {
			if r.cells[indexColumn] != none {
				return
			}
		}
	}
	for _, c := range t.columns[indexColumn:afterIndex] {
		t.columns[len(t.columns)-1].width += c.width
	}
	t.columns = slices.Delete(t.columns, indexColumn, afterIndex)
	for _, g := range t.groups {
		for i := range g.rows {
			g.rows[i].cells = slices.Delete(g.rows[i].cells, indexColumn, afterIndex)
		}
	}
}

// legend explains the index, if there is any, and the mark.
func (c composer) legend(marked bool, step pageStep) string {
	var lines []string
	if len(c.Measurements.Symmetries) > 0 && step < counted {
		lines = append(lines, c.w.IndexMeans())
	}
	if marked {
		lines = append(lines, c.w.MarkMeans())
	}
	return strings.Join(lines, " ")
}

// passive comments on an elevation that is actively too low: its passive range, of the same
// session, is much larger, or too low as well. It is never more than a comment.
//
// Source: redFlag.passiveExcess of the protocol.
func (c composer) passive() string {
	var lines []string
	for i := range c.Readiness.Gates() {
		at := &c.Readiness.Gates()[i]
		if at.ActiveRange == nil || at.Range.Verdict != readiness.NotMet || at.Range.Needed == nil {
			continue
		}
		passive := c.passiveOf(at.ActiveRange)
		switch {
		case passive == nil:
		case c.Protocol.RedFlag.PassiveExcess.Met(passive.Degrees.Sub(at.ActiveRange.Degrees)):
			lines = append(lines, c.w.PassiveMore(passive))
		case passive.Degrees.Cmp(*at.Range.Needed) < 0:
			lines = append(lines, c.w.PassiveToo(passive))
		}
	}
	return strings.Join(lines, " ")
}

// passiveOf is the passive range that was measured with an active one, nil if there is none.
func (c composer) passiveOf(active *measure.RangeScore) *measure.RangeScore {
	for i := range c.Measurements.Ranges {
		r := &c.Measurements.Ranges[i]
		if !r.Active && r.Movement == active.Movement && r.Side == active.Side && r.Position == active.Position && r.Session == active.Session {
			return r
		}
	}
	return nil
}

// rangeAndPain is the active elevation and the pain of both shoulders, in a line: without
// them nobody can tell why a step is open or closed.
func (c composer) rangeAndPain(step pageStep) []string {
	var parts []string
	visit, left := tested(c.Assessment), 0
	add := func(value string, when time.Time) {
		if step >= ofVisit && measure.DaysBetween(when, visit) != 0 {
			left++
			return
		}
		parts = append(parts, c.w.OnVisit(value, when, visit))
	}
	for _, r := range c.Measurements.LatestRanges() {
		if r.Side == c.Episode.Involved && r.Active {
			add(c.w.RangeNow(r), r.When)
		}
	}
	for _, p := range c.Measurements.LatestPains() {
		add(c.w.PainNow(p), p.When)
	}
	for _, p := range c.Measurements.LatestComparisonPains() {
		add(c.w.PainElsewhere(p, c.Episode.Involved.Other()), p.When)
	}
	var lines []string
	if len(parts) > 0 {
		lines = append(lines, c.w.RangeAndPain(parts))
	}
	if left > 0 {
		lines = append(lines, c.w.MoreIssues(left))
	}
	if len(lines) == 0 {
		return nil
	}
	return []string{strings.Join(lines, " ")}
}

// notOfTheDay says which strengths of the table are older than the visit: those of a side by
// the latest of their days, and a comparison side that was carried forward, once for all tests.
func (c composer) notOfTheDay() (lines []string) {
	visit, carried := tested(c.Assessment), c.carried()
	involved, other := c.lastTested(c.Episode.Involved), c.lastTested(c.Episode.Involved.Other())
	switch {
	case !isBefore(involved, visit):
	case isBefore(involved, other):
		lines = append(lines, c.w.SideTested(c.Episode.Involved, involved))
	default:
		lines = append(lines, c.w.StrengthTested(involved))
	}
	switch {
	case carried != nil:
		lines = append(lines, c.w.CarriedFrom(carried, visit))
	case isBefore(other, visit) && !involved.IsZero() && measure.DaysBetween(other, involved) != 0:
		lines = append(lines, c.w.SideTested(c.Episode.Involved.Other(), other))
	}
	return lines
}

// lastTested is when a side was last tested for strength, zero if it never was.
func (c composer) lastTested(side shoulder.Side) (when time.Time) {
	for _, s := range measure.LatestOf(c.Measurements.Scores, side) {
		if s.When.After(when) {
			when = s.When
		}
	}
	return when
}

// isBefore reports whether something was measured, and on a day before another.
func isBefore(when, other time.Time) bool {
	return !when.IsZero() && measure.DaysBetween(when, other) > 0
}

// carried is the first index of the table whose comparison side is that of an earlier session,
// nil if none is.
func (c composer) carried() *measure.Symmetry {
	for i := range c.Readiness.Trained() {
		r := &c.Readiness.Motions[i]
		for k := range r.Positions {
			if s := shownIndex(&r.Positions[k]); s != nil && s.CarriedForward {
				return s
			}
		}
	}
	return nil
}

// testRow is a row of the table, and whether a change in it is clear.
func (c composer) testRow(r shoulder.Motion, p *readiness.PositionReadiness) (line row, beyond bool) {
	cells := []string{c.w.PositionShort(p.Position), none, none, none, none, none, none, c.w.LevelShort(p, c.Readiness.ComparisonAffected)}
	var involved *measure.Score
	if s := shownIndex(p); s != nil {
		thresholds := c.thresholds()
		cells[1], cells[2] = c.w.Involved(s), c.w.Comparison(s)
		cells[3], cells[4] = c.w.Index(s.Index, thresholds...), c.w.Span(s.Interval, thresholds...)
		involved = s.Involved
	} else {
		involved = c.Measurements.LatestScore(c.Episode.Involved, r, p.Position)
		if involved != nil {
			cells[1] = c.w.Strength(involved.Value, involved.Dimension)
		}
		if comparison := c.Measurements.LatestScore(c.Episode.Involved.Other(), r, p.Position); comparison != nil {
			cells[2] = c.w.Strength(comparison.Value, comparison.Dimension)
		}
	}
	for i, against := range [...]measure.Against{measure.Previous, measure.Baseline} {
		if k := c.changeOfScore(involved, against); k != nil {
			cells[5+i] = c.w.DifferenceMarked(k)
			beyond = beyond || k.Direction == measure.Improved || k.Direction == measure.Declined
		}
	}
	return row{cells: cells}, beyond
}

// isChangeOf reports whether a change ends with a score.
func isChangeOf(k *measure.Change, s *measure.Score) bool {
	return k.Subject == measure.StrengthChange && k.Setting == s.Setting && k.Side == s.Side &&
		k.Unit == s.Dimension.Unit() && k.ToWhen.Equal(s.When)
}

// changeOfScore is how a score changed, nil if there is nothing to hold it against.
func (c composer) changeOfScore(s *measure.Score, against measure.Against) *measure.Change {
	if s == nil {
		return nil
	}
	for i := range c.Measurements.Changes {
		if k := &c.Measurements.Changes[i]; k.Against == against && isChangeOf(k, s) {
			return k
		}
	}
	return nil
}
