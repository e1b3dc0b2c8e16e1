package report

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/bytescan"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/report/typeface"
	"evenreach.example/internal/wording"
)

// lineWidth is the width of a terminal that everybody has, in characters.
const lineWidth = 80

// Text is the report for a terminal of 80 columns: what to know and to do.
func Text(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return string(New(a, issues, w).Text())
}

// FullText is the report with how everything was worked out, and all sources.
func FullText(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return New(a, issues, w).full().text()
}

// Text is the report for a terminal of 80 columns, in UTF-8. Of the free text of the
// input it holds who the patient is.
func (r *Writer) Text() []byte {
	r.space = r.page().appendText(r.room())
	return bytes.Clone(r.space)
}

func (v *view) text() string { return string(v.appendText(nil)) }

func (v *view) appendText(out []byte) []byte {
	t := textWriter{out}
	t.view(v)
	return t.out
}

// textWriter appends lines of text.
type textWriter struct{ out []byte }

func (t *textWriter) view(v *view) {
	t.heading(v.title)
	t.summary(&v.summary)
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

func (t *textWriter) summary(s *summary) {
	t.paragraph("", strings.Join(s.who, " "))
	for _, alarm := range s.alarms {
		t.paragraph("! ", alarm)
	}
	t.paragraph("", s.decision)
	for _, line := range s.lines {
		t.paragraph("", line)
	}
}

func (t *textWriter) heading(s string) { t.line(strings.ToUpper(printable(s))) }

func (t *textWriter) line(s string) {
	t.out = append(t.out, s...)
	t.end()
}

// end ends a line, without the spaces at its end.
func (t *textWriter) end() {
	t.out = append(bytes.TrimRight(t.out, " "), '\n')
}

// paragraph writes a text in lines; those after the first are indented as far
// as the mark before the first.
func (t *textWriter) paragraph(mark, text string) {
	t.out = append(t.out, mark...)
	t.out = appendWrapped(t.out, text, lineWidth-len(mark), "\n"+strings.Repeat(" ", len(mark)))
	t.end()
}

func (t *textWriter) table(table *table) {
	head := make([]string, len(table.columns))
	for i, column := range table.columns {
		head[i] = column.head
	}
	t.cells(table.columns, head)
	for _, g := range table.groups {
		if g.name != "" {
			t.line(printable(g.name))
		}
		for _, r := range g.rows {
			t.cells(table.columns, r.cells)
			if len(r.notes) > 0 {
				t.paragraph("    ", strings.Join(r.notes, " "))
			}
		}
	}
}

// cells writes a row, each cell in as many lines as it takes.
func (t *textWriter) cells(columns []column, cells []string) {
	parts, most := make([][]string, len(cells)), 0
	for i, column := range columns {
		parts[i] = wrap(cells[i], column.width-1)
		most = max(most, len(parts[i]))
	}
	for n := range most {
		for i, column := range columns {
			part := ""
			if n < len(parts[i]) {
				part = parts[i][n]
			}
			padding := column.width - 1 - utf8.RuneCountInString(part)
			if !column.right {
				t.out = append(t.out, part...)
			}
			t.out = append(t.out, blanks[:padding]...)
			if column.right {
				t.out = append(t.out, part...)
			}
			t.out = append(t.out, ' ')
		}
		t.end()
	}
}

// blanks pad a cell, which is no wider than a line.
var blanks = strings.Repeat(" ", lineWidth)

// wrap breaks a text into lines.
func wrap(text string, width int) []string {
	if len(text) <= width && isSimple(text) {
		return []string{text}
	}
	return strings.Split(string(appendWrapped(nil, text, width, "\n")), "\n")
}

// appendWrapped breaks a text between words, and a word that is longer than a
// line anywhere.
func appendWrapped(out []byte, text string, width int, newline string) []byte {
	if isSimple(text) {
		return appendCut(out, text, width, newline)
	}
	return appendWords(out, text, width, newline)
}

// appendWords is appendWrapped word by word.
func appendWords(out []byte, text string, width int, newline string) []byte {
	used := 0 // letters on the line
	for rest, more := printable(text), true; more; {
		var word string
		word, rest, more = strings.Cut(rest, " ") // not at a space that holds its words together
		if word == "" {
			continue
		}
		letters := utf8.RuneCountInString(word)
		if used > 0 && used+1+letters > width {
			out, used = append(out, newline...), 0
		}
		if used > 0 {
			out, used = append(out, ' '), used+1
		}
		for used+letters > width {
			cut := firstLetters(word, width-used)
			out = append(append(out, word[:cut]...), newline...)
			word, letters, used = word[cut:], letters-(width-used), 0
		}
		out, used = append(out, word...), used+letters
	}
	return out
}

// appendCut is appendWrapped for a text that isSimple, in which a letter is a byte
// and a line can be cut out at once.
func appendCut(out []byte, text string, width int, newline string) []byte {
	for len(text) > width {
		line, rest := text[:width], text[width:]
		if i := strings.LastIndexByte(text[:width+1], ' '); i >= 0 {
			line, rest = text[:i], text[i+1:]
		}
		out = append(append(out, line...), newline...)
		text = rest
	}
	return append(out, text...)
}

// isSimple reports whether a text is of ASCII letters only, and single spaces
// between words.
func isSimple(text string) bool {
	return isPlain(text) && !strings.Contains(text, "  ") && !strings.HasPrefix(text, " ") && !strings.HasSuffix(text, " ")
}

// firstLetters is the number of bytes of the first n letters.
func firstLetters(word string, n int) int {
	at := 0
	for range n {
		_, size := utf8.DecodeRuneInString(word[at:])
		at += size
	}
	return at
}

// Of the letters of Latin scripts, from the space that holds words together to the last one of
// Latin Extended-A, only the soft hyphen is a format character.
const (
	softHyphen = '\u00ad'
	lastLatin  = '\u017f'
)

// printable drops what could steer a terminal: control and format characters,
// and bytes that are not UTF-8. White space becomes a space, unless it holds its words
// together.
func printable(s string) string {
	if isPlain(s) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r >= ' ' && r <= '~', r >= typeface.NoBreak && r <= lastLatin && r != softHyphen:
			return r
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, unicode.Is(unicode.C, r):
			return -1
		}
		return r
	}, s)
}

// isPlain reports whether a text is of ASCII letters only, as nearly all are.
func isPlain(s string) bool {
	for ; len(s) >= 8; s = s[8:] {
		x := bytescan.Load(s)
		if bytescan.FirstMarked(x|bytescan.MarkBelow(x, ' ')|bytescan.MarkEqual(x, '~'+1)) < 8 {
			return false
		}
	}
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}
