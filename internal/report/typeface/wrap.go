package typeface

import "strings"

// Wrap makes a text printable and breaks it into lines of at most a width:
// between words, and a word that is wider than a line anywhere. A text without
// a word has no line. The width must hold the widest letter.
func (f *Face) Wrap(text string, size, width float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(Printable(text)) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if f.Width(joined, size) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		var whole []string
		whole, line = f.split(word, size, width)
		lines = append(lines, whole...)
	}
	if line != "" {
		lines = append(lines, line)
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
