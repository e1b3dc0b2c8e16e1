package report

import (
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/report/pdf"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// sheet is the pages of a printed report: the two sides of a sheet of paper. A
// report that is too long in small letters takes more.
const sheet = 2

// PDF is the whole report for printing, with the chart: the decision, why, what
// next, the measurements, what is missing, cautions and sources. The error is
// that of writing a document.
func PDF(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) ([]byte, error) {
	return printed(a, issues, w).pdf(a, w)
}

func (v *view) pdf(a *assess.Assessment, w *wording.Catalogue) ([]byte, error) {
	foot := func(page, pages int) string { return w.Foot(v.title, a.AsOf, page, pages) }
	pages := typeset.Pages(v.blocks(), sheet, foot)
	return pdf.Write(pages, pdf.Meta{Title: v.title, Language: w.Language(), Created: a.AsOf})
}

// blocks is the view for a page: tables and pictures in its whole width, text
// in columns.
func (v *view) blocks() []typeset.Block {
	blocks := []typeset.Block{
		typeset.Title(v.title), typeset.Note(strings.Join(v.facts, " ")), typeset.Frame(v.decision),
	}
	var text typeset.Columns
	for i := range v.sections {
		s := &v.sections[i]
		switch {
		case s.empty():
		case s.table == nil:
			text = append(text, s.text()...)
		default:
			blocks = append(append(blocks, text), s.wide()...)
			text = nil
		}
	}
	return append(blocks, text)
}

// wide is a section with a table.
func (s *section) wide() []typeset.Block {
	blocks := []typeset.Block{typeset.Heading(s.heading), s.table.block()}
	if s.picture != nil {
		blocks = append(blocks, typeset.Picture{Drawing: s.picture})
	}
	return blocks
}

// text is a section of entries.
func (s *section) text() []typeset.Block {
	blocks := []typeset.Block{typeset.Heading(s.heading)}
	for _, e := range s.entries {
		blocks = append(blocks, typeset.Text{Text: e.text, Kind: typeset.Point, Small: s.fine, Bold: e.strong})
		for _, point := range e.points {
			blocks = append(blocks, typeset.Text{Text: point, Kind: typeset.Part, Small: s.fine})
		}
	}
	return blocks
}

func (t *table) block() typeset.Table {
	b := typeset.Table{}
	for _, c := range t.columns {
		b.Columns = append(b.Columns, typeset.Column{Head: c.head, Right: c.right})
	}
	for _, g := range t.groups {
		group := typeset.Group{Name: g.name}
		for _, r := range g.rows {
			group.Rows = append(group.Rows, typeset.Row{Cells: r.cells, Note: strings.Join(r.notes, " ")})
		}
		b.Groups = append(b.Groups, group)
	}
	return b
}
