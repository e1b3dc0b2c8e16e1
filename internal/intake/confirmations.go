package intake

import (
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// deferConfirmation keeps a confirmation until all measurements are read.
func (r *reader) deferConfirmation(f *finding, o *fhir.Observation) {
	if len(o.Focus)+len(o.DerivedFrom) == 0 {
		r.warn(f.pathBase(), "focus", fault.RequiredMissing, "confirms nothing; expected references to the confirmed Observations in focus or derivedFrom", "")
		return
	}
	r.confirmations = append(r.confirmations, f)
}

// confirm resolves the references of the confirmations and accepts those that refer to a
// measurement. It reports whether there is any.
func (r *reader) confirm() (found bool) {
	if len(r.confirmations) == 0 {
		return false
	}
	known := r.strengths()
	for _, f := range r.confirmations {
		o, _ := f.entry.resource.(*fhir.Observation)
		f.confirms = r.targets(f, "focus", o.Focus, known)
		f.confirms = append(f.confirms, r.targets(f, "derivedFrom", o.DerivedFrom, known)...)
		if len(f.confirms) > 0 {
			r.accept(f)
			found = true
		}
	}
	r.resolveConfirmations()
	return found
}

// strengths indexes the accepted measurements of strength by the references that may name
// them.
type strengths struct {
	byKey        map[string]*finding
	byIdentifier map[fhir.Identifier]*finding
}

func (r *reader) strengths() strengths {
	s := strengths{map[string]*finding{}, map[fhir.Identifier]*finding{}}
	for _, f := range r.findings {
		if f.kind != strength {
			continue
		}
		if key := f.entry.target().key; key != "" {
			s.byKey[key] = f
		}
		for _, id := range f.entry.common.Identifier {
			if id.System != "" && id.Value != "" {
				s.byIdentifier[id] = f
			}
		}
	}
	return s
}

// targets follows the references of one element of a confirmation.
func (r *reader) targets(f *finding, element string, references []fhir.Reference, known strengths) (targets []*finding) {
	for i := range references {
		target := r.confirmedFinding(f, &references[i], known)
		switch {
		case target == nil:
			r.warn(f.pathBase(), indexed(element, i), fault.ReferenceUnresolved, "points at no measurement of strength that is read from this Bundle; expected a reference to its Observation", "")
		case f.yes && target.when.isOfLaterDay(f.when):
			r.warn(f.pathBase(), indexed(element, i), fault.ReferenceUnresolved, "points at a measurement of a later day, which cannot have been confirmed then; expected a confirmation of the same day or later", "")
		default:
			targets = append(targets, target)
		}
	}
	return targets
}

// confirmedFinding is the measurement that a reference points at, nil if there is none. It
// is nil too for a contained Observation, which is no entry of the Bundle, and for a
// reference to another version than the one that was read.
func (r *reader) confirmedFinding(f *finding, ref *fhir.Reference, known strengths) *finding {
	switch {
	case ref.Reference != "":
		target := known.byKey[r.resolve(&r.caches.focuses, ref.Reference, f.entry).key]
		if target != nil && f.yes && target.isOtherVersion(ref.Reference) {
			return nil
		}
		return target
	case ref.Identifier != nil:
		return known.byIdentifier[*ref.Identifier]
	}
	return nil
}

// isOtherVersion reports whether a reference names another version than that of
// the finding.
func (f *finding) isOtherVersion(reference string) bool {
	_, named, _ := strings.Cut(reference, "/_history/")
	return conflict(named, f.entry.meta().VersionID)
}

// isOfLaterDay reports whether m is later than other, and not of the same day.
func (m dateTime) isOfLaterDay(other dateTime) bool {
	return m.after(other) && m.day() > other.day()
}

// afterAll is later than any date that FHIR can write.
var afterAll = time.Date(10_000, time.January, 1, 0, 0, 0, 0, time.UTC)

// resolveConfirmations decides which measurements are confirmed. If there are several
// statements about one measurement the latest counts, and of those at the same time the
// one that withdraws. A withdrawal that is dated to a day without a time counts for all of
// that day.
func (r *reader) resolveConfirmations() {
	withdrawn := map[*finding]time.Time{}
	for _, f := range r.confirmations {
		for _, target := range f.confirms {
			switch {
			case f.yes:
			case f.when.time.IsZero():
				withdrawn[target] = afterAll
			default:
				withdrawn[target] = later(withdrawn[target], f.when.end())
			}
		}
	}
	for _, f := range r.confirmations {
		for _, target := range f.confirms {
			if f.yes && f.when.time.After(withdrawn[target]) {
				target.confirmed = true
			}
		}
	}
	for target := range withdrawn {
		target.denied = !target.confirmed
	}
}
