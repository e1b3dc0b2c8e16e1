package chart

import (
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
)

// errors draws the intervals of the sessions: a band between them, a bar for one alone, and
// a dotted line over the whole panel for one without limits.
func (c *canvas) errors(b box, sessions []*measure.Symmetry, s style) {
	start := 0
	for i, x := range sessions {
		if x.Interval.Bounds == measure.Bounded {
			continue
		}
		c.band(b, sessions[start:i], s)
		at := c.x(b, x.When)
		c.line(s.line, 1.5, drawing.Dash{Stroke: 1.5, Gap: 3}, drawing.Point{X: at, Y: b.top}, drawing.Point{X: at, Y: b.bottom})
		start = i + 1
	}
	c.band(b, sessions[start:], s)
}

func (c *canvas) band(b box, sessions []*measure.Symmetry, s style) {
	edges := make([]edge, len(sessions))
	for i, x := range sessions {
		edges[i] = edge{c.x(b, x.When), x.Interval.Low, x.Interval.High}
	}
	if len(edges) == 0 || edges[0].at == edges[len(edges)-1].at {
		for _, e := range edges {
			c.bar(b, e, s)
		}
		return
	}
	c.between(b, edges, s.band, s.edge, fullLine)
}

// edge is the interval of a band at a place.
type edge struct{ at, low, high float64 }

// between draws a band.
func (c *canvas) between(b box, edges []edge, fill, colour drawing.Colour, dash drawing.Dash) {
	upper, lower := make([]drawing.Point, len(edges)), make([]drawing.Point, len(edges))
	for i, e := range edges {
		upper[i] = drawing.Point{X: e.at, Y: c.y(b, e.high)}
		lower[i] = drawing.Point{X: e.at, Y: c.y(b, e.low)}
	}
	corners := slices.Clone(lower)
	slices.Reverse(corners)
	c.drawing.Add(drawing.Area{Corners: append(slices.Clone(upper), corners...), Fill: fill})
	c.line(colour, 0.75, dash, upper...)
	c.line(colour, 0.75, dash, lower...)
}

// bar is an interval with its ends.
func (c *canvas) bar(b box, e edge, s style) {
	high, low := c.y(b, e.high), c.y(b, e.low)
	c.line(s.line, 1.5, fullLine, drawing.Point{X: e.at, Y: high}, drawing.Point{X: e.at, Y: low})
	for _, end := range [...]struct {
		y     float64
		shown bool
	}{{high, c.index.holds(e.high)}, {low, c.index.holds(e.low)}} {
		if end.shown {
			c.line(s.line, 1.5, fullLine, drawing.Point{X: e.at - 6, Y: end.y}, drawing.Point{X: e.at + 6, Y: end.y})
		}
	}
}

func (c *canvas) course(b box, course []*measure.Symmetry, s style) {
	points := make([]drawing.Point, len(course))
	for i, x := range course {
		points[i] = drawing.Point{X: c.x(b, x.When), Y: c.y(b, x.Index.Float64())}
	}
	c.line(s.line, 2, s.dash, points...)
	for i, x := range course {
		if c.index.holds(x.Index.Float64()) {
			c.mark(points[i], s, c.radius)
			continue
		}
		c.beyond(points[i], s)
	}
}

// mark is a session: a dot or a white square.
func (c *canvas) mark(at drawing.Point, s style, radius float64) {
	if !s.square {
		c.drawing.Add(drawing.Dot{Centre: at, Radius: radius, Fill: s.line})
		return
	}
	corners := rectangle(at.X-radius, at.Y-radius, at.X+radius, at.Y+radius)
	c.drawing.Add(drawing.Area{Corners: corners, Fill: white})
	c.line(s.line, radius/2, fullLine, append(corners, corners[0], corners[1])...)
}

// beyond is an arrow head for an index above the axis.
func (c *canvas) beyond(at drawing.Point, s style) {
	c.drawing.Add(drawing.Area{
		Corners: []drawing.Point{{X: at.X, Y: at.Y}, {X: at.X + 6, Y: at.Y + 10}, {X: at.X - 6, Y: at.Y + 10}},
		Fill:    s.line,
	})
}

// latest writes the latest index beside its mark, on white, or that it holds no more, because
// one side was tested since; above or below the mark if it is too long, and below the interval
// if what may come is drawn beside it.
func (c *canvas) latest(b box, p panel) {
	x := p.sessions[len(p.sessions)-1]
	text := c.w.Index(x.Index, c.thresholds()...)
	if p.at.Overtaken != nil {
		text = c.level(p)
	}
	const half = 7 // of the height
	long := typeface.Bold().Width(text, bodySize)
	left, middle := c.x(b, x.When)+9, c.y(b, x.Index.Float64())
	if len(p.fan) > 0 || c.levels(p) {
		middle = max(middle, c.y(b, p.track[len(p.track)-1].Low)) + half + 3
	}
	middle = min(max(middle, b.top+half+2), b.bottom-half-2)
	if right := b.right - 4; left+long > right {
		left = right - long
		if middle -= lineHeight; middle < b.top+half+2 {
			middle += 2 * lineHeight
		}
	}
	c.drawing.Add(drawing.Area{Corners: rectangle(left-2, middle-half, left+long+2, middle+half), Fill: white})
	c.label(left, middle+4.3, drawing.Start, text, bodySize, true, black)
}
