package intake

import (
	"fmt"
	"slices"
	"strings"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// finding is what was read from one accepted Observation, Procedure or Condition.
type finding struct {
	measure
	entry    *entry
	identity string
	source   shoulder.SourceID
	when     dateTime
	written  string // the date as received
	received string // the value as received

	encounter string // key of the Encounter, "" for none
	examiner  string // key of the performers, "" if not known
	session   int    // its index, for measurements that are part of a visit

	side        shoulder.Side
	sides       laterality // repair: the operated sides
	position    shoulder.ArmPosition
	support     shoulder.Support
	contraction shoulder.Contraction
	instrument  shoulder.Instrument
	context     shoulder.PainContext
	painful     bool

	trialValues []trialValue         // strength
	refused     []trialValue         // strength: that no shoulder exerts
	value       exact.Number         // motion, pain, lever, tear, body mass and height
	grade       shoulder.MuscleGrade // grade
	yes         bool                 // steadiness, clearance, examination, confirmation
	hand        shoulder.Handedness  // handedness
	phase       shoulder.LoadPhase   // permit
	unread      bool                 // permit: its phase or its date could not be read
	repaired    shoulder.RepairKind  // repair

	confirms  []*finding // confirmation: the measurements that it is about
	confirmed bool       // strength: a clinician confirmed it
	denied    bool       // strength: a clinician said that it is not right
}

func (f *finding) pathBase() pathBase { return f.entry.pathBase() }

// isUsable reports whether a status is that of a result that stands.
//
// Source: FHIR R4 4.0.1, value set observation-status.
func isUsable(status string) bool {
	return status == "final" || status == "amended" || status == "corrected"
}

// observation reads an Observation, or drops it with an issue for every problem.
func (r *reader) observation(e *entry, o *fhir.Observation) {
	m, local, ok := r.measured(e, &o.Code)
	if !ok {
		return
	}
	f := r.findingSlab.One()
	f.measure, f.entry, f.position, f.support = m, e, local.position, local.support
	if before := len(r.issues); !r.mayBeUsed(e, o) {
		r.holdUnsettled(f, o, local.laterality, before)
		return
	}
	if !r.belongs(e) {
		return
	}
	if rules[m.kind].anyBody && r.isElsewhere(e, o.BodySite) || r.isOfAnother(f, o.Focus) {
		return
	}
	trials := r.trials(f, o)
	if o.Value == nil && len(trials) == 0 {
		r.reportNotDone(f, o, local.laterality)
		return
	}
	if rules[m.kind].byClinician {
		r.statement(f, o, local.laterality)
		return
	}
	r.measurement(f, o, local.laterality, trials)
}

// measurement reads a measurement, or a fact of the record such as the dominant hand.
func (r *reader) measurement(f *finding, o *fhir.Observation, fromCode laterality, trials []int) {
	before := len(r.issues)
	ok := r.date(f, o.Effective)
	ok = r.side(f, o, fromCode) && ok
	ok = r.details(f, o) && ok
	ok = r.method(f, o.Method) && ok
	ok = r.positionGiven(f) && ok
	f.encounter = r.encounterKey(o.Encounter, f.entry)
	if isRead := r.values(f, o, trials); !ok || !isRead {
		if ok && len(f.refused) > 0 {
			r.refused = append(r.refused, f)
		}
		r.loseMeasurement(f, o, before)
		return
	}
	f.examiner = r.examinerKey(o.Performer, f.entry)
	if len(trials) > len(f.trialValues)+len(f.refused) {
		r.loseMeasurement(f, o, before) // a trial that cannot be read may have been the weak one
	}
	r.accept(f)
}

// accept counts the measurements of a finding and adds it to the episode.
func (r *reader) accept(f *finding) {
	r.used += max(1, len(f.trialValues))
	r.addFinding(f)
}

// addFinding adds a finding to those of the episode and gives it an identity.
func (r *reader) addFinding(f *finding) {
	r.identify(f)
	r.findings = append(r.findings, f)
}

func (r *reader) identify(f *finding) {
	f.identity = r.texts.Of(f.appendIdentity(r.scratch[:0]))
}

// mayBeUsed checks what forbids the use of an Observation, whoever it is about and whatever
// its code and value.
func (r *reader) mayBeUsed(e *entry, o *fhir.Observation) bool {
	if isUsable(o.Status) {
		return r.checkModifiers(e)
	}
	element := "status"
	if o.Status == "" {
		element = ""
	}
	r.warn(e.pathBase(), element, fault.StatusRetracted, "this status is not that of a result that stands; expected final, amended or corrected", o.Status)
	return false
}

// checkModifiers checks that no modifier extension or implicit rule changes the meaning of
// a resource in an unknown way.
func (r *reader) checkModifiers(e *entry) bool {
	switch {
	case len(e.common.ModifierExtension) > 0:
		r.warn(e.pathBase(), "modifierExtension[0]", fault.ModifierUnknown, "a modifier extension that is not understood; expected none", e.common.ModifierExtension[0].URL)
		return false
	case e.common.ImplicitRules != "":
		r.warn(e.pathBase(), "implicitRules", fault.ModifierUnknown, "made under rules that are not understood; expected none", e.common.ImplicitRules)
		return false
	}
	return true
}

// isElsewhere reports whether a measurement of any part of the body, such as
// pain, names a part that is not the shoulder.
func (r *reader) isElsewhere(e *entry, concept *fhir.CodeableConcept) bool {
	site := r.bodySite(concept)
	if !site.elsewhere || site.shoulder {
		return false
	}
	r.note(e.pathBase(), "bodySite", fault.NotRead, "about another part of the body than the shoulder", "")
	return true
}

// positionGiven checks that a measurement that needs an arm position has one, and that its
// motion is tested in that position.
func (r *reader) positionGiven(f *finding) bool {
	switch {
	case !rules[f.kind].needsPosition:
		return true
	case f.position == shoulder.PositionUnstated:
		r.warn(f.pathBase(), "", fault.PositionMissing, "no arm position; expected a component arm-position with "+listed(f.positions()), "")
		return false
	case !slices.Contains(f.positions(), f.position):
		r.warn(f.pathBase(), "", fault.CodeUnknown, f.motion.Name()+" is not tested in this arm position; expected "+listed(f.positions()), f.position.String())
		return false
	}
	return true
}

// positions are the arm positions that the measurement may be of.
func (f *finding) positions() []shoulder.ArmPosition {
	if f.motion != shoulder.MotionUnknown {
		return f.motion.TestedIn()
	}
	return shoulder.Positions[:]
}

// listed writes values of an enumeration as text: "make or break".
func listed[T fmt.Stringer](values []T) string {
	names := make([]string, len(values))
	for i, v := range values {
		names[i] = v.String()
	}
	if last := len(names) - 1; last > 0 {
		return strings.Join(names[:last], ", ") + " or " + names[last]
	}
	return strings.Join(names, "")
}

// trials are the indices of the trial components, if the kind has trials. The slice is
// reused for the next Observation.
func (r *reader) trials(f *finding, o *fhir.Observation) []int {
	r.trialIndices = r.trialIndices[:0]
	if f.takes()&takesTrials == 0 {
		return nil
	}
	for i := range o.Component {
		if r.isTrial(&o.Component[i]) {
			r.trialIndices = append(r.trialIndices, i)
		}
	}
	return r.trialIndices
}

func (r *reader) isTrial(c *fhir.Component) bool {
	for i := range c.Code.Coding {
		if r.interpret(&r.caches.components, &c.Code.Coding[i]).term.component == takesTrials {
			return true
		}
	}
	return false
}

// values reads the value of the Observation, or its trials: where there are
// trials, the value beside them is only their summary. A bad trial drops only
// itself.
func (r *reader) values(f *finding, o *fhir.Observation, trials []int) (ok bool) {
	if f.kind == strength {
		f.trialValues = r.trialValueSlab.Take(max(1, len(trials)))[:0]
	}
	r.received = r.received[:0]
	if len(trials) == 0 {
		ok = r.value(f.pathBase(), o.Value, o.DataAbsentReason, f)
	}
	for _, i := range trials {
		c := &o.Component[i]
		r.value(pathBase{f.entry, i}, c.Value, c.DataAbsentReason, f)
	}
	f.received = r.texts.Of(r.received)
	return ok || len(f.trialValues) > 0
}

// value reads one value.
func (r *reader) value(p pathBase, v fhir.Value, absent *fhir.CodeableConcept, f *finding) bool {
	switch {
	case v == nil:
		r.note(p, "", fault.ValueMissing, "no value; taken as not done", "")
		return false
	case absent != nil:
		r.warn(p, "dataAbsentReason", fault.ValueMissing, "a value beside the reason for its absence; expected one of them", "")
		return false
	}
	if !rules[f.kind].read(r, p, v, f) {
		return false
	}
	r.receive(v)
	return true
}

// receive appends a value, as it was received, to those of the Observation.
func (r *reader) receive(v fhir.Value) {
	if len(r.received) > 0 {
		r.received = append(r.received, "; "...)
	}
	r.received = appendReceived(r.received, v)
}

// encounterKey is equal for all references to one Encounter.
func (r *reader) encounterKey(ref *fhir.Reference, from *entry) string {
	switch {
	case ref == nil:
		return ""
	case isContained(ref.Reference):
		c := fhir.CommonOf(from.containedResource(ref.Reference))
		if c == nil {
			return ""
		}
		return identifierText(firstIdentifier(c.Identifier))
	case ref.Reference != "":
		return r.resolve(&r.caches.encounters, ref.Reference, from).tail
	case ref.Identifier != nil:
		return identifierText(*ref.Identifier)
	}
	return ""
}
