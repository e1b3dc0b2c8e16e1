package typeset

import (
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
)

// Margins of the page, in points: 13 mm at the sides. The foot stands in the lowest.
const (
	marginSide   = 38
	marginTop    = 34
	marginBottom = 40

	footBelow = 15 // of the lowest line
	footSize  = 7.5
	hairline  = 0.5
)

// Sizes and distances in multiples of the size of the body.
const (
	leading     = 1.2 // from line to line, of the size of the letters
	titleSize   = 1.7
	frameSize   = 1.22
	headingSize = 1.15
	smallSize   = 0.85
	indent      = 1.1
	ascent      = 0.95 // from the top of a line to its baseline, of the size of the letters
)

var (
	ink  = drawing.Colour{R: 0x22, G: 0x22, B: 0x22}
	grey = drawing.Colour{R: 0x99, G: 0x99, B: 0x99}
)

// setter is where the next block goes.
type setter struct {
	paper   Paper
	size    float64 // of the body
	pages   []*drawing.Drawing
	frame           // what the next block goes into
	y       float64 // top of what comes next
	second  frame   // the column beside, when there is one
	waiting []Picture
	rest    Columns // what goes into two columns, from the present block on
	lowest  float64 // end of the longer column
	trial   bool    // nothing is drawn, only places are found
	broken  map[passage][]string
}

// passage is a text that is broken into lines.
type passage struct {
	text        string
	size, width float64
	bold        bool
}

// wrap breaks a text into lines, once for all trials.
func (s *setter) wrap(text string, k style, width float64) []string {
	p := passage{text, k.size, width, k.bold}
	lines, known := s.broken[p]
	if !known {
		lines = k.face().Wrap(text, k.size, width)
		s.broken[p] = lines
	}
	return lines
}

// frame is a part of a page.
type frame struct{ left, right, top, bottom float64 }

func (f frame) width() float64 { return f.right - f.left }

func newSetter(size float64, paper Paper) *setter {
	s := &setter{paper: paper, size: size, broken: map[passage][]string{}}
	s.newPage()
	return s
}

// tried is a setter that tries how blocks would be set from the same place on.
func (s *setter) tried(bottom float64) *setter {
	t := &setter{paper: s.paper, size: s.size, broken: s.broken, trial: true}
	t.newPage()
	t.y = s.y
	t.split(bottom)
	return t
}

func (s *setter) page() *drawing.Drawing { return s.pages[len(s.pages)-1] }

// newPage starts a page, with a picture that waits for one.
func (s *setter) newPage() {
	s.pages = append(s.pages, &drawing.Drawing{Width: s.paper.Width, Height: s.paper.Height})
	s.frame = s.paper.inside()
	s.y = s.top
	if len(s.waiting) > 0 {
		first := s.waiting[0]
		s.waiting = s.waiting[1:]
		s.place(first)
	}
	if len(s.rest) > 0 {
		s.split(s.rest.balanced(s))
	}
}

// need goes on to the next column or page if so much height is not left, and
// once more if a picture took the first.
func (s *setter) need(height float64) {
	for s.y+height > s.bottom && (s.y > s.top || s.top > marginTop) {
		s.advance()
	}
}

func (s *setter) advance() {
	s.lowest = max(s.lowest, s.y)
	if s.second == (frame{}) {
		s.newPage()
		return
	}
	s.frame, s.second = s.second, frame{}
	s.y = s.top
}

// gap leaves so many times the body's size free, but not at the top.
func (s *setter) gap(times float64) {
	if s.y > s.top {
		s.y += times * s.size
	}
}

// style is how a line of text is set.
type style struct {
	size   float64
	bold   bool
	colour drawing.Colour
}

func (k style) face() *typeface.Face { return typeface.Weight(k.bold) }

func (k style) height() float64 { return k.size * leading }

// line writes one line, set in from the left, and goes below it.
func (s *setter) line(in float64, text string, k style) {
	s.put(s.left+in, drawing.Start, text, k)
	s.y += k.height()
}

// put writes into the line that comes next, without going below it.
func (s *setter) put(x float64, anchor drawing.Anchor, text string, k style) {
	if s.trial {
		return
	}
	s.page().Add(drawing.Label{
		At: drawing.Point{X: x, Y: s.y + ascent*k.size}, Anchor: anchor, Text: text, Size: k.size, Bold: k.bold, Colour: k.colour,
	})
}

// keep goes on to where a paragraph can start: three of its lines, or all, stay
// together.
func (s *setter) keep(in float64, text string, k style) []string {
	const together = 3
	lines := s.wrap(text, k, s.width()-in)
	s.need(float64(min(len(lines), together)) * k.height())
	return lines
}

// paragraph sets lines of text, all set in from the left. One or two lines are
// not left alone at the end of a page, nor one at the top.
func (s *setter) paragraph(in float64, text string, k style) {
	lines := s.keep(in, text, k)
	for i, line := range lines {
		if len(lines)-i == 2 {
			s.need(2 * k.height())
		}
		s.need(k.height())
		s.line(in, line, k)
	}
}

func (s *setter) rule(y, width float64, colour drawing.Colour) {
	s.page().Add(drawing.Line{Points: []drawing.Point{{X: s.left, Y: y}, {X: s.right, Y: y}}, Width: width, Colour: colour})
}

func (s *setter) body() style  { return style{s.size, false, ink} }
func (s *setter) small() style { return style{smallSize * s.size, false, ink} }
func (s *setter) bold() style  { return style{s.size, true, ink} }
