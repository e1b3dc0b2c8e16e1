package chart

import (
	"slices"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// names are the words of a chart.
type names struct {
	title, subtitle, note string
	even, goodEnough      string
	rotation              func(shoulder.Rotation) string
	position              func(shoulder.ArmPosition) string
	positionShort         func(shoulder.ArmPosition) string // where position is too long
	// level says what a position without an index comes to.
	level func(p *readiness.PositionReadiness, noYardstick bool) string
}

// clinical are the trade's words.
func clinical(a *assess.Assessment, w *wording.Catalogue) names {
	return names{
		title:         w.Headings.Chart,
		subtitle:      w.Sentence(w.Sides(a.Episode.Involved)) + " " + w.Sentence(w.AsOf(a.AsOf)),
		note:          w.ChartNote(a.Protocol.Error.Interval, unbounded(a)),
		even:          w.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough:    w.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		rotation:      w.Rotation,
		position:      w.Position,
		positionShort: w.PositionShort,
		level:         w.Level,
	}
}

// unbounded reports whether an interval has no limits.
func unbounded(a *assess.Assessment) bool {
	return slices.ContainsFunc(a.Measurements.Symmetries, func(s measure.Symmetry) bool { return s.Interval.Bounds != measure.Bounded })
}

// plain are everyday words.
func plain(a *assess.Assessment, w *wording.Catalogue) names {
	p := w.Plain()
	return names{
		title:         p.ChartTitle(),
		subtitle:      p.ChartSides(a.Episode.Involved),
		note:          p.ChartNote(),
		even:          p.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough:    p.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		rotation:      p.RotationShort,
		position:      p.PositionShort,
		positionShort: p.PositionShort,
		level:         p.Level,
	}
}

// level is in words what the position of a panel comes to.
func (c *canvas) level(p panel) string {
	return c.names.level(p.at, c.a.Readiness.ComparisonAffected)
}
