package intake

import (
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// holdUnsettled keeps in mind an Observation that may not be used, because it is not final or
// made under rules that are not understood. It decides nothing, but what it says may be true:
// a measurement counts as missing if it may be the latest, and a statement permits no more
// than it would if it stood. The issues from an index on are about it.
//
// Nothing is held by what was withdrawn, by what only announces a measurement, without a
// value, nor by what is about somebody else or another part of the body.
//
// Source: FHIR R4 4.0.1, value set observation-status: registered, preliminary and unknown
// may be followed by a result; the choice is ours.
func (r *reader) holdUnsettled(f *finding, o *fhir.Observation, fromCode laterality, from int) {
	if statusOrder[o.Status] == withdrawnRank || !r.maybeOfPatient(f.entry) || !r.hasValue(f, o) {
		return
	}
	if rules[f.kind].anyBody && r.isElsewhere(f.entry, o.BodySite) || r.isOfAnother(f, o.Focus) {
		return
	}
	if rules[f.kind].byClinician {
		r.holdStatement(f, o, fromCode, from)
		return
	}
	r.details(f, o)
	r.loseMeasurement(f, o, from)
}

// hasValue reports whether an Observation says what was measured, or that a test of strength
// was tried and not possible.
func (r *reader) hasValue(f *finding, o *fhir.Observation) bool {
	isTest := f.kind == strength || f.kind == grade
	return o.Value != nil || isTest && wasTried(o.DataAbsentReason) ||
		slices.ContainsFunc(r.trials(f, o), func(i int) bool { return o.Component[i].Value != nil })
}

// holdStatement keeps a statement that may not be used if it may forbid: as the most that it
// permits, from its day on, and without one from always on. One that only allows is dropped,
// and so is one that was made after the evaluation.
func (r *reader) holdStatement(f *finding, o *fhir.Observation, fromCode laterality, from int) {
	isRead := o.Value != nil && r.values(f, o, nil)
	text, _ := effective(o.Effective)
	when, dated := r.dateTime(text)
	switch {
	case isRead && f.kind != permit && f.yes, dated && r.isLater(when):
		return
	case f.kind == confirmation: // withdrawn perhaps: the measurement may be in doubt
		r.loseMeasurement(f, o, from)
		return
	case dated && when.plausible() && !when.after(r.latest):
		f.when, f.written = when, text
	}
	if isRead && f.kind != permit {
		f.phase = shoulder.LoadNone // a refusal
	}
	r.side(f, o, fromCode)
	r.holdUnread(f, isRead, from)
}

// holdLostStatements holds the statements among the entries that were dropped before it was
// known what they are, as far as they can be read.
func (r *reader) holdLostStatements() {
	for _, e := range r.lostEntries {
		o, ok := e.resource.(*fhir.Observation)
		if !ok || statusOrder[o.Status] == withdrawnRank || !r.maybeOfPatient(e) {
			continue
		}
		m := r.measureOf(&o.Code)
		if m.kind == nothing || !rules[m.kind].byClinician {
			continue
		}
		f := r.findingSlab.One()
		f.measure, f.entry = m, e
		r.holdStatement(f, o, 0, len(r.issues))
	}
}
