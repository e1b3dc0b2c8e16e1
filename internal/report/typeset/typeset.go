// Package typeset sets a report in pages: blocks of text, tables and pictures
// become pictures of pages. Whatever is too long goes on to the next line, row
// or page; nothing is cut off.
package typeset

import (
	"evenreach.example/internal/report/drawing"
)

// Block is a Title, Note, Frame, Heading, Text, Table, Picture, Illustrated, Together
// or Columns.
type Block interface{ set(*setter) }

// Title heads the document.
type Title string

// Note is a text in smaller letters, under the title.
type Note string

// Frame is the text that nobody may miss.
type Frame string

// Heading heads the blocks that follow.
type Heading string

// Text is a paragraph.
type Text struct {
	Text  string
	Kind  Kind
	Small bool
	Bold  bool
}

// Kind is how a paragraph stands on the page.
type Kind uint8

// The kinds of paragraphs.
const (
	Plain Kind = iota
	Point      // hanging from a mark
	Part       // of the point above, set in further
)

// Table is rows in groups. Every row has a cell for each column.
type Table struct {
	Columns []Column
	Groups  []Group
}

// Column is the head of a column, and whether its cells stand at the right.
type Column struct {
	Head  string
	Right bool
}

// Group is rows under a name, which may be empty.
type Group struct {
	Name string
	Rows []Row
}

// Row is its cells and a note under them, which may be empty.
type Row struct {
	Cells []string
	Note  string
}

// Picture is set as wide as the page. One that does not fit goes to the top of
// the next page, and the text goes on before it.
type Picture struct{ *drawing.Drawing }

// Format is how a document is to look.
type Format struct {
	Paper Paper
	// Pages is how many it may have if any size of the letters can do that.
	Pages int
	// Largest is the size of the letters of a short document, in points, and
	// Comfortable the one below which they are made smaller only to keep to the
	// number of pages.
	Largest, Comfortable float64
}

// Sizes of body letters, in points. The smallest is still read without effort.
var sizes = [...]float64{12, 11.5, 11, 10.5, 10, 9.5, 9, 8.5, 8, 7.75}

// Pages sets blocks in as few pages as comfortable letters need, but in no more
// than wanted if smaller ones can do that. A document that is too long even then
// takes more, in comfortable letters. Foot writes the lines at the foot of a
// page, two at most, by its number, from 1, and the number of pages.
func Pages(blocks []Block, f Format, foot func(page, pages int) []string) []*drawing.Drawing {
	var best []*drawing.Drawing
	for _, size := range sizes {
		if size > f.Largest {
			continue
		}
		comfortable := size >= f.Comfortable
		if !comfortable && len(best) <= f.Pages {
			break
		}
		pages := set(blocks, size, f.Paper)
		if best == nil || len(pages) < len(best) && (comfortable || len(pages) <= f.Pages) {
			best = pages
		}
	}
	return footed(best, foot)
}

func set(blocks []Block, size float64, paper Paper) []*drawing.Drawing {
	s := newSetter(size, paper)
	for _, b := range blocks {
		b.set(s)
	}
	for len(s.waiting) > 0 {
		s.newPage()
	}
	return s.pages
}

func footed(pages []*drawing.Drawing, foot func(page, pages int) []string) []*drawing.Drawing {
	for i, page := range pages {
		lines := foot(i+1, len(pages))
		y := page.Height - footBelow - float64(len(lines)-1)*footSize*leading
		page.Add(drawing.Line{
			Points: []drawing.Point{{X: marginSide, Y: y - 9}, {X: page.Width - marginSide, Y: y - 9}}, Width: hairline, Colour: grey,
		})
		for _, line := range lines {
			page.Add(drawing.Label{At: drawing.Point{X: marginSide, Y: y}, Text: line, Size: footSize, Colour: ink})
			y += footSize * leading
		}
	}
	return pages
}
