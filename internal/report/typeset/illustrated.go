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
	s.need(max(b.Picture.Height, s.height(b.Blocks, b.indent(s))))
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

// height is the height of blocks, set in from the left, on a page without end.
func (s *setter) height(blocks []Block, in float64) float64 {
	const endless = 1e9
	t := &setter{paper: s.paper, size: s.size, broken: s.broken, trial: true}
	t.newPage()
	t.left, t.bottom = t.left+in, endless
	for _, block := range blocks {
		block.set(t)
	}
	return t.y - t.top
}

// Together is blocks that stay on one page, unless they are longer than one: a picture with
// what it is named by.
type Together []Block

func (b Together) set(s *setter) {
	s.need(s.height(b, 0) + gapAbovePicture*s.size) // the gap above the first, which a new page has not
	for _, block := range b {
		block.set(s)
	}
}
