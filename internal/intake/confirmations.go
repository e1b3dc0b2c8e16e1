package intake

import (
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// awaitTargets keeps a confirmation until every measurement is read.
func (r *reader) awaitTargets(f *finding, o *fhir.Observation) {
	if len(o.Focus)+len(o.DerivedFrom) == 0 {
		r.warn(f.place(), "focus", fault.RequiredMissing, "confirms nothing; expected references to the confirmed Observations in focus or derivedFrom", "")
		return
	}
	r.confirmations = append(r.confirmations, f)
}

// confirm finds the measurements that the confirmations are about, and accepts
// the confirmations that have one. It reports whether there is any.
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
	r.settle()
	return found
}

// strengths are the accepted measurements of strength, by what may point at
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
		if key := f.entry.thing().key; key != "" {
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
		target := r.target(f, &references[i], known)
		switch {
		case target == nil:
			r.warn(f.place(), indexed(element, i), fault.ReferenceUnresolved, "points at no measurement of strength that is read from this Bundle; expected a reference to its Observation", "")
		case f.yes && target.when.isOfLaterDay(f.when):
			r.warn(f.place(), indexed(element, i), fault.ReferenceUnresolved, "points at a measurement of a later day, which cannot have been confirmed then; expected a confirmation of the same day or later", "")
		default:
			targets = append(targets, target)
		}
	}
	return targets
}

// target is the measurement that a reference points at, nil if there is none. A
// contained Observation is none of the Bundle's. To confirm one version says
// nothing about another.
func (r *reader) target(f *finding, ref *fhir.Reference, known strengths) *finding {
	switch {
	case ref.Reference != "":
		target := known.byKey[r.resolve(&r.known.focuses, ref.Reference, f.entry).key]
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
	return differ(named, f.entry.meta().VersionID)
}

// isOfLaterDay reports whether m is later than other, and not of the same day.
func (m moment) isOfLaterDay(other moment) bool {
	return m.after(other) && m.day() > other.day()
}

// afterAll is later than any date of FHIR.
var afterAll = time.Date(10_000, time.January, 1, 0, 0, 0, 0, time.UTC)

// settle tells which measurements are confirmed. Of several statements about one
// the latest counts, and of the same time the one that withdraws. Of a day
// without a time, a withdrawal counts from its start to its end.
func (r *reader) settle() {
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
}
