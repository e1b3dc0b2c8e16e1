package fhirproto

import (
	"strconv"
	"testing"
	"time"
)

func TestMomentBothWays(t *testing.T) {
	micros := func(text string) int64 {
		at, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		return at.UnixMicro()
	}
	tests := []struct {
		name   string
		text   string
		moment moment
		source string
	}{
		{"year", "2026", moment{micros("2026-01-01T00:00:00Z"), "UTC", toYear}, "FHIR R4 date: YYYY"},
		{"month", "2026-10", moment{micros("2026-10-01T00:00:00Z"), "UTC", toMonth}, "FHIR R4 date: YYYY-MM"},
		{"day", "2026-10-05", moment{micros("2026-10-05T00:00:00Z"), "UTC", toDay}, "FHIR R4 date: YYYY-MM-DD"},
		{"leap day", "2024-02-29", moment{micros("2024-02-29T00:00:00Z"), "UTC", toDay}, "calendar"},
		{"first day", "0001-01-01", moment{-62135596800000000, "UTC", toDay}, "calendar: 719,162 days before 1970"},
		{"last day", "9999-12-31", moment{micros("9999-12-31T00:00:00Z"), "UTC", toDay}, "calendar"},
		{"UTC", "2026-10-05T09:30:00Z", moment{micros("2026-10-05T09:30:00Z"), "Z", toSecond}, "FHIR R4 dateTime"},
		{"offset zero", "2026-10-05T09:30:00+00:00", moment{micros("2026-10-05T09:30:00Z"), "+00:00", toSecond}, "FHIR R4 dateTime"},
		{"east", "2026-10-05T09:30:00+05:30", moment{micros("2026-10-05T04:00:00Z"), "+05:30", toSecond}, "5 h 30 min earlier in UTC"},
		{"west", "2026-10-05T09:30:00-09:45", moment{micros("2026-10-05T19:15:00Z"), "-09:45", toSecond}, "9 h 45 min later in UTC"},
		{"less than an hour west", "2026-10-05T00:15:00-00:30", moment{micros("2026-10-05T00:45:00Z"), "-00:30", toSecond}, "30 min later in UTC"},
		{"farthest east", "0001-01-01T00:00:00+14:00", moment{-62135596800000000 - 14*3600*1000000, "+14:00", toSecond}, "14 h earlier in UTC"},
		{"milliseconds", "2026-10-05T09:30:00.120Z", moment{micros("2026-10-05T09:30:00.12Z"), "Z", toMillisecond}, "three digits"},
		{"microseconds", "2026-10-05T09:30:00.000120-01:00", moment{micros("2026-10-05T10:30:00.00012Z"), "-01:00", toMicrosecond}, "six digits"},
		{"before 1970", "1969-12-31T23:59:59.999999Z", moment{-1, "Z", toMicrosecond}, "one microsecond before"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got, ok := parseMoment(tt.text); !ok || got != tt.moment {
				t.Errorf("parseMoment(%q) = %v, %v, want %v (%s)", tt.text, got, ok, tt.moment, tt.source)
			}
			if got, ok := tt.moment.text(&zoneCache{}); !ok || got != tt.text {
				t.Errorf("%v as text = %q, %v, want %q (%s)", tt.moment, got, ok, tt.text, tt.source)
			}
		})
	}
}

func TestMomentText(t *testing.T) {
	const july, january = 1783339200000000, 1767614400000000 // 2026-07-06 and 2026-01-05, 12:00 UTC
	tests := []struct {
		name   string
		moment moment
		want   string
		source string
	}{
		{"zone by name, summer", moment{july, "America/New_York", toSecond}, "2026-07-06T08:00:00-04:00", "US daylight saving time"},
		{"zone by name, winter", moment{january, "America/New_York", toSecond}, "2026-01-05T07:00:00-05:00", "US standard time"},
		{"half-hour zone", moment{january, "Asia/Kolkata", toSecond}, "2026-01-05T17:30:00+05:30", "India standard time"},
		{"day in a zone", moment{1767657600000000, "Pacific/Auckland", toDay}, "2026-01-06", "13 h ahead of UTC in January"},
		{"UTC by name has an offset", moment{january, "UTC", toSecond}, "2026-01-05T12:00:00+00:00", "only Z is written as Z"},
		{"no zone is UTC", moment{january, "", toSecond}, "2026-01-05T12:00:00+00:00", "as the google library writes it"},
		{"below the precision is dropped", moment{january + 999999, "Z", toMillisecond}, "2026-01-05T12:00:00.999Z", "definition of precision"},
		{"negative zero offset", moment{january, "-00:00", toSecond}, "2026-01-05T12:00:00+00:00", "same offset"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got, ok := tt.moment.text(&zoneCache{}); !ok || got != tt.want {
				t.Errorf("%v as text = %q, %v, want %q (%s)", tt.moment, got, ok, tt.want, tt.source)
			}
		})
	}
}

func TestZoneCache(t *testing.T) {
	const noon = 1767614400000000 // 2026-01-05, 12:00 UTC
	var zones zoneCache
	for range 2 {
		for zone, want := range map[string]string{"America/New_York": "2026-01-05T07", "Asia/Kolkata": "2026-01-05T17", "No/Where": ""} {
			got, _ := (moment{noon, zone, toSecond}).text(&zones)
			if got[:min(len(got), 13)] != want {
				t.Errorf("noon in %s = %q, want %q", zone, got, want)
			}
		}
	}
	for i := range 100 {
		(moment{noon, "No/Where" + strconv.Itoa(i), toSecond}).text(&zones)
	}
	if got := len(zones.names); got != maxZones {
		t.Errorf("%d names were looked up, want %d", got, maxZones)
	}
}

// Digits that the protocol buffers have no room for.
func TestParseMomentDropsDigits(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"one digit becomes three", "2026-10-05T09:30:00.5Z", "2026-10-05T09:30:00.500Z"},
		{"four digits become six", "2026-10-05T09:30:00.1234Z", "2026-10-05T09:30:00.123400Z"},
		{"nine digits become six", "2026-10-05T09:30:00.123456789+01:00", "2026-10-05T09:30:00.123456+01:00"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, ok := parseMoment(tt.text)
			if got, _ := m.text(&zoneCache{}); !ok || got != tt.want {
				t.Errorf("%q comes back as %q, want %q", tt.text, got, tt.want)
			}
		})
	}
}

func TestParseMomentRefuses(t *testing.T) {
	for _, text := range []string{"", "26", "2026-13", "2026-02-30", "2026-10-05T09:30", "2026-10-05T09:30:00", "2026-10-05T24:00:00Z", "yesterday"} {
		if m, ok := parseMoment(text); ok {
			t.Errorf("parseMoment(%q) = %v, want a refusal", text, m)
		}
	}
}
