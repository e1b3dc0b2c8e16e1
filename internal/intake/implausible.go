package intake

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// maxForcePerKilogram is the most that a shoulder exerts for each kilogram of
// the body, in N/kg.
//
// Source: ours; wide enough for any patient.
var maxForcePerKilogram = exact.Int(5)

// dropImplausible drops the forces that are too high for the patient's body
// mass, and reports whether there are any. The latest mass of the same or an
// earlier session counts. A later one does not: what was read from a visit must
// not change when the patient is weighed at the next.
func (r *reader) dropImplausible(sessions int) (dropped bool) {
	masses := r.massesInForce(sessions)
	if masses == nil {
		return false
	}
	kept := r.findings[:0]
	for _, f := range r.findings {
		if f.kind == strength && masses[f.session].Sign() > 0 && r.dropOver(f, masses[f.session]) {
			dropped = true
			if len(f.trialValues) == 0 {
				r.refused = append(r.refused, f)
				continue
			}
		}
		kept = append(kept, f)
	}
	r.findings = kept
	return dropped
}

// massesInForce is the body mass of each session in kg, 0 while none is known.
// It is nil if there is none at all.
func (r *reader) massesInForce(sessions int) (masses []exact.Number) {
	for _, f := range r.findings {
		if f.kind != bodyMass {
			continue
		}
		if masses == nil {
			masses = make([]exact.Number, sessions)
		}
		masses[f.session] = f.value
	}
	for i := 1; i < len(masses); i++ {
		if masses[i].Sign() == 0 {
			masses[i] = masses[i-1]
		}
	}
	return masses
}

// dropOver drops the trials of a finding that are too high for a body mass, and reports
// whether there are any.
func (r *reader) dropOver(f *finding, mass exact.Number) bool {
	limit := mass.Mul(maxForcePerKilogram)
	before, issues := len(f.trialValues), len(r.issues)
	kept := f.trialValues[:0]
	for _, x := range f.trialValues {
		if x.dimension == shoulder.Force && x.value.Cmp(limit) > 0 {
			r.warn(pathBase{f.entry, x.component}, "valueQuantity.value", fault.ImplausibleValue,
				"more than 5 N per kg of the body mass of this or an earlier session; not used; expected less, or the right body mass",
				x.value.Text(2)+" N at "+mass.Text(2)+" kg")
			f.refused = append(f.refused, x)
			continue
		}
		kept = append(kept, x)
	}
	f.trialValues = kept
	for i := issues; i < len(r.issues); i++ {
		r.issues[i].Subject = f.subject()
	}
	if len(kept) == before {
		return false
	}
	r.used -= before - len(kept)
	r.receiveAgain(f)
	return true
}

// receiveAgain rewrites the received values and the identity of a finding after some of
// its trials were dropped.
func (r *reader) receiveAgain(f *finding) {
	o, _ := f.entry.resource.(*fhir.Observation)
	r.received = r.received[:0]
	for _, x := range f.trialValues {
		if x.component == noComponent {
			r.receive(o.Value)
		} else {
			r.receive(o.Component[x.component].Value)
		}
	}
	f.received = r.texts.Of(r.received)
	r.identify(f)
}

// addRefused adds the readings that no shoulder exerts, and that stood alone in their
// Observations, to the sessions in which the same test has others. Alone they are no test.
func (r *reader) addRefused(sessions []shoulder.Session) {
	for _, f := range r.refused {
		i := slices.IndexFunc(r.findings, f.isOfSameTest)
		if i < 0 {
			continue
		}
		s := &sessions[r.findings[i].session]
		for _, value := range f.refused {
			t := f.trial(value)
			t.Source = noSource
			s.Refused = append(s.Refused, t)
		}
	}
}

// noSource stands for an input that nothing else was read from.
const noSource shoulder.SourceID = -1

// isOfSameTest reports whether two findings are of one test at one visit.
func (f *finding) isOfSameTest(other *finding) bool {
	sameVisit := f.when.day() == other.when.day() || f.encounter != "" && f.encounter == other.encounter
	return other.kind == strength && sameVisit && f.motion == other.motion && f.position == other.position && f.side == other.side
}
