package report

import (
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/pdf"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// dense is the format of what is for the record: the two sides of a sheet if it fits.
func dense(p typeset.Paper) typeset.Format {
	return typeset.Format{Paper: p, Pages: 2, Largest: 10, Comfortable: 9}
}

// onePage is the format of what has to fit one page.
func onePage(p typeset.Paper) typeset.Format {
	return typeset.Format{Paper: p, Pages: 1, Largest: 11, Comfortable: 10}
}

// PDF is the report for printing, with the chart: what to know and to do. The error is
// that of writing a document.
func PDF(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	r := New(a, issues, w)
	v := r.printedPage()
	return v.pdf(v.inColumns(), onePage(p), a, w)
}

// FullPDF is the report for printing with how everything was worked out, and all
// sources. The error is that of writing a document.
func FullPDF(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	v := New(a, issues, w).printed()
	return v.pdf(v.inColumns(), dense(p), a, w)
}

// twoPages is the format of what is read at home, in large letters.
func twoPages(p typeset.Paper) typeset.Format {
	return typeset.Format{Paper: p, Pages: 2, Largest: 11.5, Comfortable: 10}
}

func (v *view) pdf(blocks []typeset.Block, f typeset.Format, a *assess.Assessment, w *wording.Catalogue) ([]byte, error) {
	return pdf.Write(v.pages(blocks, f, a, w), pdf.Meta{Title: v.title, Language: w.Language(), Created: a.AsOf})
}

func (v *view) pages(blocks []typeset.Block, f typeset.Format, a *assess.Assessment, w *wording.Catalogue) []*drawing.Drawing {
	return typeset.Pages(blocks, f, func(page, pages int) []string { return v.foot(page, pages, a, w) })
}

// foot says on every page whose it is, and which page of which document.
func (v *view) foot(page, pages int, a *assess.Assessment, w *wording.Catalogue) []string {
	title := v.title
	if repair := w.HealingFoot(a.Readiness); repair != "" {
		title += ". " + wording.Capital(repair)
	}
	line := w.Foot(title, a.AsOf, page, pages)
	if who := w.Who(a.Episode.Person); who != "" {
		return []string{who, line}
	}
	return []string{line}
}

func (v *view) head() []typeset.Block {
	blocks := []typeset.Block{typeset.Title(v.title), typeset.Note(strings.Join(v.who, " "))}
	for _, alarm := range v.alarms {
		blocks = append(blocks, typeset.Frame(alarm))
	}
	blocks = append(blocks, typeset.Frame(v.decision))
	for _, line := range v.lines {
		blocks = append(blocks, typeset.Text{Text: line, Kind: typeset.Point})
	}
	return blocks
}

// inColumns is the view with tables and pictures in the whole width of the
// page, and text in columns.
func (v *view) inColumns() []typeset.Block {
	blocks := v.head()
	var text typeset.Columns
	for i := range v.sections {
		s := &v.sections[i]
		switch {
		case s.empty():
		case s.table == nil:
			text = append(text, s.blocks()...)
		default:
			blocks = append(append(blocks, text), s.blocks()...)
			text = nil
		}
	}
	return append(blocks, text)
}

// inOneColumn is the view with everything in the whole width of the page.
func (v *view) inOneColumn() []typeset.Block {
	blocks := v.head()
	for i := range v.sections {
		if s := &v.sections[i]; !s.empty() {
			blocks = append(blocks, s.blocks()...)
		}
	}
	return blocks
}

// blocks is a section with its heading.
func (s *section) blocks() []typeset.Block {
	blocks := []typeset.Block{typeset.Heading(s.heading)}
	if s.table != nil && !s.drawn {
		blocks = append(blocks, s.table.block())
	}
	for i := range s.entries {
		e := &s.entries[i]
		if e.picture != nil {
			blocks = append(blocks, typeset.Illustrated{Picture: e.picture, Blocks: e.blocks(s.fine)})
			continue
		}
		blocks = append(blocks, e.blocks(s.fine)...)
	}
	if s.legend != "" {
		blocks = append(blocks, typeset.Text{Text: s.legend, Kind: typeset.Point})
	}
	if s.picture != nil {
		blocks = append(blocks, typeset.Picture{Drawing: s.picture})
	}
	return blocks
}

func (e *entry) blocks(fine bool) []typeset.Block {
	blocks := []typeset.Block{typeset.Text{Text: e.text, Kind: typeset.Point, Small: fine, Bold: e.strong}}
	for _, point := range e.points {
		blocks = append(blocks, typeset.Text{Text: point, Kind: typeset.Part, Small: fine})
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
