package intake

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

var componentCodes = map[string]components{
	fhir.CodeArmPosition:     takesPosition,
	fhir.CodeArmSupport:      takesSupport,
	fhir.CodeContractionType: takesContraction,
	fhir.CodeTrial:           takesTrials,
	fhir.CodePainContext:     takesPainContext,
	fhir.CodePainDuringTest:  takesPainDuringTest,
}

// codingPath is the path of one coding of a concept.
func codingPath(concept string, i int) string {
	return concept + ".coding[" + strconv.Itoa(i) + "]"
}

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
	for i := range c.Code.Coding {
		means := r.codes.translate(c.Code.Coding[i]).code
		if means.system != fhir.SystemShoulder {
			continue
		}
		which, known := componentCodes[means.code]
		if !known {
			r.warn(p, codingPath("code", i), fault.CodeUnknown, "no such component in our code system; expected arm-position, arm-support, contraction-type, trial, pain-context or pain-during-test", means.code)
		}
		return which, known
	}
	r.note(p, "code", fault.NotRead, "a component outside the scope of the assessment", "")
	return 0, true
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
	switch which {
	case takesPosition:
		return assign(r, p, concept, positions, &f.position, "arm-at-side, flexion-90 or abduction-90")
	case takesSupport:
		return assign(r, p, concept, supports, &f.support, "supported or unsupported")
	case takesContraction:
		return assign(r, p, concept, contractions, &f.contraction, "make or break")
	default:
		return assign(r, p, concept, painContexts, &f.context, "at-rest, during-resisted-test or worst-24h")
	}
}

// assign reads a coded value of our code system into a field that is still
// unstated, or that says the same already.
func assign[T comparable](r *reader, p place, concept *fhir.CodeableConcept, values map[string]T, field *T, expected string) bool {
	var unstated T
	for i := range concept.Coding {
		means := r.codes.translate(concept.Coding[i]).code
		if means.system != fhir.SystemShoulder {
			continue
		}
		value, known := values[means.code]
		if !known {
			r.warn(p, codingPath("valueCodeableConcept", i), fault.CodeUnknown, "no such value in our code system; expected "+expected, means.code)
			return false
		}
		if *field != unstated && *field != value {
			r.warn(p, "valueCodeableConcept", fault.Duplicate, "stated twice with different values; expected one", means.code)
			return false
		}
		*field = value
		return true
	}
	r.warn(p, "valueCodeableConcept", fault.CodeUnknown, "no coding of "+fhir.SystemShoulder+"; expected "+expected, "")
	return false
}

// method reads what a strength was measured with. A method in another code
// system leaves the instrument unstated.
func (r *reader) method(f *finding, method *fhir.CodeableConcept) bool {
	if f.kind != strength || method == nil {
		return true
	}
	for i := range method.Coding {
		means := r.codes.translate(method.Coding[i]).code
		if means.system != fhir.SystemShoulder {
			continue
		}
		instrument, known := instruments[means.code]
		if !known {
			r.warn(f.place(), codingPath("method", i), fault.CodeUnknown, "no such method in our code system; expected handheld-dynamometry, belt-stabilised-dynamometry or isokinetic-dynamometry", means.code)
			return false
		}
		f.instrument = instrument
		return true
	}
	r.note(f.place(), "method", fault.NotRead, "a method outside our code system; the instrument is taken as not stated", "")
	return true
}
