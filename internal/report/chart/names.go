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
	// level says what a position without an index comes to.
	level func(p *readiness.PositionReadiness, noYardstick bool) string
}

// clinical are the trade's words.
func clinical(a *assess.Assessment, w *wording.Catalogue) names {
	return names{
		title:      w.Headings.Chart,
		subtitle:   w.Sentence(w.Sides(a.Episode.Involved)) + " " + w.Sentence(w.AsOf(a.AsOf)),
		note:       w.ChartNote(a.Protocol.Error.Interval, unbounded(a)),
		even:       w.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough: w.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		rotation:   w.Rotation,
		position:   w.Position,
		level:      w.Level,
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
		title:      p.ChartTitle(),
		subtitle:   p.ChartSides(a.Episode.Involved),
		note:       p.ChartNote(),
		even:       p.EvenLine(a.Protocol.Symmetry.Even),
		goodEnough: p.GoodEnoughLine(a.Protocol.Symmetry.GoodEnough),
		rotation:   p.RotationShort,
		position:   p.PositionShort,
		level:      p.Level,
	}
}

// levelAt is in words what a position comes to.
func (c *canvas) levelAt(row, column int) string {
	p := &c.a.Readiness.Rotations[row].Positions[column]
	return c.names.level(p, c.a.Readiness.ComparisonAffected)
}
