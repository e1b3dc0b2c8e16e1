package hl7v2

import (
	"strings"
	"time"
)

// layouts are those of a date and time without fraction and zone, by their length.
var layouts = map[int]string{
	len("2006"): "2006", len("200601"): "200601", len("20060102"): "20060102",
	len("2006010215"): "2006010215", len("200601021504"): "200601021504", len("20060102150405"): "20060102150405",
}

// DateTime is a date and time (DTM, or the older TS) as a FHIR dateTime. A time without a zone
// is one of the zone given; if that is nil only the day is left, because FHIR knows no
// time without a zone. It reports false if the text is no date and time.
//
// Source: HL7 version 2.9, section 2A.3.22; FHIR R4 4.0.1, data type dateTime.
func DateTime(text string, zone *time.Location) (dateTime string, ok bool) {
	if i := strings.IndexAny(text, "+-"); i >= 0 {
		if zone = Zone(text); zone == nil {
			return "", false
		}
		text = text[:i]
	}
	text, fraction, hasFraction := strings.Cut(text, ".")
	layout, known := layouts[len(text)]
	if !known || hasFraction && (len(text) != len("20060102150405") || !isFraction(fraction)) {
		return "", false
	}
	in := zone
	if in == nil {
		in = time.UTC
	}
	t, err := time.ParseInLocation(layout, text, in)
	switch {
	case err != nil:
		return "", false
	case len(text) == len("2006"):
		return t.Format("2006"), true
	case len(text) == len("200601"):
		return t.Format("2006-01"), true
	case len(text) == len("20060102") || zone == nil:
		return t.Format(time.DateOnly), true
	case hasFraction:
		return t.Format("2006-01-02T15:04:05.") + fraction + t.Format("Z07:00"), true
	}
	return t.Format(time.RFC3339), true
}

// isFraction reports whether a text is a fraction of a second, of one to four digits.
func isFraction(s string) bool {
	return len(s) >= 1 && len(s) <= 4 && strings.Trim(s, "0123456789") == ""
}

// HasZone reports whether a date and time states its zone, or needs none because it has
// no time.
func HasZone(text string) bool {
	return strings.ContainsAny(text, "+-") || len(text) <= len("20060102")
}

// Zone is the zone that a date and time states, nil if it states none. That of MSH-7 holds
// for all times of the message that state none.
//
// Source: HL7 version 2.9, section 2A.3.22 and field MSH-7.
func Zone(text string) *time.Location {
	i := strings.IndexAny(text, "+-")
	if i < 0 {
		return nil
	}
	t, err := time.Parse("-0700", text[i:])
	if err != nil {
		return nil
	}
	_, offset := t.Zone()
	if offset == 0 {
		return time.UTC
	}
	return time.FixedZone("", offset)
}

// FromDateTime is a FHIR date, dateTime or instant as a date and time of version 2; empty
// if it is none.
func FromDateTime(text string) string {
	for _, layout := range []string{time.DateOnly, "2006-01", "2006"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t.Format(strings.ReplaceAll(layout, "-", ""))
		}
	}
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return ""
	}
	return Time(t)
}

// Time is a time as a date and time of version 2, with its zone and to the second.
func Time(t time.Time) string { return t.Format("20060102150405-0700") }
