package intake

import (
	"cmp"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// cuffRepairs are the operations after which the tendon has to heal. An acromioplasty is
// none of them.
var cuffRepairs = map[code]shoulder.RepairKind{
	snomed(fhir.SNOMEDCuffRepair):               shoulder.RepairOfCuff,
	snomed(fhir.SNOMEDCuffRepairBySuture):       shoulder.RepairBySuture,
	snomed(fhir.SNOMEDAcuteSupraspinatusRepair): shoulder.RepairOfAcuteSupraspinatusTear,
	snomed(fhir.SNOMEDLateSupraspinatusRepair):  shoulder.RepairOfOldSupraspinatusTear,
	snomed(fhir.SNOMEDCuffAvulsionRepair):       shoulder.RepairOfCuffAvulsion,
}

// repairKind is the kind of cuff repair that a code means, unstated for another
// operation. Of several codings the most specific counts, which is the last in
// the list of kinds.
func (r *reader) repairKind(concept *fhir.CodeableConcept) (kind shoulder.RepairKind) {
	if concept == nil {
		return kind
	}
	for i := range concept.Coding {
		kind = max(kind, cuffRepairs[r.interpret(&r.caches.codes, &concept.Coding[i]).code])
	}
	return kind
}

// procedure reads a cuff repair; other Procedures are outside the scope.
func (r *reader) procedure(e *entry, p *fhir.Procedure) {
	kind := r.repairKind(p.Code)
	if kind == shoulder.RepairUnstated {
		r.unknownProcedure(e, p)
		return
	}
	switch p.Status {
	case "completed":
	case "in-progress", "on-hold", "stopped", "unknown":
		r.warn(e.pathBase(), "status", fault.StatusRetracted, "a cuff repair that may have been done; kept, and the shoulder is spared for it; expected completed", p.Status)
	default:
		r.warn(e.pathBase(), "status", fault.StatusRetracted, "a cuff repair that is not completed is not used; expected completed", p.Status)
		return
	}
	if !r.belongs(e) {
		return
	}
	if !r.checkModifiers(e) {
		kind = shoulder.RepairPossible // whatever they mean, it may have been done
	}
	r.spareFor(e, p, kind)
}

// spareFor keeps an operation for which the shoulder has to be spared.
func (r *reader) spareFor(e *entry, p *fhir.Procedure, kind shoulder.RepairKind) {
	var operated laterality
	for i := range p.BodySite {
		operated |= r.bodySite(&p.BodySite[i]).laterality
	}
	when, text := r.repaired(e, p.Performed)
	r.acceptRepair(&finding{entry: e, repaired: kind, sides: operated.sides(), when: when, written: text})
}

// repaired reads the day of an operation, also as written. A repair whose date cannot be
// read is kept without one, because it then still holds back the load.
func (r *reader) repaired(e *entry, v fhir.Value) (when dateTime, written string) {
	text, element := performed(v)
	when, ok := parseDateTime(text)
	switch {
	case ok && when.after(r.latest):
		r.warn(e.pathBase(), element, fault.DateFuture, "a repair dated after the assessment; kept without its date", text)
		return dateTime{}, ""
	case ok && !when.plausible():
		r.warn(e.pathBase(), element, fault.DateMissing, "not a date on which anybody can have been operated on; expected one of the year 1900 or later; kept without its date", text)
		return dateTime{}, ""
	}
	return when, text
}

// performed returns the day of an operation as written, of a period its end:
// healing begins then.
func performed(v fhir.Value) (text, element string) {
	switch v := v.(type) {
	case fhir.DateTime:
		return string(v), "performedDateTime"
	case *fhir.Period:
		if v != nil {
			return cmp.Or(v.End, v.Start), "performedPeriod"
		}
	}
	return "", ""
}

func (r *reader) acceptRepair(f *finding) {
	f.kind, f.received = repair, f.written
	r.addFinding(f)
}

// repairs lists the cuff repairs, oldest first. One without a side counts for
// the involved side. One that is known only as history has no date, and is left
// out where a Procedure of the same side tells more; so is an operation without a date that
// may be the same repair.
func (r *reader) repairs(involved shoulder.Side) (repairs []shoulder.Repair) {
	var dated laterality
	for _, f := range r.findings {
		if f.kind == repair && f.repaired != shoulder.RepairPossible && !f.when.time.IsZero() {
			dated |= f.sidesOr(involved)
		}
	}
	for _, f := range r.findings {
		if f.kind != repair {
			continue
		}
		sides := f.sidesOr(involved)
		if f.repaired == shoulder.RepairInHistory || f.repaired == shoulder.RepairPossible && f.when.time.IsZero() {
			sides &^= dated
		}
		for _, side := range [...]shoulder.Side{shoulder.Right, shoulder.Left} {
			if sides&lateralityOfSide(side) != 0 {
				repairs = append(repairs, shoulder.Repair{Source: f.source, Kind: f.repaired, Side: side, Date: f.when.time})
			}
		}
		r.reportRepair(f, sides)
	}
	return repairs
}

// knownSides are the operated sides, of what is known to be a repair.
func (f *finding) knownSides() laterality {
	if f.repaired == shoulder.RepairPossible {
		return 0
	}
	return f.sides
}

func (f *finding) sidesOr(involved shoulder.Side) laterality {
	if f.sides != 0 {
		return f.sides
	}
	return lateralityOfSide(involved)
}

func (r *reader) reportRepair(f *finding, counted laterality) {
	if f.repaired == shoulder.RepairPossible {
		return // reported as what it is
	}
	if f.sides == 0 && counted != 0 {
		r.note(f.pathBase(), "", fault.SideMissing, "a cuff repair without a side; counted for the involved side", "")
	}
	if f.when.time.IsZero() && counted != 0 {
		r.warn(f.pathBase(), "", fault.ClearanceMissing, "a cuff repair without a usable date; expected the day of the operation", "")
	}
}
