package typeset

import (
	"evenreach.example/internal/report/drawing"
)

func (b Title) set(s *setter) { s.paragraph(0, string(b), style{titleSize * s.size, true, ink}) }

func (b Note) set(s *setter) {
	s.gap(0.15)
	s.paragraph(0, string(b), s.small())
}

// A Frame is not broken, unless it is longer than a page.
func (b Frame) set(s *setter) {
	k := style{frameSize * s.size, true, ink}
	padding := 0.6 * s.size
	lines := s.wrap(string(b), k, s.width()-2*padding)
	s.gap(0.6)
	s.need(float64(len(lines))*k.height() + 2*padding)
	above, page := s.y, len(s.pages)
	s.y += padding
	for _, line := range lines {
		s.need(k.height())
		s.line(padding, line, k)
	}
	s.y += padding
	if page == len(s.pages) {
		s.box(above, s.y)
	}
	s.gap(0.2)
}

func (s *setter) box(above, below float64) {
	s.page().Add(drawing.Line{
		Points: []drawing.Point{
			{X: s.left, Y: above}, {X: s.right, Y: above}, {X: s.right, Y: below}, {X: s.left, Y: below}, {X: s.left, Y: above}, {X: s.right, Y: above},
		},
		Width: 1.2, Colour: ink,
	})
}

// A Heading stays with the lines that follow it.
func (b Heading) set(s *setter) {
	k := style{headingSize * s.size, true, ink}
	s.gap(0.8)
	const following = 3.3 // lines, with the gap above them
	s.need(k.height() + following*s.body().height())
	s.paragraph(0, string(b), k)
	s.y += 0.12 * s.size
}

// Marks of the kinds of paragraphs, and how far they stand in, in multiples of
// the size of the letters.
var marks = [...]struct {
	text    string
	in, gap float64
}{
	Point: {"•", 0.15, 0.12},
	Part:  {"–", indent, 0.02},
}

func (b Text) set(s *setter) {
	k := s.body()
	if b.Small {
		k = s.small()
	}
	k.bold = b.Bold
	if b.Kind == Plain {
		s.paragraph(0, b.Text, k)
		return
	}
	mark := marks[b.Kind]
	in := indent * float64(b.Kind) * k.size
	s.gap(mark.gap)
	lines := s.keep(in, b.Text, k)
	if len(lines) == 0 {
		return
	}
	if b.Bold { // stays with what it heads
		s.need(float64(min(len(lines), 2)+1) * k.height())
	}
	s.put(s.left+mark.in*k.size, drawing.Start, mark.text, k)
	s.paragraph(in, b.Text, k)
}

func (b Picture) set(s *setter) {
	if s.y+gapAbovePicture*s.size+b.height(s.paper) > s.bottom && s.y > s.top {
		s.waiting = append(s.waiting, b)
		return
	}
	s.place(b)
}

const gapAbovePicture = 0.8

func (b Picture) scale(p Paper) float64 { return p.inside().width() / b.Width }

func (b Picture) height(p Paper) float64 { return b.Height * b.scale(p) }

func (s *setter) place(b Picture) {
	s.gap(gapAbovePicture)
	s.page().Add(b.Placed(drawing.Point{X: s.left, Y: s.y}, b.scale(s.paper))...)
	s.y += b.height(s.paper)
}
