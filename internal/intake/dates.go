package intake

import (
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// moment is a FHIR date, dateTime or instant with at least a day.
type moment struct {
	time  time.Time // 00:00 UTC for a whole day
	isDay bool      // a day without a time
}

// day is a calendar day as yyyymmdd, in the offset in which it was recorded.
type day int

func (m moment) day() day {
	year, month, d := m.time.Date()
	return day(year*10_000 + int(month)*100 + d)
}

// parseMoment reads a date or dateTime. A year or a month alone is not enough.
// The year 1 is what many programs write for no date at all, so it is none. The
// location never is the machine's own, so that nothing depends on it.
func parseMoment(s string) (moment, bool) {
	layout, isDay := time.RFC3339Nano, false
	if len(s) == len(time.DateOnly) {
		layout, isDay = time.DateOnly, true
	}
	t, err := time.ParseInLocation(layout, s, time.UTC)
	if err != nil || t.Year() <= 1 {
		return moment{}, false
	}
	return moment{t, isDay}, true
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

// plausible reports whether something may have happened then.
func (m moment) plausible() bool { return m.time.Year() >= earliestYear }

// date is what a text says as a date.
type date struct {
	moment
	ok bool // it is one
}

// moment reads a date or dateTime as parseMoment does, and remembers it.
func (r *reader) moment(text string) (moment, bool) {
	d, known := r.known.dates.recall(text)
	if !known {
		d.moment, d.ok = parseMoment(text)
		r.known.dates.keep(text, d)
	}
	return d.moment, d.ok
}

// after reports whether m is later than limit; as days if one of them is a day.
func (m moment) after(limit moment) bool {
	switch {
	case limit.time.IsZero():
		return false
	case m.isDay || limit.isDay:
		return m.day() > limit.day()
	}
	return m.time.After(limit.time)
}

// stated reads the evaluation time of the caller; zero if none is stated.
func (r *reader) stated(asOf string) (moment, bool) {
	if asOf == "" {
		return moment{}, true
	}
	m, ok := parseMoment(asOf)
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

// clockTolerance is how far a measurement may lie after the edge's clock:
// enough for a day written down without a time anywhere on earth.
const clockTolerance = 24 * time.Hour

// latestAllowed is the time after which a measurement lies in the future.
func latestAllowed(asOf moment, received time.Time) moment {
	if !asOf.time.IsZero() || received.IsZero() {
		return asOf
	}
	return moment{time: received.UTC().Add(clockTolerance)}
}

// evaluationTime is the stated time, the end of the stated day, or the time of
// the latest measurement. It is never earlier than that: a day without a time,
// or in another zone, may end later than the stated time.
func (r *reader) evaluationTime(asOf moment) time.Time {
	return later(asOf.end(), r.latestMeasurement())
}

// end is the time, or the end of the day.
func (m moment) end() time.Time {
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
// written, and the element that holds it.
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

// lastsLonger reports whether a period is no time of one visit: it ends more than a day
// after its start, or before it. One without an end lasts as long as its start.
func (r *reader) lastsLonger(v fhir.Value, start moment) bool {
	period, ok := v.(*fhir.Period)
	if !ok || period == nil || period.End == "" {
		return false
	}
	end, ok := r.moment(period.End)
	if !ok {
		return true // a month or a year
	}
	return start.after(end) || end.time.Sub(start.time) > longestVisit
}

const expectedDate = "not a date on which anybody can have been measured; expected one of the year 1900 or later"

// date reads when an Observation was made.
func (r *reader) date(f *finding, v fhir.Value) bool {
	text, element := effective(v)
	when, ok := r.moment(text)
	switch {
	case ok && when.after(r.latest):
		r.warn(f.place(), element, fault.DateFuture, "dated after the assessment; expected a measurement that was made before it", text)
		return false
	case ok && !when.plausible():
		r.warn(f.place(), element, fault.DateMissing, expectedDate, text)
		return false
	case ok && f.inSession() && r.lastsLonger(v, when):
		r.warn(f.place(), "effectivePeriod", fault.DateMissing, "not the time of one visit; expected a moment, or a period of at most a day that does not end before it starts", "")
		return false
	case ok:
		f.when, f.written = when, text
		return true
	case f.kind == handedness && text == "":
		return true // handedness does not change from visit to visit
	}
	r.warn(f.place(), element, fault.DateMissing, "no usable date; expected effectiveDateTime, effectiveInstant or the start of effectivePeriod, with a day at least", text)
	return false
}
