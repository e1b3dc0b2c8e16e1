// Package figure draws how an exercise is done: a simple person, the arm in its
// position, what it rests on, and arrows for the push and the pull.
package figure

import (
	"math"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/shoulder"
)

// Size of a picture, in points.
const (
	Width  = 110.0
	Height = 100.0
)

var (
	ink   = drawing.Colour{R: 0x22, G: 0x22, B: 0x22}
	light = drawing.Colour{R: 0xdd, G: 0xdd, B: 0xdd}
	grey  = drawing.Colour{R: 0x99, G: 0x99, B: 0x99}
	push  = drawing.Colour{R: 0x00, G: 0x5a, B: 0x9c}
	pull  = drawing.Colour{R: 0x8a, G: 0x3b, B: 0x00}
)

// pose is where the joints of a right arm are drawn: the hand turned out, and turned in.
// A forearm that points to the reader is drawn obliquely down.
type pose struct {
	side            bool // the person is seen from the side, otherwise from the front
	shoulder, elbow drawing.Point
	out, in, held   drawing.Point    // held is where the hand pushes without moving
	table           [2]drawing.Point // what the arm rests on
	roll            drawing.Point    // between arm and trunk; none if zero
}

var poses = map[shoulder.ArmPosition]pose{
	shoulder.AtSide: {
		shoulder: drawing.Point{X: 47, Y: 34}, elbow: drawing.Point{X: 42, Y: 58},
		out: drawing.Point{X: 17, Y: 60}, in: drawing.Point{X: 66, Y: 61}, held: drawing.Point{X: 54, Y: 73}, roll: drawing.Point{X: 48, Y: 50},
	},
	shoulder.Flexion90: {
		side: true, shoulder: drawing.Point{X: 70, Y: 36}, elbow: drawing.Point{X: 42, Y: 36},
		out: drawing.Point{X: 42, Y: 8}, in: drawing.Point{X: 24, Y: 54}, held: drawing.Point{X: 42, Y: 18},
		table: [2]drawing.Point{{X: 32, Y: 41}, {X: 60, Y: 41}},
	},
	shoulder.Abduction90: {
		shoulder: drawing.Point{X: 47, Y: 34}, elbow: drawing.Point{X: 20, Y: 34},
		out: drawing.Point{X: 20, Y: 6}, in: drawing.Point{X: 32, Y: 55}, held: drawing.Point{X: 20, Y: 19.5},
		table: [2]drawing.Point{{X: 10, Y: 39}, {X: 40, Y: 39}},
	},
}

// Of draws an exercise of the involved arm; nil if there is no picture of it. The
// description is for those who cannot see it.
func Of(e *plan.Exercise, involved shoulder.Side, title, description, language string) *drawing.Drawing {
	p, known := poses[e.Position]
	if !known || e.Mode == plan.NoResistance {
		return nil
	}
	d := &drawing.Drawing{Width: Width, Height: Height, Title: title, Description: description, Language: language}
	d.Add(p.person()...)
	if e.Support == shoulder.Supported && p.table != [2]drawing.Point{} {
		d.Add(line(grey, 3, p.table[0], p.table[1]))
	}
	if p.roll != (drawing.Point{}) {
		d.Add(drawing.Dot{Centre: p.roll, Radius: 3.5, Fill: grey})
	}
	switch {
	case e.Mode == plan.Isometric:
		d.Add(p.against(e.Motion == shoulder.Internal)...)
	case e.Motion == shoulder.Internal:
		d.Add(p.moved(p.out, p.in)...)
	default:
		d.Add(p.moved(p.in, p.out)...)
	}
	if involved == shoulder.Left {
		mirror(d.Shapes)
	}
	return d
}

// person is the head, the trunk and the legs.
func (p pose) person() []drawing.Shape {
	neck, trunk := 60.0, []drawing.Point{{X: 46, Y: 30}, {X: 74, Y: 30}, {X: 69, Y: 70}, {X: 51, Y: 70}}
	feet := [2]float64{52, 68}
	if p.side {
		neck, trunk = 72, []drawing.Point{{X: 64, Y: 30}, {X: 80, Y: 30}, {X: 78, Y: 70}, {X: 66, Y: 70}}
		feet = [2]float64{69, 75}
	}
	shapes := []drawing.Shape{
		drawing.Dot{Centre: drawing.Point{X: neck, Y: 17}, Radius: 8.5, Fill: light},
		drawing.Area{Corners: trunk, Fill: light},
	}
	for _, x := range feet {
		shapes = append(shapes, line(light, 6, drawing.Point{X: x, Y: 69}, drawing.Point{X: x, Y: 96}))
	}
	if p.side { // the face shows which way the person looks
		return append(shapes, drawing.Area{Fill: light, Corners: []drawing.Point{{X: 65, Y: 13}, {X: 60, Y: 18}, {X: 65, Y: 21}}})
	}
	return append(shapes, line(light, 5, drawing.Point{X: 73, Y: 33}, drawing.Point{X: 80, Y: 54}, drawing.Point{X: 77, Y: 72}))
}

