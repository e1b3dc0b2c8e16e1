package intake

import (
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// dateTime is a FHIR date, dateTime or instant with at least a day.
type dateTime struct {
	time  time.Time // 00:00 UTC for a whole day
	isDay bool      // a day without a time
}

// day is a calendar day as yyyymmdd, in the UTC offset in which it was recorded.
type day int

func (m dateTime) day() day {
	year, month, d := m.time.Date()
	return day(year*10_000 + int(month)*100 + d)
}

// parseDateTime reads a date or dateTime. A year or a month alone is not enough.
// The year 1 is what many programs write for no date at all, so it is none. The
// location never is the machine's own, so that nothing depends on it.
func parseDateTime(s string) (dateTime, bool) {
	layout, isDay := time.RFC3339Nano, false
	if len(s) == len(time.DateOnly) {
		layout, isDay = time.DateOnly, true
	}
	t, err := time.ParseInLocation(layout, s, time.UTC)
	if err != nil || t.Year() <= 1 {
		return dateTime{}, false
	}
	return dateTime{t, isDay}, true
}

// earliestYear is the first year of a plausible date: nobody who is measured
// today was measured before. What lies before is a slip of the pen, or a date
// that stands for none, such as 0001-01-01.
//
// Source: ours.
const earliestYear = 1900

// latestYear is the last year of an evaluation. The dates that follow from it,
// such as that of a goal, must stay below the year 10000, which FHIR cannot
// write.
//
// Source: FHIR R4 4.0.1, data type date (four digits); the distance is ours.
const latestYear = 9000

// plausible reports whether a measurement can have been made then.
func (m dateTime) plausible() bool { return m.time.Year() >= earliestYear }

// parsedDate is the cached result of parsing a text as a date.
type parsedDate struct {
	dateTime
	ok bool // the text is a date
}

// dateTime is parseDateTime with a cache.
func (r *reader) dateTime(text string) (dateTime, bool) {
	d, known := r.caches.dates.get(text)
	if !known {
		d.dateTime, d.ok = parseDateTime(text)
		r.caches.dates.put(text, d)
	}
	return d.dateTime, d.ok
}

// after reports whether m is later than limit; as days if one of them is a day.
func (m dateTime) after(limit dateTime) bool {
	switch {
	case limit.time.IsZero():
		return false
	case m.isDay || limit.isDay:
		return m.day() > limit.day()
	}
	return m.time.After(limit.time)
}

// isLater reports whether something lies after the evaluation and may well: the caller
// asked to look back. A date that the clock has not reached is a slip, and the day that was
// meant is not known.
func (r *reader) isLater(m dateTime) bool { return m.after(r.latest) && !m.after(r.clock) }

// parseAsOf reads the evaluation time that the caller asked for; zero if none was given.
func (r *reader) parseAsOf(asOf string) (dateTime, bool) {
	if asOf == "" {
		return dateTime{}, true
	}
	m, ok := parseDateTime(asOf)
	switch {
	case !ok:
		r.refuseAsOf("asOf is not usable; expected a date such as 2026-11-20, or a dateTime with its zone")
	case !m.plausible() || m.time.Year() > latestYear:
		r.refuseAsOf("asOf lies too far off; expected a date in the years 1900 to 9000")
		ok = false
	}
	return m, ok
}

func (r *reader) refuseAsOf(detail string) {
	path := ""
	if r.root != "Bundle" {
		path = "Parameters.parameter.where(name = 'asOf').value"
	}
	r.refuse(fault.BadParameter, path, detail)
}

// clockTolerance is how far a measurement may lie after the server's clock: enough for a
// day without a time in any time zone.
const clockTolerance = 24 * time.Hour

// latestAllowed is the time after which a measurement counts as lying in the future.
func latestAllowed(asOf dateTime, received time.Time) dateTime {
	if !asOf.time.IsZero() || received.IsZero() {
		return asOf
	}
	return dateTime{time: received.UTC().Add(clockTolerance)}
}

// evaluationTime is the stated time, the end of the stated day, or the time of
// the latest measurement. It is never earlier than that: a day without a time,
// or in another zone, may end later than the stated time.
func (r *reader) evaluationTime(asOf dateTime) time.Time {
	return later(asOf.end(), r.latestMeasurement())
}

// end is the time, or the end of the day.
func (m dateTime) end() time.Time {
	if m.isDay {
		return m.time.Add(24*time.Hour - time.Second)
	}
	return m.time
}

// latestMeasurement is the time of the latest finding: what a clinician states later is
// part of what is known at the evaluation, and so is a repair after the last test, from
// which on no earlier test says what the shoulder may bear.
func (r *reader) latestMeasurement() (latest time.Time) {
	for _, f := range r.findings {
		latest = later(latest, f.when.time)
	}
	return latest
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// effective returns the time of an Observation, or the start of its period, as
// written, and the element that holds it. The onset of a Condition is written alike.
func effective(v fhir.Value) (text, element string) {
	switch v := v.(type) {
	case fhir.DateTime:
		return string(v), "effectiveDateTime"
	case fhir.Instant:
		return string(v), "effectiveInstant"
	case *fhir.Period:
		if v != nil {
			return v.Start, "effectivePeriod"
		}
	case fhir.OtherValue:
		return "", "effective" + string(v)
	}
	return "", ""
}

// lastsLonger reports whether a period cannot be that of one visit: it ends more than a
// day after its start, or before it. A period without an end counts as ending when it
// starts.
func (r *reader) lastsLonger(v fhir.Value, start dateTime) bool {
	period, ok := v.(*fhir.Period)
	if !ok || period == nil || period.End == "" {
		return false
	}
	end, ok := r.dateTime(period.End)
	if !ok {
		return true // a month or a year
	}
	return start.after(end) || end.time.Sub(start.time) > longestVisit
}

const expectedDate = "not a date on which anybody can have been measured; expected one of the year 1900 or later"

// date reads when an Observation was made.
func (r *reader) date(f *finding, v fhir.Value) bool {
	text, element := effective(v)
	when, ok := r.dateTime(text)
	switch {
	case ok && when.after(r.latest):
		r.warn(f.pathBase(), element, fault.DateFuture, "dated after the assessment; expected a measurement that was made before it", text)
		return false
	case ok && !when.plausible():
		r.warn(f.pathBase(), element, fault.DateMissing, expectedDate, text)
		return false
	case ok && f.inSession() && r.lastsLonger(v, when):
		r.warn(f.pathBase(), "effectivePeriod", fault.DateMissing, "not the time of one visit; expected a moment, or a period of at most a day that does not end before it starts", "")
		return false
	case ok:
		f.when, f.written = when, text
		return true
	case f.kind == handedness && text == "":
		return true // handedness does not change from visit to visit
	}
	r.warn(f.pathBase(), element, fault.DateMissing, "no usable date; expected effectiveDateTime, effectiveInstant or the start of effectivePeriod, with a day at least", text)
	return false
}
