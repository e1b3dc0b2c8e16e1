package intake

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

var componentCodes = map[string]components{
	fhir.CodeArmPosition:     takesPosition,
	fhir.CodeArmSupport:      takesSupport,
	fhir.CodeContractionType: takesContraction,
	fhir.CodeTrial:           takesTrials,
	fhir.CodePainContext:     takesPainContext,
	fhir.CodePainDuringTest:  takesPainDuringTest,
}

// indexed is the path of one item of a list.
func indexed(element string, i int) string { return element + "[" + strconv.Itoa(i) + "]" }

// codingPath is the path of one coding of a concept.
func codingPath(concept string, i int) string { return indexed(concept+".coding", i) }

// details reads the components that say how a measurement was made, all but
// the trials. It goes on after a problem, to find every one.
func (r *reader) details(f *finding, o *fhir.Observation) (ok bool) {
	ok = true
	takes := f.takes()
	for i := range o.Component {
		c := &o.Component[i]
		p := place{f.entry, i}
		if len(c.ModifierExtension) > 0 {
			r.warn(p, "modifierExtension[0]", fault.ModifierUnknown, "a modifier extension that is not understood; expected none", "")
			ok = false
			continue
		}
		which, known := r.componentCode(p, c)
		switch {
		case !known:
			ok = false
		case which == 0:
			// Noted by componentCode.
		case which&takes == 0:
			r.note(p, "code", fault.NotRead, "this component has no meaning for this measurement; not read", "")
		case which == takesTrials:
		case c.Value == nil:
			r.note(p, "", fault.ValueMissing, "the component has no value; taken as not stated", "")
		default:
			ok = r.detail(p, which, c.Value, f) && ok
		}
	}
	return ok
}

// componentCode tells which component it is: none for a foreign one, which is
// noted. It reports false for a code of ours that does not exist, because then
// the meaning of the whole is not known.
func (r *reader) componentCode(p place, c *fhir.Component) (components, bool) {
	means, i, ok := r.ourCoding(&r.known.components, &c.Code)
	switch {
	case !ok:
		r.note(p, "code", fault.NotRead, "a component outside the scope of the assessment", "")
		return 0, true
	case means.term.component == 0:
		r.warn(p, codingPath("code", i), fault.CodeUnknown, "no such component in our code system; expected arm-position, arm-support, contraction-type, trial, pain-context or pain-during-test", means.code.code)
		return 0, false
	}
	return means.term.component, true
}

// detail reads the value of one component.
func (r *reader) detail(p place, which components, v fhir.Value, f *finding) bool {
	if which == takesPainDuringTest {
		painful, ok := v.(fhir.Boolean)
		if !ok {
			r.warn(p, valueElement(v), fault.ValueKind, "expected valueBoolean", "")
			return false
		}
		f.painful = f.painful || bool(painful)
		return true
	}
	concept, ok := v.(*fhir.CodeableConcept)
	if !ok || concept == nil {
		r.warn(p, valueElement(v), fault.ValueKind, "expected valueCodeableConcept", "")
		return false
	}
	a := answer{place: p}
	a.means, a.coding, a.isOurs = r.ourCoding(&r.known.values, concept)
	switch which {
	case takesPosition:
		return assign(r, a, a.means.term.position, &f.position, listed(f.positions()))
	case takesSupport:
		return assign(r, a, a.means.term.support, &f.support, "supported or unsupported")
	case takesContraction:
		return assign(r, a, a.means.term.contraction, &f.contraction, "make or break")
	default:
		return assign(r, a, a.means.term.context, &f.context, "at-rest, during-resisted-test or worst-24h")
	}
}

// answer is the coded value of a component.
type answer struct {
	place  place
	means  understood
	coding int  // the index of the coding of our code system
	isOurs bool // there is one
}

// assign puts a value that was read into a field that is still unstated, or
// that says the same already.
func assign[T comparable](r *reader, a answer, value T, field *T, expected string) bool {
	var unstated T
	switch {
	case !a.isOurs:
		r.warn(a.place, "valueCodeableConcept", fault.CodeUnknown, "no coding of "+fhir.SystemShoulder+"; expected "+expected, "")
		return false
	case value == unstated:
		r.warn(a.place, codingPath("valueCodeableConcept", a.coding), fault.CodeUnknown, "no such value in our code system; expected "+expected, a.means.code.code)
		return false
	case differ(*field, value):
		r.warn(a.place, "valueCodeableConcept", fault.Duplicate, "stated twice with different values; expected one", a.means.code.code)
		return false
	}
	*field = value
	return true
}

// method reads what a strength was measured with. A method in another code
// system leaves the instrument unstated.
func (r *reader) method(f *finding, method *fhir.CodeableConcept) bool {
	if f.kind != strength || method == nil {
		return true
	}
	means, i, ok := r.ourCoding(&r.known.methods, method)
	switch {
	case !ok:
		r.note(f.place(), "method", fault.NotRead, "a method outside our code system; the instrument is taken as not stated", "")
	case means.term.instrument == shoulder.InstrumentUnstated:
		r.warn(f.place(), codingPath("method", i), fault.CodeUnknown, "no such method in our code system; expected handheld-dynamometry, belt-stabilised-dynamometry or isokinetic-dynamometry", means.code.code)
		return false
	}
	f.instrument = means.term.instrument
	return true
}