// moved is the arm at the end of its way, the way, and the pull against it.
func (p pose) moved(start, end drawing.Point) []drawing.Shape {
	corner := drawing.Point{X: start.X + end.X - p.elbow.X, Y: start.Y + end.Y - p.elbow.Y}
	way := make([]drawing.Point, 13)
	for i := range way {
		t := 0.12 + 0.7*float64(i)/float64(len(way)-1)
		way[i] = between(between(start, corner, t), between(corner, end, t), t)
	}
	from := end
	if p.table == [2]drawing.Point{} { // the pull runs along the forearm
		from.Y -= 8
	}
	pulled := between(from, drawing.Point{X: from.X + start.X - p.elbow.X, Y: from.Y + start.Y - p.elbow.Y}, 16/distance(p.elbow, start))
	shapes := []drawing.Shape{line(grey, 3, p.elbow, start), line(ink, 4, p.shoulder, p.elbow, end), drawing.Dot{Centre: end, Radius: 3, Fill: ink}}
	shapes = append(shapes, arrow(push, drawing.Dash{}, way...)...)
	return append(shapes, arrow(pull, drawing.Dash{Stroke: 2.5, Gap: 2}, from, pulled)...)
}

// against is the arm pushing against what does not give way.
func (p pose) against(internal bool) []drawing.Shape {
	n := distance(p.elbow, p.in)
	ahead := drawing.Point{X: (p.in.X - p.elbow.X) / n, Y: (p.in.Y - p.elbow.Y) / n}
	if !internal {
		ahead = drawing.Point{X: -ahead.X, Y: -ahead.Y}
	}
	tip := drawing.Point{X: p.held.X + 12*ahead.X, Y: p.held.Y + 12*ahead.Y}
	wall := func(s float64) drawing.Point {
		return drawing.Point{X: tip.X + 5*ahead.X - s*ahead.Y, Y: tip.Y + 5*ahead.Y + s*ahead.X}
	}
	shapes := []drawing.Shape{
		line(ink, 4, p.shoulder, p.elbow, p.held), drawing.Dot{Centre: p.held, Radius: 3, Fill: ink},
		line(ink, 3, wall(-7), wall(7)),
	}
	return append(shapes, arrow(push, drawing.Dash{}, p.held, tip)...)
}

func line(c drawing.Colour, width float64, points ...drawing.Point) drawing.Line {
	return drawing.Line{Points: points, Width: width, Colour: c}
}

// arrow is a line with a head at its end.
func arrow(c drawing.Colour, dash drawing.Dash, points ...drawing.Point) []drawing.Shape {
	tip, from := points[len(points)-1], points[len(points)-2]
	n := distance(from, tip)
	x, y := (tip.X-from.X)/n, (tip.Y-from.Y)/n
	return []drawing.Shape{
		drawing.Line{Points: points, Width: 1.6, Colour: c, Dash: dash},
		drawing.Area{Fill: c, Corners: []drawing.Point{
			{X: tip.X + 4*x, Y: tip.Y + 4*y}, {X: tip.X - 2*x - 3.2*y, Y: tip.Y - 2*y + 3.2*x}, {X: tip.X - 2*x + 3.2*y, Y: tip.Y - 2*y - 3.2*x},
		}},
	}
}

func distance(a, b drawing.Point) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

func between(a, b drawing.Point, share float64) drawing.Point {
	return drawing.Point{X: a.X + (b.X-a.X)*share, Y: a.Y + (b.Y-a.Y)*share}
}

// mirror makes a left arm of a right one.
func mirror(shapes []drawing.Shape) {
	flip := func(points []drawing.Point) []drawing.Point {
		flipped := make([]drawing.Point, len(points))
		for i, p := range points {
			flipped[i] = drawing.Point{X: Width - p.X, Y: p.Y}
		}
		return flipped
	}
	for i, s := range shapes {
		switch s := s.(type) {
		case drawing.Area:
			s.Corners = flip(s.Corners)
			shapes[i] = s
		case drawing.Line:
			s.Points = flip(s.Points)
			shapes[i] = s
		case drawing.Dot:
			s.Centre.X = Width - s.Centre.X
			shapes[i] = s
		}
	}
}
