package lexical

import (
	"strings"
	"unicode/utf8"

	"evenreach.example/internal/bytescan"
)

// JSON text has some of the lexical forms by itself. What follows checks all of
// a form, for texts that come in protocol buffers. It looks at nearly every text
// of a Bundle, so what holds for nearly every text is decided eight bytes at a
// time.

// IsText reports whether s has no control characters but tab, carriage return and
// line feed.
func IsText(s string) bool {
	return !hasByteBelow(s, ' ') || !strings.ContainsFunc(s, IsForbiddenControl)
}

// IsForbiddenControl reports whether R4 forbids the character in a string.
func IsForbiddenControl(r rune) bool {
	return r < ' ' && r != '\t' && r != '\n' && r != '\r'
}

// IsCodeText is IsCode for a text that may hold control characters, which it must
// not.
func IsCodeText(s string) bool { return !hasByteBelow(s, ' '+1) || IsText(s) && IsCode(s) }

// IsURIText is IsURI for such a text.
func IsURIText(s string) bool { return !hasByteBelow(s, ' '+1) }

// IsDivText is IsDiv for such a text.
func IsDivText(s string) bool { return IsText(s) && IsDiv(s) }

// hasByteBelow reports whether s has a byte less than limit, which is at most
// 128. Bytes that are not ASCII would mark themselves and are masked out.
func hasByteBelow(s string, limit byte) bool {
	for ; len(s) >= 8; s = s[8:] {
		if x := bytescan.Load(s); bytescan.FirstMarked(bytescan.MarkBelow(x, limit)&^x) < 8 {
			return true
		}
	}
	for i := range len(s) {
		if s[i] < limit {
			return true
		}
	}
	return false
}

// IsNumber reports whether s has the form of a number in JSON, which FHIR gives
// to decimals.
func IsNumber(s string) bool { return s != "" && NumberLength(s) == len(s) }

// NumberLength is the length of the JSON number at the start of s, 0 if there is
// none.
//
// Source: RFC 8259, section 6.
func NumberLength(s string) int {
	n := 0
	if s != "" && s[0] == '-' {
		n++
	}
	whole := leadingDigits(s[n:])
	if whole == 0 {
		return 0
	}
	if s[n] == '0' {
		whole = 1
	}
	n += whole
	if n < len(s) && s[n] == '.' {
		fraction := leadingDigits(s[n+1:])
		if fraction == 0 {
			return 0
		}
		n += 1 + fraction
	}
	if n < len(s) && (s[n] == 'e' || s[n] == 'E') {
		return exponentEnd(s, n+1)
	}
	return n
}

// exponentEnd is the end of the exponent whose e stands before i, or 0.
func exponentEnd(s string, i int) int {
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	digits := leadingDigits(s[i:])
	if digits == 0 {
		return 0
	}
	return i + digits
}

func leadingDigits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}

// maxQuote is how many bytes of the input a diagnostic may quote.
const maxQuote = 80

// Quote shortens a token of the input to what a diagnostic may hold, and shows
// that it did.
func Quote(token string) string {
	if len(token) <= maxQuote {
		return token
	}
	return Cut(token) + "..."
}

// Cut is Quote without showing it. It cuts at a whole character.
func Cut(s string) string {
	if len(s) <= maxQuote {
		return s
	}
	end := maxQuote
	for end > 0 && !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end]
}
