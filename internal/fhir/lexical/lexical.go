// Package lexical checks the lexical forms of FHIR's primitives.
//
// Source: FHIR R4 4.0.1, data types, the regular expressions of the primitives.
package lexical

import (
	"strconv"
	"strings"
	"time"
)

// What a text should have been, for who is told of a wrong one.
const (
	ExpectedText     = "no control characters but tab, carriage return and line feed"
	ExpectedCode     = "a code: no white space at its ends and no two spaces in a row"
	ExpectedURI      = "a URI: no white space"
	ExpectedID       = "an id: 1 to 64 letters, digits, hyphens and dots"
	ExpectedDiv      = "one XHTML div element"
	ExpectedDate     = "a date that exists: YYYY, YYYY-MM or YYYY-MM-DD"
	ExpectedDateTime = "a date that exists, or a dateTime with seconds and time zone: YYYY-MM-DDThh:mm:ss+zz:zz"
	ExpectedInstant  = "an instant with seconds and time zone: YYYY-MM-DDThh:mm:ss+zz:zz"
	ExpectedDecimal  = "a decimal of at most 40 digits, with an exponent of ten within 40 either way"
)

// IsCode reports whether a text that is not empty has no white space at its ends
// and single spaces within.
func IsCode(s string) bool {
	return IsURI(s) || !hasOtherSpace(s) && s[0] != ' ' && s[len(s)-1] != ' ' && !strings.Contains(s, "  ")
}

// IsURI reports whether s has no white space.
func IsURI(s string) bool { return strings.IndexByte(s, ' ') < 0 && !hasOtherSpace(s) }

// hasOtherSpace reports whether s holds white space other than a space.
func hasOtherSpace(s string) bool {
	return strings.IndexByte(s, '\t') >= 0 || strings.IndexByte(s, '\n') >= 0 || strings.IndexByte(s, '\r') >= 0
}

// IsID reports whether s is 1 to 64 letters, digits, hyphens and dots.
func IsID(s string) bool {
	for i := range len(s) {
		if !isIDByte(s[i]) {
			return false
		}
	}
	return s != "" && len(s) <= 64
}

func isIDByte(c byte) bool {
	return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || c == '-' || c == '.'
}

// IsDiv reports whether s is an XHTML div element as a whole.
func IsDiv(s string) bool {
	s = strings.TrimSpace(s)
	return strings.HasPrefix(s, "<div") && strings.HasSuffix(s, ">")
}

// IsDecimal reports whether a JSON number is small enough for exact arithmetic.
// FHIR sets no bound; no instrument comes near this one.
func IsDecimal(s string) bool {
	if len(s) <= maxDigits && strings.IndexByte(s, 'e') < 0 && strings.IndexByte(s, 'E') < 0 {
		return true
	}
	mantissa, exponent, hasExponent := strings.Cut(strings.ToLower(s), "e")
	whole, fraction, _ := strings.Cut(strings.TrimPrefix(mantissa, "-"), ".")
	digits := strings.TrimLeft(whole+fraction, "0")
	power := -len(fraction)
	if hasExponent {
		e, err := strconv.Atoi(exponent)
		if err != nil || e > 2*maxDigits || e < -2*maxDigits {
			return false
		}
		power += e
	}
	return len(s) <= 2*maxDigits && len(digits) <= maxDigits && power <= maxDigits && power >= -maxDigits
}

// maxDigits bounds the digits, and the exponent of ten either way, of a decimal.
const maxDigits = 40

// IsDate reports whether s is a date that exists: YYYY, YYYY-MM or YYYY-MM-DD.
func IsDate(s string) bool {
	rest, ok := cutDate(s)
	return ok && rest == ""
}

// IsDateTime reports whether s is a date, or a date and a time of day with seconds
// and time zone.
func IsDateTime(s string) bool {
	rest, ok := cutDate(s)
	return ok && (rest == "" || len(s)-len(rest) == len("2006-01-02") && isTimeAndZone(rest))
}

// IsInstant reports whether s is a date and a time of day with seconds and time
// zone.
func IsInstant(s string) bool { return len(s) > len("2006-01-02") && IsDateTime(s) }

// cutDate cuts a date of any precision off the start of s.
func cutDate(s string) (rest string, ok bool) {
	year, ok := digits(s, 4, 1, 9999)
	if !ok {
		return s, false
	}
	s = s[4:]
	if s == "" || s[0] != '-' {
		return s, true
	}
	month, ok := digits(s[1:], 2, 1, 12)
	if !ok {
		return s, false
	}
	s = s[3:]
	if s == "" || s[0] != '-' {
		return s, true
	}
	if _, ok = digits(s[1:], 2, 1, daysIn(year, time.Month(month))); !ok {
		return s, false
	}
	return s[3:], true
}

// daysIn is the number of days of a month.
func daysIn(year int, month time.Month) int {
	switch month {
	case time.February:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case time.April, time.June, time.September, time.November:
		return 30
	}
	return 31
}

// isTimeAndZone: Thh:mm:ss, a fraction if any, and Z or an offset of at most
// 14 hours. R4 allows a leap second and forbids 24:00.
func isTimeAndZone(s string) bool {
	if len(s) < len("T15:04:05Z") || s[0] != 'T' || s[3] != ':' || s[6] != ':' {
		return false
	}
	_, hour := digits(s[1:], 2, 0, 23)
	_, minute := digits(s[4:], 2, 0, 59)
	_, second := digits(s[7:], 2, 0, 60)
	return hour && minute && second && isFractionAndZone(s[9:])
}

// isFractionAndZone: a fraction of a second if any, and Z or an offset.
func isFractionAndZone(s string) bool {
	if s[0] == '.' {
		zone := 1
		for zone < len(s) && '0' <= s[zone] && s[zone] <= '9' {
			zone++
		}
		if zone == 1 {
			return false
		}
		s = s[zone:]
	}
	if s == "Z" {
		return true
	}
	if len(s) != len("+07:00") || s[0] != '+' && s[0] != '-' || s[3] != ':' {
		return false
	}
	_, hour := digits(s[1:], 2, 0, 13)
	_, minute := digits(s[4:], 2, 0, 59)
	return hour && minute || s[1:] == "14:00"
}

// digits reads a number of n digits at the start of s, within bounds.
func digits(s string, n, least, most int) (int, bool) {
	if len(s) < n {
		return 0, false
	}
	number := 0
	for i := range n {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		number = 10*number + int(s[i]-'0')
	}
	return number, number >= least && number <= most
}

// Offset is the seconds of an offset such as "+05:30", of at most 14 hours.
func Offset(zone string) (seconds int, ok bool) {
	if !isFractionAndZone(zone) {
		return 0, false
	}
	hours, _ := digits(zone[1:], 2, 0, 14)
	minutes, _ := digits(zone[4:], 2, 0, 59)
	seconds = hours*3600 + minutes*60
	if zone[0] == '-' {
		seconds = -seconds
	}
	return seconds, true
}
