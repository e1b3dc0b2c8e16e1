package typeface

import (
	"iter"
	"strings"
)

// Wrap makes a text printable and breaks it into lines of at most a width:
// between words, but not between a number and its sign, and a word that is wider
// than a line anywhere. A text without
// a word has no line. The width must hold the widest letter.
func (f *Face) Wrap(text string, size, width float64) []string {
	var lines []string
	space := f.Width(" ", size)
	line, used := make([]byte, 0, 128), 0.0
	for word := range words(Printable(text)) {
		wide := f.Width(word, size)
		if len(line) > 0 && used+space+wide <= width {
			line, used = append(append(line, ' '), word...), used+space+wide
			continue
		}
		if len(line) > 0 {
			lines = append(lines, string(line))
		}
		if wide > width {
			var whole []string
			whole, word = f.split(word, size, width)
			lines, wide = append(lines, whole...), f.Width(word, size)
		}
		line, used = append(line[:0], word...), wide
	}
	if len(line) > 0 {
		lines = append(lines, string(line))
	}
	return lines
}

// split cuts a word into pieces as wide as a line, and what is left of it.
func (f *Face) split(word string, size, width float64) (whole []string, rest string) {
	start, used := 0, 0.0
	for i, r := range word {
		letter := f.Width(string(r), size)
		if used+letter > width && i > start {
			whole = append(whole, word[start:i])
			start, used = i, 0
		}
		used += letter
	}
	return whole, word[start:]
}

// words are the words of a text; a number and its sign are one, and so is what a space
// without a break holds together.
func words(text string) iter.Seq[string] {
	return func(yield func(string) bool) {
		last := ""
		for word := range strings.FieldsFuncSeq(text, isBreak) {
			if last != "" && isNumber(last) && isSign(word) {
				last += " " + word
				continue
			}
			if last != "" && !yield(last) {
				return
			}
			last = word
		}
		if last != "" {
			yield(last)
		}
	}
}

func isBreak(r rune) bool { return r == ' ' }

func isNumber(word string) bool {
	last := word[len(word)-1]
	return '0' <= last && last <= '9'
}

// isSign reports whether a word is the sign of a unit, with what may follow it.
func isSign(word string) bool {
	switch strings.TrimRight(word, ".,;:)") {
	case "%", "N", "kgf", "lbf", "N/kg":
		return true
	}
	return false
}
