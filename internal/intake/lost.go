package intake

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// lostMeasurement is an entry that was dropped although it was known what it is, with the
// range of the issues that say why.
type lostMeasurement struct {
	*entry
	from, to int
}

// missLost counts the lost entries as missing that may matter, and says so where their
// problem is told.
func (r *reader) missLost(latest day) {
	for _, l := range r.lostMeasurements {
		if !r.maybeOfPatient(l.entry) || !r.mayMatter(l.entry, latest) {
			continue
		}
		r.incomplete = true
		for i := l.from; i < l.to; i++ {
			r.issues[i].Detail = countsAsMissing(r.issues[i].Detail)
		}
	}
}

// countsAsMissing adds what follows to a detail, before what was expected.
func countsAsMissing(detail string) string {
	const follows, expected = "; counts as missing, and nothing is opened without it", "; expected"
	if at := strings.LastIndex(detail, expected); at >= 0 {
		return detail[:at] + follows + detail[at:]
	}
	return detail + follows
}

// loseMeasurement keeps in mind that a measurement was dropped because something of it,
// such as its value or its occasion, cannot be read: if it may be the latest one it counts
// as missing, because reading it could have closed what is open without it. The issues
// from an index on are about it, and say so by name.
//
// What was not done is not lost, nor what was measured after the evaluation, nor a strength
// that nobody has: that was read, hides no alarm, and is asked for again by itself.
func (r *reader) loseMeasurement(f *finding, o *fhir.Observation, from int) {
	text, _ := effective(o.Effective)
	when, dated := r.dateTime(text)
	if dated {
		f.when = when
	}
	unreadable := len(r.issues) == from // more than are listed
	for i := from; i < len(r.issues); i++ {
		r.issues[i].Subject = f.subject()
		unreadable = unreadable || r.issues[i].Severity == fault.Warning && r.issues[i].Kind != fault.ImplausibleValue
	}
	if unreadable && (!dated || !r.isLater(when)) {
		r.lostMeasurements = append(r.lostMeasurements, lostMeasurement{f.entry, from, len(r.issues)})
	}
}

// subject names what a finding is, as far as it was read.
func (f *finding) subject() fault.Subject {
	s := fault.Subject{When: f.when.time, Motion: f.motion, Movement: f.movement, Active: f.active, Position: f.position, Context: f.context}
	switch f.kind {
	case strength:
		s.Kind = fault.OfStrength
	case grade:
		s.Kind = fault.OfGrade
	case motion:
		s.Kind = fault.OfRange
	case pain:
		s.Kind = fault.OfPain
	case steadiness:
		s.Kind = fault.OfSteadiness
	case permit, clearance, examination:
		s.Kind = fault.OfLoad
	}
	return s
}

// notTried are the reasons for the absence of a value that say that nobody tried.
//
// Source: FHIR R4 4.0.1, value set data-absent-reason; the choice is ours.
var notTried = map[string]bool{
	"unknown": true, "asked-unknown": true, "temp-unknown": true, "not-asked": true, "asked-declined": true, "masked": true,
	"not-applicable": true, "unsupported": true, "not-performed": true, "not-permitted": true,
}

// wasTried reports whether the reason for the absence of a value may say that it was tried
// and not possible: it has a text, or a code that does not say that nobody tried.
func wasTried(reason *fhir.CodeableConcept) bool {
	if reason == nil {
		return false
	}
	for i := range reason.Coding {
		if c := &reason.Coding[i]; c.Code != "" && !notTried[c.Code] {
			return true
		}
	}
	return reason.Text != ""
}

// reportNotDone adds an issue for an Observation that only states that nothing was
// measured. A test of strength that was tried and not possible is no test that was left
// out: it counts as missing, and somebody has to ask why.
func (r *reader) reportNotDone(f *finding, o *fhir.Observation, fromCode laterality) {
	element := ""
	if o.DataAbsentReason != nil {
		element = "dataAbsentReason"
	}
	if (f.kind != strength && f.kind != grade) || !wasTried(o.DataAbsentReason) {
		r.note(f.pathBase(), element, fault.ValueMissing, "no value; taken as not done", "")
		return
	}
	r.details(f, o)
	from := len(r.issues)
	r.warn(f.pathBase(), element, fault.NotPossible, "a test of strength without a value, for a reason that may mean that it was not possible; counts as missing; expected its value, or a grade", "")
	r.side(f, o, fromCode)
	r.loseMeasurement(f, o, from)
}
