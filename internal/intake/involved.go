package intake

import (
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// condition is an active Condition of a shoulder.
type condition struct {
	entry *entry
	sides laterality
	onset dateTime // zero if it is not dated
}

// shoulderConditions are the codes that say by themselves that the shoulder is
// concerned.
var shoulderConditions = snomedSet(
	fhir.SNOMEDRotatorCuffDisorder, fhir.SNOMEDFullThicknessTear, fhir.SNOMEDNontraumaticTear,
	fhir.SNOMEDSupraspinatusTear, fhir.SNOMEDCuffTendonInjury, fhir.SNOMEDCuffStrain,
	fhir.SNOMEDCuffTendonInflammation, fhir.SNOMEDSupraspinatusTendinitis, fhir.SNOMEDRotatorCuffSyndrome,
	fhir.SNOMEDRotatorCuffImpingement, fhir.SNOMEDShoulderImpingement, fhir.SNOMEDSupraspinatusSyndrome,
	fhir.SNOMEDCalcificTendinitis, fhir.SNOMEDAdhesiveCapsulitis, fhir.SNOMEDCuffTearArthropathy,
	fhir.SNOMEDSubacromialBursitis, fhir.SNOMEDRecurrentShoulderDislocation, fhir.SNOMEDShoulderDislocation,
	fhir.SNOMEDShoulderUnstable, fhir.SNOMEDShoulderPain, fhir.SNOMEDShoulderJointPain, fhir.SNOMEDShoulderStiff,
)

var (
	activeStatuses = map[code]bool{
		{"active", fhir.SystemConditionClinical}:     true,
		{"recurrence", fhir.SystemConditionClinical}: true,
		{"relapse", fhir.SystemConditionClinical}:    true,
	}
	withdrawnStatuses = map[code]bool{
		{"refuted", fhir.SystemConditionVerification}:          true,
		{"entered-in-error", fhir.SystemConditionVerification}: true,
	}
	historyOfRepair = snomedSet(fhir.SNOMEDHistoryOfCuffRepair)
)

func snomedSet(codes ...string) map[code]bool {
	set := make(map[code]bool, len(codes))
	for _, c := range codes {
		set[snomed(c)] = true
	}
	return set
}

// holds reports whether one of the codings is in the set.
func (r *reader) holds(set map[code]bool, concept *fhir.CodeableConcept) bool {
	if concept == nil {
		return false
	}
	for i := range concept.Coding {
		if set[r.interpret(&r.caches.codes, &concept.Coding[i]).code] {
			return true
		}
	}
	return false
}

// condition reads a Condition of a shoulder. One of another part of the body,
// or that is over, is outside the scope.
func (r *reader) condition(e *entry, c *fhir.Condition) {
	isRepair := r.holds(historyOfRepair, c.Code)
	var affected laterality
	isShoulder := isRepair || r.holds(shoulderConditions, c.Code)
	for i := range c.BodySite {
		site := r.bodySite(&c.BodySite[i])
		affected |= site.laterality
		isShoulder = isShoulder || site.shoulder
	}
	if !isShoulder || !isRepair && !r.isActive(c.ClinicalStatus) {
		r.skipType(c.Type())
		return
	}
	if r.holds(withdrawnStatuses, c.VerificationStatus) {
		r.warn(e.pathBase(), "verificationStatus", fault.StatusRetracted, "this Condition was withdrawn; not used", "")
		return
	}
	if !r.checkModifiers(e) || !r.belongs(e) {
		return
	}
	if isRepair {
		r.acceptRepair(&finding{entry: e, repaired: shoulder.RepairInHistory, sides: affected.sides()})
		return
	}
	if affected == 0 {
		r.note(e.pathBase(), "", fault.SideMissing, "a Condition of a shoulder without a side; it tells nothing about the involved side", "")
		return
	}
	r.conditions = append(r.conditions, condition{e, affected.sides(), r.onset(c.Onset)})
}

// onset is the day on which a Condition began. It is zero where that is not stated as a date
// with a day at least, and where the caller looks back from before it.
func (r *reader) onset(v fhir.Value) dateTime {
	text, _ := effective(v)
	when, dated := r.dateTime(text)
	if !dated || !when.plausible() || r.isLater(when) {
		return dateTime{}
	}
	return when
}

// onsets are the dated beginnings of the active Conditions of a side, oldest first.
func (r *reader) onsets(side shoulder.Side) (all []shoulder.Onset) {
	for _, c := range r.conditions {
		if c.sides&lateralityOfSide(side) != 0 && !c.onset.time.IsZero() {
			all = append(all, shoulder.Onset{Side: side, When: c.onset.time})
		}
	}
	slices.SortFunc(all, func(a, b shoulder.Onset) int { return a.When.Compare(b.When) })
	return all
}

// isActive reports whether a clinical status is one of an ongoing Condition.
// No coded status counts as one: R4 asks for it only of confirmed problems.
func (r *reader) isActive(status *fhir.CodeableConcept) bool {
	if status == nil || len(status.Coding) == 0 {
		return true
	}
	return r.holds(activeStatuses, status)
}

// involvedSide is the side that the caller states; else the side of the active
// Conditions of a shoulder; else the side of a cuff repair. It refuses if none
// of them tells one side.
func (r *reader) involvedSide(stated shoulder.Side) shoulder.Side {
	if stated != shoulder.SideUnknown {
		return stated
	}
	var diseased, operated laterality
	for _, c := range r.conditions {
		diseased |= c.sides
	}
	for _, f := range r.findings {
		operated |= f.knownSides()
	}
	found := diseased
	if found == 0 {
		found = operated
	}
	side, ok := found.single()
	switch {
	case !ok:
		r.refuse(fault.NoInvolvedSide, r.root, "Conditions or cuff repairs of both shoulders; expected the parameter involvedSide: right or left")
	case side == shoulder.SideUnknown:
		r.refuse(fault.NoInvolvedSide, r.root, "nothing tells the involved side; expected the parameter involvedSide, an active Condition of one shoulder, or a completed cuff repair with its side")
	}
	return side
}

// comparisonAffected reports whether a Condition or a cuff repair concerns the other side,
// and adds an issue if so.
func (r *reader) comparisonAffected(involved shoulder.Side) (affected bool) {
	other := lateralityOfSide(involved.Other())
	for _, c := range r.conditions {
		if c.sides&other != 0 {
			r.warn(c.entry.pathBase(), "", fault.ComparisonAffected, "an active Condition of the comparison side; that side is no yardstick", "")
			affected = true
		}
	}
	for _, f := range r.findings {
		if f.knownSides()&other != 0 {
			r.warn(f.pathBase(), "", fault.ComparisonAffected, "a cuff repair of the comparison side; that side is no yardstick", "")
			affected = true
		}
	}
	return affected
}

// addressed lists references to the active Conditions of the involved shoulder.
func (r *reader) addressed(involved shoulder.Side) (references []fhir.Reference) {
	for _, c := range r.conditions {
		if c.sides&lateralityOfSide(involved) != 0 {
			references = append(references, c.entry.reference())
		}
	}
	return sortedReferences(references)
}
