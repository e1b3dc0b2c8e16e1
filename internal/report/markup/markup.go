// Package markup escapes text for XML.
package markup

import (
	"unicode/utf8"

	"evenreach.example/internal/bytescan"
)

// AppendText appends text for the content of an element or an attribute in
// quotes. Bytes that are not UTF-8 and characters that XML does not know become
// the replacement character.
//
// Source: XML 1.0, sections 2.2 (characters) and 2.4 (character data).
func AppendText(b []byte, text string) []byte {
	start := 0
	for i := plain(text); i < len(text); i += plain(text[i:]) {
		r, size := utf8.DecodeRuneInString(text[i:])
		if replacement := escaped(r); replacement != "" {
			b = append(append(b, text[start:i]...), replacement...)
			start = i + size
		}
		i += size
	}
	return append(b, text[start:]...)
}

// plain is the number of bytes at the start of s that stand for themselves.
// There may be more: it is for AppendText to look closely at what follows.
func plain(s string) int {
	n := 0
	for ; len(s) >= n+8; n += 8 {
		if i := special(bytescan.Load(s[n:])); i < 8 {
			return n + i
		}
	}
	if n > 0 && special(bytescan.Load(s[len(s)-8:])) == 8 {
		return len(s)
	}
	for n < len(s) && ' ' <= s[n] && s[n] < utf8.RuneSelf && escaped(rune(s[n])) == "" {
		n++
	}
	return n
}

// special is the place of the first byte that may not stand for itself, 8 if
// there is none.
func special(x uint64) int {
	return bytescan.FirstMarked(x | bytescan.MarkBelow(x, ' ') | bytescan.MarkEqual(x, '&') | bytescan.MarkEqual(x, '<') | bytescan.MarkEqual(x, '>') |
		bytescan.MarkEqual(x, '"') | bytescan.MarkEqual(x, '\''))
}

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
