package chart

import (
	"evenreach.example/internal/course"
	"evenreach.example/internal/report/drawing"
)

// together draws what all sessions show together: a band over time that ends in a bar, what
// is known now, and behind it how the index may go on: the futures of a forecast as a dotted
// band with their median, or the level at which the course ends.
func (c *canvas) together(b box, p panel, s style) {
	edges := c.edges(b, p.track)
	c.between(b, edges, s.band, s.edge, fullLine)
	now := &p.track[len(p.track)-1]
	if len(p.fan) > 0 {
		fan := append([]course.Estimate{*now}, p.fan[1:]...) // from what is known now
		c.between(b, c.edges(b, fan), s.fan, s.line, fineDots)
		c.line(s.line, 1, brokenLine, c.middles(b, fan)...)
	}
	if c.levels(p) {
		y := c.y(b, p.together.Outlook.Plateau)
		c.line(s.line, 1.5, fineDots, drawing.Point{X: c.x(b, c.day(now)), Y: y}, drawing.Point{X: b.right, Y: y})
	}
	c.bar(b, edges[len(edges)-1], s)
}

func (c *canvas) edges(b box, estimates []course.Estimate) []edge {
	edges := make([]edge, len(estimates))
	for i := range estimates {
		m := &estimates[i]
		edges[i] = edge{c.x(b, c.day(m)), m.Low, m.High}
	}
	return edges
}

func (c *canvas) middles(b box, estimates []course.Estimate) []drawing.Point {
	points := make([]drawing.Point, len(estimates))
	for i := range estimates {
		m := &estimates[i]
		points[i] = drawing.Point{X: c.x(b, c.day(m)), Y: c.y(b, m.Index)}
	}
	return points
}
