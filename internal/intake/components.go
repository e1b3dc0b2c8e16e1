package intake

import (
	"fmt"
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

// details reads the components that say how a measurement was made, all but the trials. It
// goes on after a problem, so that all problems are reported.
func (r *reader) details(f *finding, o *fhir.Observation) (ok bool) {
	ok = true
	takes := f.takes()
	for i := range o.Component {
		c := &o.Component[i]
		p := pathBase{f.entry, i}
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
			// componentCode has added an issue.
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

// componentCode tells which component it is: none for an unknown code, which gets an
// issue. It reports false for a code of the project's own system that does not exist,
// because then the meaning of the whole Observation is unknown.
func (r *reader) componentCode(p pathBase, c *fhir.Component) (components, bool) {
	means, i, ok := r.ourCoding(&r.caches.components, &c.Code)
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
func (r *reader) detail(p pathBase, which components, v fhir.Value, f *finding) bool {
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
	a := codedValue{base: p}
	a.code, a.coding, a.isOurs = r.ourCoding(&r.caches.values, concept)
	switch which {
	case takesPosition:
		return setOnce(r, a, a.code.term.position, &f.position, f.positions())
	case takesSupport:
		return setOnce(r, a, a.code.term.support, &f.support, []shoulder.Support{shoulder.Supported, shoulder.Unsupported})
	case takesContraction:
		return setOnce(r, a, a.code.term.contraction, &f.contraction, []shoulder.Contraction{shoulder.Make, shoulder.Break})
	default:
		return setOnce(r, a, a.code.term.context, &f.context, shoulder.PainContexts[:])
	}
}

// codedValue is the coded value of a component.
type codedValue struct {
	base   pathBase
	code   interpretedCode
	coding int  // the index of the coding of our code system
	isOurs bool // the value has such a coding
}

// enumeration is a type whose values have codes.
type enumeration interface {
	comparable
	fmt.Stringer
}

// setOnce stores a coded value in a field that has no value yet, or the same one. It adds
// an issue and reports false for another value, or for none of the expected ones of the
// project's code system.
func setOnce[T enumeration](r *reader, a codedValue, value T, field *T, expected []T) bool {
	var unstated T
	switch {
	case !a.isOurs:
		r.warn(a.base, "valueCodeableConcept", fault.CodeUnknown, "no coding of "+fhir.SystemShoulder+"; expected "+listed(expected), "")
		return false
	case value == unstated:
		r.warn(a.base, codingPath("valueCodeableConcept", a.coding), fault.CodeUnknown, "no such value in our code system; expected "+listed(expected), a.code.code.code)
		return false
	case conflict(*field, value):
		r.warn(a.base, "valueCodeableConcept", fault.Duplicate, "stated twice with different values; expected one", a.code.code.code)
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
	means, i, ok := r.ourCoding(&r.caches.methods, method)
	switch {
	case !ok:
		r.note(f.pathBase(), "method", fault.NotRead, "a method outside our code system; the instrument is taken as not stated", "")
	case means.term.instrument == shoulder.InstrumentUnstated:
		r.warn(f.pathBase(), codingPath("method", i), fault.CodeUnknown, "no such method in our code system; expected handheld-dynamometry, belt-stabilised-dynamometry or isokinetic-dynamometry", means.code.code)
		return false
	}
	f.instrument = means.term.instrument
	return true
}
