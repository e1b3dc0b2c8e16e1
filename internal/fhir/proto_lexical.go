package fhir

// The lexical forms that JSON text has by itself or that the JSON decoder checks
// as it reads, for texts that come in protocol buffers. They are looked at in
// nearly every text of a Bundle, so what holds for nearly every text is decided
// eight bytes at a time.

// isText: no control characters but tab, carriage return and line feed.
func isText(s string) bool {
	if !hasByteBelow(s, ' ') {
		return true
	}
	for i := range len(s) {
		if isForbiddenControl(rune(s[i])) {
			return false
		}
	}
	return true
}

// isCodeText: a code as isCode has it, without control characters.
func isCodeText(s string) bool { return !hasByteBelow(s, ' '+1) || isText(s) && isCode(s) }

// isURIText: neither white space nor control characters.
func isURIText(s string) bool { return !hasByteBelow(s, ' '+1) }

// isDivText: a div as isDiv has it, without control characters.
func isDivText(s string) bool { return isText(s) && isDiv(s) }

// hasByteBelow reports whether s has a byte less than limit, which is at most
// 128.
//
// In a word x of eight bytes, subtracting limit from each byte sets a byte's
// high bit if the byte is less; the bytes that had it set before, which are 128
// or more, are masked out. A borrow between bytes begins only at a byte that is
// less, so the answer for the whole word is exact.
func hasByteBelow(s string, limit byte) bool {
	const ones, highs = 0x0101010101010101, 0x8080808080808080
	for len(s) >= 8 {
		x := uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 |
			uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
		if (x-ones*uint64(limit))&^x&highs != 0 {
			return true
		}
		s = s[8:]
	}
	for i := range len(s) {
		if s[i] < limit {
			return true
		}
	}
	return false
}

// isNumber reports whether s has the form of a number in JSON, which FHIR
// gives to decimals.
func isNumber(s string) bool {
	if s != "" && s[0] == '-' {
		s = s[1:]
	}
	whole := leadingDigits(s)
	if whole == 0 || whole > 1 && s[0] == '0' {
		return false
	}
	s = s[whole:]
	if s != "" && s[0] == '.' {
		fraction := leadingDigits(s[1:])
		if fraction == 0 {
			return false
		}
		s = s[1+fraction:]
	}
	return s == "" || isExponent(s)
}

// isExponent: e or E, a sign or none, digits.
func isExponent(s string) bool {
	if s[0] != 'e' && s[0] != 'E' {
		return false
	}
	s = s[1:]
	if s != "" && (s[0] == '+' || s[0] == '-') {
		s = s[1:]
	}
	return s != "" && leadingDigits(s) == len(s)
}

func leadingDigits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
