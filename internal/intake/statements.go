package intake

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// statement reads what a clinician states: that resisted work is cleared, that the
// shoulder was examined, how much load it may bear, or that a measurement is right.
//
// Only a clinician can allow something, and only from a known day on. What forbids load is
// kept whoever states it: obeying a refusal that was sent by mistake costs a question,
// ignoring one that was meant may cost the repair.
func (r *reader) statement(f *finding, o *fhir.Observation, fromCode laterality) {
	from := len(r.issues)
	isRead := r.values(f, o, nil)
	refusal := isRead && f.forbids()
	dated := r.statementDate(f, o.Effective, refusal)
	ok := r.side(f, o, fromCode)
	ok = r.details(f, o) && ok
	ok = r.byClinician(f, o.Performer, refusal) && ok
	switch {
	case f.kind != confirmation && r.mayForbid(f, o, isRead, dated && (ok || refusal)):
		r.holdUnread(f, isRead, from)
	case !isRead || !dated || !ok && !refusal:
	case f.kind == confirmation:
		r.deferConfirmation(f, o)
	default:
		r.accept(f)
	}
}

// mayForbid reports whether a statement that cannot be used may have forbidden load: its
// value is not understood, or it permits a phase, which forbids the later ones, and its day or
// the clinician who states it is not known. One that is dated after the assessment does not
// count yet.
func (r *reader) mayForbid(f *finding, o *fhir.Observation, isRead, complete bool) bool {
	text, _ := effective(o.Effective)
	if when, ok := r.dateTime(text); ok && r.isLater(when) {
		return false
	}
	return !isRead || f.kind == permit && !complete
}

// holdUnread keeps a statement that cannot be used as the most that it can have permitted:
// its phase, or where that is not read careful work at the side. It holds until a later
// statement replaces it, and without a date until it is sent again. The issues from an index
// on are about it.
func (r *reader) holdUnread(f *finding, isRead bool, from int) {
	for i := from; i < len(r.issues); i++ {
		r.issues[i].Subject = f.subject()
	}
	if !isRead {
		f.phase = shoulder.LoadSubmaximalAtSide
	}
	f.kind, f.unread = permit, true
	r.accept(f)
}

// forbids reports whether a statement forbids load.
func (f *finding) forbids() bool {
	if f.kind == permit {
		return f.phase == shoulder.LoadNone
	}
	return !f.yes
}

// statementDate reads the date of a statement. A refusal without a usable date is kept
// without one and then always holds. That includes one that is dated after the assessment,
// which is more likely a mistake than a reason to load the shoulder. A permitted load is
// not kept without a date, because it would not be known which of several is in force.
func (r *reader) statementDate(f *finding, v fhir.Value, refusal bool) bool {
	if !refusal || f.kind == permit {
		return r.date(f, v)
	}
	text, element := effective(v)
	when, ok := r.dateTime(text)
	switch {
	case !ok:
		r.warn(f.pathBase(), element, fault.DateMissing, "a refusal without a usable date; kept, and holds until it is sent with its date", text)
	case when.after(r.latest):
		r.warn(f.pathBase(), element, fault.DateFuture, "a refusal dated after the assessment; kept without its date, and holds until it is sent with the right one", text)
	default:
		f.when, f.written = when, text
	}
	return true
}

// byClinician checks that one of the performers is a clinician.
func (r *reader) byClinician(f *finding, performers []fhir.Reference, refusal bool) bool {
	for i := range performers {
		if clinicians[r.typeOf(&r.caches.performers, &performers[i], f.entry)] {
			return true
		}
	}
	if refusal {
		r.note(f.pathBase(), "performer", fault.PerformerMissing, "a refusal without the clinician who made it; kept", "")
	} else {
		r.warn(f.pathBase(), "performer", fault.PerformerMissing, "no clinician states this; it allows nothing; expected a reference to a Practitioner or PractitionerRole", "")
	}
	return false
}

// clinicians are the types of the resources that stand for a clinician. A team or
// an organization is not one: nobody in it answers for the statement.
var clinicians = map[string]bool{"Practitioner": true, "PractitionerRole": true}

const expectedPhases = "load-none, load-submaximal-at-side, load-progressive-at-side, load-elevated, load-functional or load-sport"

// loadPhase reads a permitted load. Of several phases the most careful counts.
func (r *reader) loadPhase(p pathBase, v fhir.Value, f *finding) bool {
	concept, ok := v.(*fhir.CodeableConcept)
	if !ok || concept == nil {
		return r.wrongKind(p, v, "valueCodeableConcept")
	}
	found := false
	for i := range concept.Coding {
		means := r.interpret(&r.caches.values, &concept.Coding[i])
		switch {
		case !means.isOurs:
			continue
		case !means.term.isLoadPhase:
			r.warn(p, codingPath("valueCodeableConcept", i), fault.CodeUnknown, "no phase of load; expected "+expectedPhases, means.code.code)
			return false
		case found && means.term.loadPhase != f.phase:
			r.warn(p, "valueCodeableConcept", fault.Duplicate, "several phases of load; the most careful counts; expected one", "")
		}
		if !found || means.term.loadPhase < f.phase {
			found, f.phase = true, means.term.loadPhase
		}
	}
	if !found {
		r.warn(p, "valueCodeableConcept", fault.CodeUnknown, "no coding of "+fhir.SystemShoulder+"; expected "+expectedPhases, "")
	}
	return found
}
