package report

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/wording"
)

// lineWidth is the width of a terminal that everybody has, in characters.
const lineWidth = 80

// Text is the whole report for a terminal of 80 columns. It holds no free
// text of the input.
func Text(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	var t textWriter
	t.view(full(a, issues, w))
	return t.b.String()
}

type textWriter struct{ b strings.Builder }

func (t *textWriter) view(v *view) {
	t.heading(v.title)
	t.paragraph("", strings.Join(v.facts, " "))
	t.line("")
	t.paragraph("", v.decision)
	for i := range v.sections {
		s := &v.sections[i]
		if s.empty() {
			continue
		}
		t.line("")
		t.heading(s.heading)
		if s.table != nil {
			t.table(s.table)
		}
		for _, e := range s.entries {
			t.paragraph("- ", e.text)
			for _, point := range e.points {
				t.paragraph("    ", point)
			}
		}
	}
}

func (t *textWriter) heading(s string) { t.line(strings.ToUpper(printable(s))) }

func (t *textWriter) line(s string) {
	t.b.WriteString(strings.TrimRight(s, " "))
	t.b.WriteByte('\n')
}

// paragraph writes a text in lines; those after the first are indented as far
// as the mark before the first.
func (t *textWriter) paragraph(mark, text string) {
	indent := strings.Repeat(" ", len(mark))
	for i, line := range wrap(text, lineWidth-len(mark)) {
		if i == 0 {
			t.line(mark + line)
			continue
		}
		t.line(indent + line)
	}
}

// columns of the table: their widths, and whether the cells are set to the
// right. The last one wraps.
var columns = [...]struct {
	width int
	right bool
}{{14, false}, {10, true}, {11, true}, {7, true}, {15, true}, {22, false}}

func (t *textWriter) table(table *table) {
	t.cells(table.head)
	for _, g := range table.groups {
		t.line(printable(g.name))
		for _, r := range g.rows {
			t.cells(r.cells)
			if len(r.notes) > 0 {
				t.paragraph("    ", strings.Join(r.notes, " "))
			}
		}
	}
}

func (t *textWriter) cells(cells []string) {
	last := len(columns) - 1
	var line strings.Builder
	for i, column := range columns[:last] {
		cell := printable(cells[i])
		padding := strings.Repeat(" ", max(0, column.width-utf8.RuneCountInString(cell)))
		if column.right {
			line.WriteString(padding + cell)
		} else {
			line.WriteString(cell + padding)
		}
	}
	line.WriteByte(' ')
	indent := strings.Repeat(" ", utf8.RuneCountInString(line.String()))
	for i, part := range wrap(cells[last], columns[last].width) {
		if i == 0 {
			t.line(line.String() + part)
			continue
		}
		t.line(indent + part)
	}
}

// wrap breaks a text between words, and a word that is longer than a line
// anywhere.
func wrap(text string, width int) (lines []string) {
	line, used := make([]rune, 0, width), 0
	for word := range strings.FieldsSeq(printable(text)) {
		letters := []rune(word)
		if used > 0 && used+1+len(letters) > width {
			lines, line, used = append(lines, string(line)), line[:0], 0
		}
		if used > 0 {
			line, used = append(line, ' '), used+1
		}
		for used+len(letters) > width {
			lines = append(lines, string(append(line, letters[:width-used]...)))
			letters, line, used = letters[width-used:], line[:0], 0
		}
		line, used = append(line, letters...), used+len(letters)
	}
	return append(lines, string(line))
}

// printable drops what could steer a terminal: control and format characters,
// and bytes that are not UTF-8. White space becomes a space.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, unicode.Is(unicode.C, r):
			return -1
		}
		return r
	}, s)
}
