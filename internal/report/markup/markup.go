// Package markup escapes text for XML.
package markup

import "unicode/utf8"

// AppendText appends text for the content of an element or an attribute in
// quotes. Bytes that are not UTF-8 and characters that XML does not know become
// the replacement character.
//
// Source: XML 1.0, sections 2.2 (characters) and 2.4 (character data).
func AppendText(b []byte, text string) []byte {
	start := 0
	for i := 0; i < len(text); {
		if plain[text[i]] {
			i++
			continue
		}
		r, size := utf8.DecodeRuneInString(text[i:])
		if replacement := escaped(r); replacement != "" {
			b = append(append(b, text[start:i]...), replacement...)
			start = i + size
		}
		i += size
	}
	return append(b, text[start:]...)
}

// plain says which bytes are characters that stand for themselves.
var plain = func() (table [256]bool) {
	for c := byte(' '); c < utf8.RuneSelf; c++ {
		table[c] = escaped(rune(c)) == ""
	}
	return table
}()

// escaped is what stands for a character, empty for the character itself.
func escaped(r rune) string {
	switch r {
	case '&':
		return "&amp;"
	case '<':
		return "&lt;"
	case '>':
		return "&gt;"
	case '"':
		return "&#34;"
	case '\'':
		return "&#39;"
	case '\t', '\n', '\r':
		return ""
	case utf8.RuneError, 0xFFFE, 0xFFFF:
		return string(utf8.RuneError)
	}
	if r < ' ' {
		return string(utf8.RuneError)
	}
	return ""
}
