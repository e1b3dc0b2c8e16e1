package chart

import (
	"slices"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// names are the words of a chart.
type names struct {
	title, subtitle string
	notes           []string
	// ahead reports whether the chart shows how an index may go on.
	ahead            bool
	even, goodEnough string
	motion           func(shoulder.Motion) string
	position         func(shoulder.ArmPosition) string
	positionShort    func(shoulder.ArmPosition) string // where position is too long
	// level says what a position without an index comes to.
	level func(p *readiness.PositionReadiness, noYardstick bool) string
	// together says what all sessions of a test show together, and how that may go on.
	together func(t *course.TestCourse) string
}

// clinical are the trade's words.
func clinical(a *assess.Assessment, w *wording.Catalogue) names {
	return names{
		title:         w.Headings.Chart,
		subtitle:      w.Sentence(w.Sides(a.Episode.Involved)) + " " + w.Sentence(w.AsOf(a.AsOf)),
		notes:         w.ChartNote(a.Protocol.Error.Interval, marks(a)),
		ahead:         a.LooksAhead(),
		even:          w.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough:    w.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		motion:        w.Motion,
		position:      w.Position,
		positionShort: w.PositionShort,
		level:         w.Level,
		together: func(t *course.TestCourse) string {
			together := w.Sentence(w.Together(t, a.Protocol.Symmetry.GoodEnough, a.Protocol.Symmetry.Even))
			if !a.LooksAhead() {
				return together
			}
			return together + " " + w.Prospect(a.Course, t, a.Plan.Recheck)
		},
	}
}

// marks are what a chart in the trade's words has beside the indices.
func marks(a *assess.Assessment) (m wording.ChartMarks) {
	unbounded := func(s *measure.Symmetry) bool { return s.Interval.Bounds != measure.Bounded }
	for i := range a.Readiness.Motions {
		r := &a.Readiness.Motions[i]
		for k := range r.Positions {
			at := &r.Positions[k]
			t := together(a, at)
			if t == nil {
				m.Unbounded = m.Unbounded || slices.ContainsFunc(a.Measurements.DecidingIndices(r.Motion, at.Position), unbounded)
				continue
			}
			m.Together = true
			m.Forecast = m.Forecast || a.LooksAhead() && t.Outlook.Prospect == course.Forecast
			m.Level = m.Level || a.LooksAhead() && t.Outlook.Prospect == course.Levelling
		}
	}
	return m
}

// plain are everyday words.
func plain(a *assess.Assessment, w *wording.Catalogue) names {
	p, even, good := w.Plain(), a.Protocol.Symmetry.Even, a.Protocol.Symmetry.GoodEnough
	return names{
		title:         p.ChartTitle(),
		subtitle:      p.ChartSides(a.Episode.Involved),
		notes:         []string{p.ChartNote(marks(a).Together)},
		even:          p.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough:    p.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		motion:        p.MotionShort,
		position:      p.PositionShort,
		positionShort: p.PositionShort,
		level:         p.Level,
		together: func(t *course.TestCourse) string {
			return p.ChartTogether(t.Now(), even.Value.Float64(), good.Value.Float64())
		},
	}
}

// level is in words what the position of a panel comes to.
func (c *canvas) level(p panel) string {
	return c.names.level(p.at, c.a.Readiness.ComparisonAffected)
}
