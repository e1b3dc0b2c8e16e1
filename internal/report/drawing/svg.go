package drawing

import (
	"strconv"

	"evenreach.example/internal/report/markup"
	"evenreach.example/internal/report/typeface"
)

// SVG writes the picture as a document that stands alone: no script, no style
// sheet, nothing from elsewhere.
//
// Source: Scalable Vector Graphics 1.1, second edition.
func (d *Drawing) SVG() []byte {
	w := svg{make([]byte, 0, 16<<10)}
	w.raw(`<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="title description" font-family="` + typeface.Families + `"`)
	w.attribute("xml:lang", d.Language)
	w.attribute("lang", d.Language)
	w.number("width", d.Width)
	w.number("height", d.Height)
	w.raw(` viewBox="0 0 `)
	w.places(d.Width)
	w.raw(" ")
	w.places(d.Height)
	w.raw(`"><title id="title">`)
	w.text(d.Title)
	w.raw(`</title><desc id="description">`)
	w.text(d.Description)
	w.raw(`</desc><rect width="100%" height="100%" fill="#ffffff"/>`)
	for _, s := range d.Shapes {
		w.shape(s)
	}
	w.raw("</svg>\n")
	return w.b
}

type svg struct{ b []byte }

func (w *svg) raw(s string) { w.b = append(w.b, s...) }

func (w *svg) text(s string) { w.b = markup.AppendText(w.b, s) }

func (w *svg) attribute(name, value string) {
	w.raw(" " + name + `="`)
	w.text(value)
	w.raw(`"`)
}

func (w *svg) number(name string, x float64) {
	w.raw(" " + name + `="`)
	w.places(x)
	w.raw(`"`)
}

// places writes a length to a hundredth of a point, without needless zeros.
func (w *svg) places(x float64) {
	w.b = strconv.AppendFloat(w.b, x, 'f', 2, 64)
	for w.b[len(w.b)-1] == '0' {
		w.b = w.b[:len(w.b)-1]
	}
	if last := len(w.b) - 1; w.b[last] == '.' {
		w.b = w.b[:last]
	}
}

func (w *svg) colour(name string, c Colour) {
	const digits = "0123456789abcdef"
	w.raw(" " + name + `="#`)
	for _, part := range [...]uint8{c.R, c.G, c.B} {
		w.b = append(w.b, digits[part>>4], digits[part&15])
	}
	w.raw(`"`)
}

func (w *svg) points(points []Point) {
	w.raw(` points="`)
	for i, p := range points {
		if i > 0 {
			w.raw(" ")
		}
		w.places(p.X)
		w.raw(",")
		w.places(p.Y)
	}
	w.raw(`"`)
}

func (w *svg) shape(s Shape) {
	switch s := s.(type) {
	case Area:
		w.raw("<polygon")
		w.points(s.Corners)
		w.colour("fill", s.Fill)
		w.raw("/>")
	case Line:
		w.line(s)
	case Dot:
		w.raw("<circle")
		w.number("cx", s.Centre.X)
		w.number("cy", s.Centre.Y)
		w.number("r", s.Radius)
		w.colour("fill", s.Fill)
		w.raw("/>")
	case Label:
		w.label(s)
	}
}

func (w *svg) line(l Line) {
	w.raw(`<polyline fill="none" stroke-linejoin="round"`)
	w.points(l.Points)
	w.colour("stroke", l.Colour)
	w.number("stroke-width", l.Width)
	if l.Dash != (Dash{}) {
		w.raw(` stroke-dasharray="`)
		w.places(l.Dash.Stroke)
		w.raw(" ")
		w.places(l.Dash.Gap)
		w.raw(`"`)
	}
	w.raw("/>")
}

// anchors are the values of text-anchor.
var anchors = [...]string{Start: "start", Middle: "middle", End: "end"}

func (w *svg) label(l Label) {
	w.raw("<text")
	w.number("x", l.At.X)
	w.number("y", l.At.Y)
	w.number("font-size", l.Size)
	if l.Bold {
		w.raw(` font-weight="bold"`)
	}
	if l.Anchor != Start {
		w.attribute("text-anchor", anchors[l.Anchor])
	}
	w.colour("fill", l.Colour)
	w.raw(">")
	w.text(l.Text)
	w.raw("</text>")
}
