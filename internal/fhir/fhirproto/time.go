package fhirproto

import (
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // zone names must mean the same in an image without a zone database

	"evenreach.example/internal/fhir/lexical"
)

// A moment is a FHIR date, dateTime or instant as the protocol buffers hold
// it: a point in time, the zone it was told in, and how exactly it was told.
type moment struct {
	micros    int64  // since 1970-01-01 UTC
	zone      string // "Z", an offset such as "+01:00", or a name of the IANA database
	precision precision
}

// precision is how exactly a time is stated.
type precision uint8

const (
	noPrecision precision = iota
	toYear
	toMonth
	toDay
	toSecond
	toMillisecond
	toMicrosecond
)

// The precisions of the three messages, in the numbering of their enums.
var (
	datePrecisions     = [...]precision{1: toYear, 2: toMonth, 3: toDay}
	dateTimePrecisions = [...]precision{1: toYear, 2: toMonth, 3: toDay, 4: toSecond, 5: toMillisecond, 6: toMicrosecond}
	instantPrecisions  = [...]precision{1: toSecond, 2: toMillisecond, 3: toMicrosecond}
)

// precisionOf looks an enum value up; one that is not in the table tells none.
func precisionOf(table []precision, value int32) precision {
	if value < 0 || int(value) >= len(table) {
		return noPrecision
	}
	return table[value]
}

// The zones of moments that were told without an offset, and in UTC, and the
// name of the server's own zone, which means nothing to a caller.
const (
	dateZone  = "UTC"
	utcZone   = "Z"
	localZone = "Local"
)

// The first and the last year that FHIR can write.
const (
	firstYear = 1
	lastYear  = 9999
)

// text writes the moment as FHIR does, to its precision. It reports false for
// a moment without a precision, in an unknown zone or outside FHIR's years.
func (m moment) text(zones *zoneCache) (string, bool) {
	if m.precision == noPrecision {
		return "", false
	}
	offset, ok := zones.offset(m)
	if !ok {
		return "", false
	}
	// A sum that overflows comes out some 290,000 years away.
	local := time.UnixMicro(m.micros + int64(offset)*int64(time.Second/time.Microsecond)).UTC()
	year, month, day := local.Date()
	if year < firstYear || year > lastYear {
		return "", false
	}
	b := appendDigits(make([]byte, 0, len("2006-01-02T15:04:05.000000+00:00")), year, 4)
	if m.precision >= toMonth {
		b = appendDigits(append(b, '-'), int(month), 2)
	}
	if m.precision >= toDay {
		b = appendDigits(append(b, '-'), day, 2)
	}
	if m.precision >= toSecond {
		b = appendClock(b, local, m.precision)
		b = appendOffset(b, m.zone, offset)
	}
	return string(b), true
}

func appendClock(b []byte, t time.Time, p precision) []byte {
	hour, minute, second := t.Clock()
	b = appendDigits(append(b, 'T'), hour, 2)
	b = appendDigits(append(b, ':'), minute, 2)
	b = appendDigits(append(b, ':'), second, 2)
	switch p {
	case toMillisecond:
		b = appendDigits(append(b, '.'), t.Nanosecond()/int(time.Millisecond), 3)
	case toMicrosecond:
		b = appendDigits(append(b, '.'), t.Nanosecond()/int(time.Microsecond), 6)
	}
	return b
}

func appendOffset(b []byte, zone string, offset int) []byte {
	if zone == utcZone {
		return append(b, 'Z')
	}
	sign := byte('+')
	if offset < 0 {
		sign, offset = '-', -offset
	}
	b = appendDigits(append(b, sign), offset/3600, 2)
	return appendDigits(append(b, ':'), offset/60%60, 2)
}

// appendDigits writes the last digits of n, which is not negative.
func appendDigits(b []byte, n, digits int) []byte {
	for range digits {
		b = append(b, '0')
	}
	for i := len(b) - 1; n > 0 && i >= len(b)-digits; i-- {
		b[i] = byte('0' + n%10)
		n /= 10
	}
	return b
}

// maxZones bounds the zone names of one Bundle, because each has to be looked up
// in a database. A record names one, the clinic's, if it names any.
const maxZones = 8

// A zoneCache keeps the named zones of one Bundle. The zero zoneCache is ready
// for use.
type zoneCache struct {
	names     []string
	locations []*time.Location // nil for a name that is not in the database
}

// offset is how many seconds the moment's zone was east of UTC.
func (c *zoneCache) offset(m moment) (seconds int, ok bool) {
	switch {
	case m.zone == utcZone || m.zone == dateZone || m.zone == "":
		return 0, true
	case m.zone[0] == '+' || m.zone[0] == '-':
		return lexical.Offset(m.zone)
	}
	location := c.location(m.zone)
	if location == nil {
		return 0, false
	}
	_, seconds = time.UnixMicro(m.micros).In(location).Zone()
	return seconds, true
}

// location is the zone of that name, or nil if there is none or one too many.
func (c *zoneCache) location(name string) *time.Location {
	if i := slices.Index(c.names, name); i >= 0 {
		return c.locations[i]
	}
	if len(c.names) == maxZones || name == localZone {
		return nil
	}
	location, err := time.LoadLocation(name)
	if err != nil {
		location = nil
	}
	c.names, c.locations = append(c.names, name), append(c.locations, location)
	return location
}

// parseMoment reads a FHIR date, dateTime or instant. Digits beyond
// microseconds are dropped, because the protocol buffers cannot hold them.
func parseMoment(text string) (moment, bool) {
	switch len(text) {
	case len("2006"):
		return parseDay("2006", text, toYear)
	case len("2006-01"):
		return parseDay("2006-01", text, toMonth)
	case len("2006-01-02"):
		return parseDay("2006-01-02", text, toDay)
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return moment{}, false
	}
	return moment{t.UnixMicro(), zoneOf(text), clockPrecision(text)}, true
}

func parseDay(layout, text string, p precision) (moment, bool) {
	t, err := time.Parse(layout, text)
	return moment{t.UnixMicro(), dateZone, p}, err == nil
}

// zoneOf is the zone of a text that has a time of day.
func zoneOf(text string) string {
	if strings.HasSuffix(text, utcZone) {
		return utcZone
	}
	offset := text[len(text)-len("+00:00"):]
	if offset == "-00:00" {
		return "+00:00"
	}
	return offset
}

// clockPrecision is the precision of a text that has a time of day.
func clockPrecision(text string) precision {
	_, fraction, found := strings.Cut(text, ".")
	digits := strings.IndexAny(fraction, "Z+-")
	switch {
	case !found:
		return toSecond
	case digits <= len("000"):
		return toMillisecond
	}
	return toMicrosecond
}
