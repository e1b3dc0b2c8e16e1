package typeset

// Columns is headings and texts in two columns, about equally long.
type Columns []Block

// gapAboveColumns is above both columns, in multiples of the body's size.
const gapAboveColumns = 0.7

// columnGap is between the columns, in points.
const columnGap = 22

func (b Columns) set(s *setter) {
	s.gap(gapAboveColumns)
	s.split(b.balanced(s))
	for i, block := range b {
		s.rest = b[i:]
		block.set(s)
	}
	s.rest = nil
	s.join()
}

// split divides what is left of the page, down to a height, in two.
func (s *setter) split(bottom float64) {
	middle := (s.left + s.right) / 2
	s.second = frame{middle + columnGap/2, s.right, s.y, bottom}
	s.frame = frame{s.left, middle - columnGap/2, s.y, bottom}
	s.lowest = s.y
}

// join goes on below both columns in the whole width.
func (s *setter) join() {
	s.y = max(s.y, s.lowest)
	s.frame = s.paper.inside()
	s.second = frame{}
}

// balanced is how far down the columns go if they end on this page, with the
// second one no longer than the first; else the end of the page.
func (b Columns) balanced(s *setter) float64 {
	for bottom := s.y + b.height(s)/2; bottom < s.bottom; bottom += s.body().height() / 2 {
		if b.fits(s, bottom) {
			return bottom
		}
	}
	return s.bottom
}

// height is that of the blocks in one column without end.
func (b Columns) height(s *setter) float64 {
	const endless = 1e9
	t := s.tried(endless)
	for _, block := range b {
		block.set(t)
	}
	return t.y - s.y
}

func (b Columns) fits(s *setter, bottom float64) bool {
	t := s.tried(bottom)
	for _, block := range b {
		block.set(t)
	}
	return len(t.pages) == 1
}
