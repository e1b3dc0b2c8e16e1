package fhirjson

import (
	"strings"
	"unicode/utf8"

	"evenreach.example/internal/bytescan"
	"evenreach.example/internal/fhir/lexical"
)

// lexer finds the tokens of JSON text and stops where the text is no JSON in
// UTF-8. It does not say what is wrong, nor where in the document: that is left
// to jsontext, see decoder.trail. Finding the tokens takes it a third of the
// time of jsontext, which keeps names and indices for paths that are never
// asked for.
//
// Source: RFC 8259 for the grammar; RFC 7493, section 2.1, for surrogates.
type lexer struct {
	body []byte
	text string // the body again; strings of the model are parts of it

	kind       byte // of the current token: one of {}[]"0tfn, or 0 when reading has ended
	start, end int  // of the current token in text
	escaped    bool // the current token, a string, holds a backslash

	after   place
	open    []byte // the brackets that are open, outermost first
	anyUTF8 bool   // strings need not be UTF-8
}

// place is what the current token leaves the lexer after.
type place uint8

const (
	afterNothing place = iota
	afterBracket       // that opens
	afterName
	afterValue // in an object or array
	afterAll
)

// scan makes the next token the current one, or reports false if there is none.
func (l *lexer) scan() bool {
	at := l.space(l.end)
	isName := false
	switch l.after {
	case afterName:
		if l.at(at) != ':' {
			return false
		}
		at = l.space(at + 1)
	case afterBracket, afterValue:
		bracket := l.open[len(l.open)-1]
		if l.at(at) == bracket+2 { // '{' and '}', '[' and ']' are two apart
			l.closed(at)
			return true
		}
		if l.after == afterValue {
			if l.at(at) != ',' {
				return false
			}
			at = l.space(at + 1)
		}
		if isName = bracket == '{'; isName && l.at(at) != '"' {
			return false
		}
	case afterAll:
		return false
	}
	return l.token(at, isName)
}

// token reads the token at an offset, which closes no bracket.
func (l *lexer) token(at int, isName bool) bool {
	var end int
	kind := l.at(at)
	switch kind {
	case '"':
		end = l.quoted(at)
	case '{', '[':
		l.open = append(l.open, kind)
		l.kind, l.start, l.end, l.after = kind, at, at+1, afterBracket
		return true
	case 't':
		end = l.literal(at, "true")
	case 'f':
		end = l.literal(at, "false")
	case 'n':
		end = l.literal(at, "null")
	default:
		kind, end = '0', l.number(at)
	}
	if end == 0 {
		return false
	}
	l.kind, l.start, l.end = kind, at, end
	l.after = afterName
	if !isName {
		l.afterOne()
	}
	return true
}

// closed makes the bracket at an offset, which closes the innermost, the
// current token.
func (l *lexer) closed(at int) {
	l.kind, l.start, l.end = l.body[at], at, at+1
	l.open = l.open[:len(l.open)-1]
	l.afterOne()
}

// afterOne notes that a value is complete.
func (l *lexer) afterOne() {
	l.after = afterValue
	if len(l.open) == 0 {
		l.after = afterAll
	}
}

// at is a byte of the body, 0 after its end.
func (l *lexer) at(i int) byte {
	if i < len(l.body) {
		return l.body[i]
	}
	return 0
}

// space is the offset of the first byte from i on that is no white space.
func (l *lexer) space(i int) int {
	for i < len(l.body) && l.body[i] <= ' ' && isSpace(l.body[i]) {
		i++
	}
	return i
}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

// literal is the end of a word that stands at an offset, or 0.
func (l *lexer) literal(at int, word string) int {
	if !strings.HasPrefix(l.text[at:], word) {
		return 0
	}
	return at + len(word)
}

// number is the end of the number at an offset, or 0.
func (l *lexer) number(at int) int {
	if n := lexical.NumberLength(l.text[at:]); n > 0 {
		return at + n
	}
	return 0
}

// quoted is the end of the string at an offset, or 0.
func (l *lexer) quoted(at int) int {
	l.escaped = false
	for i := at + 1; ; {
		i += plain(l.text[i:])
		switch c := l.at(i); {
		case c == '"':
			return i + 1
		case c == '\\':
			n := l.escape(i)
			if n == 0 {
				return 0
			}
			l.escaped = true
			i += n
		case c < ' ': // or the end
			return 0
		default:
			r, n := utf8.DecodeRune(l.body[i:])
			if r == utf8.RuneError && n == 1 && !l.anyUTF8 {
				return 0
			}
			i += n
		}
	}
}

// escape is the length of the escape sequence at an offset, or 0. A character
// beyond 16 bits has two halves.
func (l *lexer) escape(at int) int {
	const half = len(`\u0000`)
	switch l.at(at + 1) {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		return len(`\n`)
	case 'u':
	default:
		return 0
	}
	r, ok := l.hex(at + 2)
	switch {
	case !ok:
		return 0
	case r < 0xd800 || r > 0xdfff || l.anyUTF8:
		return half
	}
	low, ok := l.hex(at + half + 2)
	if !ok || r > 0xdbff || l.text[at+half:at+half+2] != `\u` || low < 0xdc00 || low > 0xdfff {
		return 0
	}
	return 2 * half
}

// hex reads four hexadecimal digits.
func (l *lexer) hex(at int) (r rune, ok bool) {
	for i := at; i < at+4; i++ {
		c := l.at(i)
		switch {
		case '0' <= c && c <= '9':
			c -= '0'
		case 'a' <= c && c <= 'f':
			c -= 'a' - 10
		case 'A' <= c && c <= 'F':
			c -= 'A' - 10
		default:
			return 0, false
		}
		r = r<<4 | rune(c)
	}
	return r, true
}

// plain is the number of bytes at the start of s that stand for themselves in a
// JSON string: ASCII, but no control character, quote or backslash. Looking at
// eight bytes at a time halves the time of Decode's search for the ends of
// strings.
func plain(s string) int {
	n := 0
	for ; len(s) >= n+8; n += 8 {
		if i := special(bytescan.Load(s[n:])); i < 8 {
			return n + i
		}
	}
	if n == len(s) || n > 0 && special(bytescan.Load(s[len(s)-8:])) == 8 {
		return len(s)
	}
	for ; n < len(s); n++ {
		if c := s[n]; c < ' ' || c >= utf8.RuneSelf || c == '"' || c == '\\' {
			break
		}
	}
	return n
}

// special is the place of the first byte of x that does not stand for itself, 8
// if there is none.
func special(x uint64) int {
	return bytescan.FirstMarked(x | bytescan.MarkBelow(x, ' ') | bytescan.MarkEqual(x, '"') | bytescan.MarkEqual(x, '\\'))
}
