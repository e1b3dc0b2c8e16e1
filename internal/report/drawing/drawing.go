// Package drawing is a picture as a list of shapes, and its forms: SVG, PNG,
// and whatever else can paint a few kinds of shapes. All forms come from the
// same list, so that they show the same.
package drawing

import "evenreach.example/internal/report/typeface"

// Drawing is a picture. It is read-only once made.
type Drawing struct {
	Width, Height float64 // points
	Title         string
	Description   string // what the picture shows, for those who cannot see it
	Language      string // BCP 47
	Shapes        []Shape
}

// Point is a place in points, from the left and from the top.
type Point struct{ X, Y float64 }

// Colour is red, green and blue.
type Colour struct{ R, G, B uint8 }

// Shape is an Area, a Line, a Dot or a Label. Later shapes cover earlier ones.
type Shape interface{ isShape() }

// Area is a filled polygon.
type Area struct {
	Corners []Point
	Fill    Colour
}

// Line is a line through points.
type Line struct {
	Points []Point
	Width  float64
	Colour Colour
	// Dash is the lengths of stroke and gap, the zero Dash a full line.
	Dash Dash
}

// Dash is how a line is broken.
type Dash struct{ Stroke, Gap float64 }

// Dot is a filled circle.
type Dot struct {
	Centre Point
	Radius float64
	Fill   Colour
}

// Label is a text in one line.
type Label struct {
	// At is the left end, the middle or the right end of the text's baseline.
	At     Point
	Anchor Anchor
	Text   string
	Size   float64 // of the letters, in points
	Bold   bool
	Colour Colour
}

// Anchor is which place of a text is given.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

func (Area) isShape()  {}
func (Line) isShape()  {}
func (Dot) isShape()   {}
func (Label) isShape() {}

// Add puts shapes on top of the others.
func (d *Drawing) Add(shapes ...Shape) { d.Shapes = append(d.Shapes, shapes...) }

// Left is where the text starts.
func (l Label) Left() float64 {
	wide := typeface.Weight(l.Bold).Width(typeface.Printable(l.Text), l.Size)
	switch l.Anchor {
	case Middle:
		return l.At.X - wide/2
	case End:
		return l.At.X - wide
	}
	return l.At.X
}

// Placed is the shapes of the picture made larger or smaller and moved to a
// place.
func (d *Drawing) Placed(at Point, scale float64) []Shape {
	place := func(p Point) Point { return Point{at.X + p.X*scale, at.Y + p.Y*scale} }
	all := func(points []Point) []Point {
		placed := make([]Point, len(points))
		for i, p := range points {
			placed[i] = place(p)
		}
		return placed
	}
	shapes := make([]Shape, len(d.Shapes))
	for i, s := range d.Shapes {
		switch s := s.(type) {
		case Area:
			s.Corners = all(s.Corners)
			shapes[i] = s
		case Line:
			s.Points, s.Width = all(s.Points), s.Width*scale
			s.Dash = Dash{s.Dash.Stroke * scale, s.Dash.Gap * scale}
			shapes[i] = s
		case Dot:
			s.Centre, s.Radius = place(s.Centre), s.Radius*scale
			shapes[i] = s
		case Label:
			s.At, s.Size = place(s.At), s.Size*scale
			shapes[i] = s
		}
	}
	return shapes
}
