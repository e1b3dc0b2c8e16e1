package typeset

import (
	"slices"

	"evenreach.example/internal/report/drawing"
)

// cellGap is between two columns, in multiples of the body's size.
const cellGap = 1.0

func (b Table) set(s *setter) {
	widths := b.widths(s)
	head := make([]string, len(b.Columns))
	for i, column := range b.Columns {
		head[i] = column.Head
	}
	first := true
	for _, g := range b.Groups {
		for i, row := range g.Rows {
			name := ""
			if i == 0 {
				name = g.Name
			}
			height := b.height(s, row, widths)
			if name != "" {
				height += float64(len(s.wrap(name, s.bold(), s.width())))*s.bold().height() + rowGap*s.size
			}
			pages := len(s.pages)
			s.need(height)
			if first || len(s.pages) > pages {
				b.cells(s, head, widths, s.bold())
				s.rule(s.y+1, 1, ink)
				s.y += 2
				first = false
			}
			if name != "" {
				s.y += rowGap * s.size
				s.paragraph(0, name, s.bold())
			}
			b.row(s, row, widths)
		}
	}
}

// rowGap is above a row, in multiples of the body's size.
const rowGap = 0.22

func (b Table) row(s *setter, row Row, widths []float64) {
	s.y += rowGap * s.size
	b.cells(s, row.Cells, widths, s.body())
	if row.Note != "" {
		s.paragraph(indent*s.size, row.Note, s.small())
	}
	s.rule(s.y+1, hairline, grey)
	s.y++ // below the rule
}

// cells writes a row of cells, each in as many lines as it takes, and goes
// below the longest.
func (b Table) cells(s *setter, cells []string, widths []float64, k style) {
	above, below := s.y, s.y
	x := s.left
	for i, cell := range cells {
		s.y = above
		for _, line := range s.wrap(cell, k, widths[i]) {
			if b.Columns[i].Right {
				s.put(x+widths[i], drawing.End, line, k)
			} else {
				s.put(x, drawing.Start, line, k)
			}
			s.y += k.height()
		}
		below = max(below, s.y)
		x += widths[i] + cellGap*s.size
	}
	s.y = below
}

func (b Table) height(s *setter, row Row, widths []float64) float64 {
	k, lines := s.body(), 0
	for i, cell := range row.Cells {
		lines = max(lines, len(s.wrap(cell, k, widths[i])))
	}
	height := float64(lines)*k.height() + rowGap*s.size + 1
	if row.Note == "" {
		return height
	}
	small := s.small()
	notes := s.wrap(row.Note, small, s.width()-indent*s.size)
	return height + float64(len(notes))*small.height()
}

// widths shares the page's width among the columns: each as wide as its
// longest cell if all fit, what is s.left in equal parts; else the wide ones
// share what the narrow ones leave.
func (b Table) widths(s *setter) []float64 {
	wanted := b.wanted(s)
	room := s.right - s.left - cellGap*s.size*float64(len(wanted)-1)
	total := 0.0
	for _, w := range wanted {
		total += w
	}
	if total <= room {
		for i := range wanted {
			wanted[i] += (room - total) / float64(len(wanted))
		}
		return wanted
	}
	narrow, open := slices.Sorted(slices.Values(wanted)), len(wanted)
	for open > 1 && narrow[0] <= room/float64(open) {
		room -= narrow[0]
		narrow, open = narrow[1:], open-1
	}
	for i := range wanted {
		wanted[i] = min(wanted[i], room/float64(open))
	}
	return wanted
}

// wanted is how wide each column would be on a page without end.
func (b Table) wanted(s *setter) []float64 {
	wanted := make([]float64, len(b.Columns))
	for i, column := range b.Columns {
		wanted[i] = s.bold().face().Width(column.Head, s.size)
		for _, g := range b.Groups {
			for _, row := range g.Rows {
				wanted[i] = max(wanted[i], s.body().face().Width(row.Cells[i], s.size))
			}
		}
	}
	return wanted
}
