package typeset

import "evenreach.example/internal/report/drawing"

// Illustrated is blocks beside a picture, which keeps its own size.
type Illustrated struct {
	Picture *drawing.Drawing
	Blocks  []Block
}

// Around a picture, in multiples of the body's size.
const (
	besidePicture = 1.0
	belowPicture  = 0.4
)

func (b Illustrated) set(s *setter) {
	s.gap(gapAbovePicture)
	s.need(max(b.Picture.Height, b.textHeight(s)))
	top, page := s.y, len(s.pages)
	if !s.trial {
		s.page().Add(b.Picture.Placed(drawing.Point{X: s.left, Y: s.y}, 1)...)
	}
	s.left += b.indent(s)
	for _, block := range b.Blocks {
		block.set(s)
	}
	s.left = s.paper.inside().left
	if page == len(s.pages) { // the text may be longer than a page
		s.y = max(s.y, top+b.Picture.Height)
	}
	s.y += belowPicture * s.size
}

func (b Illustrated) indent(s *setter) float64 { return b.Picture.Width + besidePicture*s.size }

// textHeight is the height of the blocks on a page without end.
func (b Illustrated) textHeight(s *setter) float64 {
	const endless = 1e9
	t := &setter{paper: s.paper, size: s.size, broken: s.broken, trial: true}
	t.newPage()
	t.left, t.bottom = t.left+b.indent(s), endless
	for _, block := range b.Blocks {
		block.set(t)
	}
	return t.y - t.top
}
