package chart

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
)

// errors draws the intervals: a band between sessions, a bar for one alone, and
// a dotted line over the whole panel for one without limits.
func (c *canvas) errors(b box, course []*measure.Symmetry, s style) {
	start := 0
	for i, x := range course {
		if x.Interval.Bounds == measure.Bounded {
			continue
		}
		c.band(b, course[start:i], s)
		at := c.x(b, x.When)
		c.line(s.line, 1.5, drawing.Dash{Stroke: 1.5, Gap: 3}, drawing.Point{X: at, Y: b.top}, drawing.Point{X: at, Y: b.bottom})
		start = i + 1
	}
	c.band(b, course[start:], s)
}

func (c *canvas) band(b box, course []*measure.Symmetry, s style) {
	if len(course) == 0 || c.x(b, course[0].When) == c.x(b, course[len(course)-1].When) {
		for _, x := range course {
			c.bar(b, x, s)
		}
		return
	}
	var upper, lower []drawing.Point
	for _, x := range course {
		at := c.x(b, x.When)
		upper = append(upper, drawing.Point{X: at, Y: c.y(b, x.Interval.High)})
		lower = append([]drawing.Point{{X: at, Y: c.y(b, x.Interval.Low)}}, lower...)
	}
	c.drawing.Add(drawing.Area{Corners: append(append([]drawing.Point{}, upper...), lower...), Fill: s.band})
	c.line(s.edge, 0.75, fullLine, upper...)
	c.line(s.edge, 0.75, fullLine, lower...)
}

// bar is the interval of one session, with its ends.
func (c *canvas) bar(b box, x *measure.Symmetry, s style) {
	at, high, low := c.x(b, x.When), c.y(b, x.Interval.High), c.y(b, x.Interval.Low)
	c.line(s.line, 1.5, fullLine, drawing.Point{X: at, Y: high}, drawing.Point{X: at, Y: low})
	for _, end := range [...]struct {
		y     float64
		shown bool
	}{{high, c.index.holds(x.Interval.High)}, {low, c.index.holds(x.Interval.Low)}} {
		if end.shown {
			c.line(s.line, 1.5, fullLine, drawing.Point{X: at - 6, Y: end.y}, drawing.Point{X: at + 6, Y: end.y})
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

// latest writes the latest index beside its mark, on white; above or below the
// mark if it is too long.
func (c *canvas) latest(b box, x *measure.Symmetry) {
	text := c.w.Index(x.Index, c.thresholds()...)
	const half = 7 // of the height
	long := typeface.Bold().Width(text, bodySize)
	left, middle := c.x(b, x.When)+9, c.y(b, x.Index.Float64())
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
