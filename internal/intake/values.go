package intake

import (
	"cmp"
	"strconv"
	"strings"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// domain is the range of plausible values of a measurement. A value beyond it is taken for
// a mistake in the number or the unit.
type domain struct {
	dimension dimension
	low, high exact.Number
	expected  string
}

// The domains, in the internal units of the dimensions. A strength of 0 is a measurement:
// the arm did not push at all.
//
// Source: common practice; limits of plausibility, wide enough for any patient.
// The upper limits of force and torque are ours.
var (
	forceDomain  = domain{force, exact.Int(0), exact.Int(700), "0 to 700 N"}
	torqueDomain = domain{torque, exact.Int(0), exact.Int(300), "0 to 300 N.m"}
	angleDomain  = domain{angle, protocol.RangeScale.Minimum, protocol.RangeScale.Maximum, "0 to 220 degrees"}
	painDomain   = domain{score, protocol.PainScale.Minimum, protocol.PainScale.Maximum, "0 to 10"}
	massDomain   = domain{mass, exact.Int(1), exact.Int(400), "1 to 400 kg"}
	heightDomain = domain{length, exact.MustParse("0.3"), exact.MustParse("2.6"), "0.3 to 2.6 m"}
	leverDomain  = domain{length, exact.MustParse("0.05"), exact.Int(1), "0.05 to 1 m"}
	tearDomain   = domain{length, exact.Int(0), exact.MustParse("0.15"), "0 to 15 cm"}
)

func (d *domain) holds(x exact.Number) bool {
	return x.Cmp(d.low) >= 0 && x.Cmp(d.high) <= 0
}

// trialValue is the value of one trial.
type trialValue struct {
	dimension shoulder.Dimension
	value     exact.Number
	component int // index of the component it stands in, or noComponent
}

// valueElement is the element that holds a value.
func valueElement(v fhir.Value) string {
	switch v := v.(type) {
	case *fhir.Quantity:
		return "valueQuantity"
	case *fhir.CodeableConcept:
		return "valueCodeableConcept"
	case *fhir.Period:
		return "valuePeriod"
	case fhir.String:
		return "valueString"
	case fhir.Boolean:
		return "valueBoolean"
	case fhir.Integer:
		return "valueInteger"
	case fhir.DateTime:
		return "valueDateTime"
	case fhir.OtherValue:
		return "value" + string(v)
	}
	return ""
}

// wrongKind adds an issue for a value of another type than expected, and returns false.
func (r *reader) wrongKind(p pathBase, v fhir.Value, expected string) bool {
	r.warn(p, valueElement(v), fault.ValueKind, "a value of this type cannot be read here; expected "+expected, "")
	return false
}

// quantity reads a Quantity and converts it to the internal unit of its dimension.
func (r *reader) quantity(p pathBase, v fhir.Value, wanted dimension) (exact.Number, dimension, bool) {
	q, ok := v.(*fhir.Quantity)
	if !ok || q == nil {
		return exact.Number{}, 0, r.wrongKind(p, v, "valueQuantity")
	}
	if !r.isNumber(p, q) {
		return exact.Number{}, 0, false
	}
	u, ok := r.unit(p, q, wanted)
	if !ok {
		return exact.Number{}, 0, false
	}
	n, ok := r.number(p, q)
	return n.Mul(u.factor), u.dimension, ok
}

// isNumber reports whether a Quantity has a number that is no bound, and adds an issue if
// not.
func (r *reader) isNumber(p pathBase, q *fhir.Quantity) bool {
	switch {
	case q.Value == "":
		r.note(p, "valueQuantity", fault.ValueMissing, "no number; taken as not done", "")
		return false
	case q.Comparator != "":
		r.warn(p, "valueQuantity.comparator", fault.Comparator, "a bound is not a measurement; expected a number without comparator", q.Comparator)
		return false
	}
	return true
}

// number is the number of a Quantity, whatever its unit.
func (r *reader) number(p pathBase, q *fhir.Quantity) (exact.Number, bool) {
	n, err := exact.Parse(string(q.Value))
	if err != nil {
		r.warn(p, "valueQuantity.value", fault.ValueRange, "expected a decimal number of at most 40 digits", string(q.Value))
		return exact.Number{}, false
	}
	return n, true
}

// amount reads a Quantity within a domain.
func (r *reader) amount(p pathBase, v fhir.Value, d *domain, f *finding) bool {
	n, _, ok := r.quantity(p, v, d.dimension)
	if !ok || !r.within(p, v, d, n) {
		return false
	}
	f.value = n
	return true
}

// within reports whether a value is in its domain, and adds an issue if not.
func (r *reader) within(p pathBase, v fhir.Value, d *domain, n exact.Number) bool {
	if d.holds(n) {
		return true
	}
	element := valueElement(v)
	if element == "valueQuantity" {
		element += ".value"
	}
	kind, problem := fault.ValueRange, "outside what can be measured"
	if d.dimension&(force|torque) != 0 && n.Cmp(d.high) > 0 {
		kind, problem = fault.ImplausibleValue, "more than any shoulder exerts; not used"
	}
	r.warn(p, element, kind, problem+"; expected "+d.expected, "")
	return false
}

func (r *reader) strength(p pathBase, v fhir.Value, f *finding) bool {
	n, of, ok := r.quantity(p, v, force|torque)
	if !ok {
		return false
	}
	next, d := trialValue{shoulder.Force, n, p.component}, &forceDomain
	if of == torque {
		next.dimension, d = shoulder.Torque, &torqueDomain
	}
	if !r.within(p, v, d, n) {
		f.refused = append(f.refused, next)
		return false
	}
	f.trialValues = append(f.trialValues, next)
	return true
}

func (r *reader) angle(p pathBase, v fhir.Value, f *finding) bool {
	return r.amount(p, v, &angleDomain, f)
}

func (r *reader) bodyMass(p pathBase, v fhir.Value, f *finding) bool {
	return r.amount(p, v, &massDomain, f)
}

func (r *reader) bodyHeight(p pathBase, v fhir.Value, f *finding) bool {
	return r.amount(p, v, &heightDomain, f)
}

func (r *reader) leverArm(p pathBase, v fhir.Value, f *finding) bool {
	return r.amount(p, v, &leverDomain, f)
}

// tearSize reads the size of a tear, in centimetres.
func (r *reader) tearSize(p pathBase, v fhir.Value, f *finding) bool {
	ok := r.amount(p, v, &tearDomain, f)
	f.value = f.value.Mul(exact.Int(100))
	return ok
}

func (r *reader) painScore(p pathBase, v fhir.Value, f *finding) bool {
	n, ok := r.plainNumber(p, v)
	if !ok || !r.within(p, v, &painDomain, n) {
		return false
	}
	f.value = n
	return true
}

// outcomeValue reads a value in the unit of its outcome measure. A score without a
// unit may have any of the units of a plain number.
func (r *reader) outcomeValue(p pathBase, v fhir.Value, f *finding) bool {
	m := f.outcome
	n, ok := r.numberIn(p, v, m.Unit)
	d := domain{low: m.Minimum, high: m.Maximum, expected: m.Minimum.String() + " to " + m.Maximum.String() + " " + m.Unit}
	if !ok || !r.within(p, v, &d, n) {
		return false
	}
	f.value = n
	return true
}

// numberIn reads a Quantity in a unit, which is not converted; or a plain number if
// the unit is only an annotation.
func (r *reader) numberIn(p pathBase, v fhir.Value, ucum string) (exact.Number, bool) {
	q, ok := v.(*fhir.Quantity)
	has := ok && q != nil && cmp.Or(q.Code, q.Unit) == ucum && (q.Code == "" || q.System == fhir.SystemUCUM)
	switch {
	case has:
		if !r.isNumber(p, q) {
			return exact.Number{}, false
		}
		return r.number(p, q)
	case ucum == "1" || strings.HasPrefix(ucum, "{"):
		return r.plainNumber(p, v)
	case !ok || q == nil:
		return exact.Number{}, r.wrongKind(p, v, "valueQuantity in "+ucum)
	}
	r.warn(p, "valueQuantity.code", fault.UnitUnknown, "expected "+ucum, cmp.Or(q.Code, q.Unit))
	return exact.Number{}, false
}

// plainNumber reads an integer, or a Quantity without a dimension.
func (r *reader) plainNumber(p pathBase, v fhir.Value) (exact.Number, bool) {
	switch v := v.(type) {
	case fhir.Integer:
		return exact.Int(int64(v)), true
	case *fhir.Quantity:
		n, _, ok := r.quantity(p, v, score)
		return n, ok
	}
	return exact.Number{}, r.wrongKind(p, v, "valueInteger, or valueQuantity in {score}")
}

const expectedGrade = "0, 1, 2-, 2, 2+, 3-, 3, 3+, 4-, 4, 4+, 5- or 5"

// grade reads a muscle grade: a number, a text such as "4-" or "4-/5", or a
// coding of our code system.
func (r *reader) grade(p pathBase, v fhir.Value, f *finding) bool {
	var text string
	switch v := v.(type) {
	case fhir.String:
		text = string(v)
	case *fhir.CodeableConcept:
		text = r.gradeText(v)
	default:
		n, ok := r.plainNumber(p, v)
		if !ok {
			return false
		}
		text = n.String()
		if n.Cmp(n.Round(0)) == 0 {
			text = n.Text(0) // "4" for "4.0"
		}
	}
	g, ok := shoulder.ParseMuscleGrade(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "/5")))
	if !ok {
		r.warn(p, valueElement(v), fault.ValueRange, "no muscle grade; expected "+expectedGrade, text)
		return false
	}
	f.grade = g
	return true
}

// gradeText is the code of a coded grade, or the text of one without codings.
func (r *reader) gradeText(concept *fhir.CodeableConcept) string {
	if concept == nil {
		return ""
	}
	if means, _, ok := r.ourCoding(&r.caches.values, concept); ok {
		return means.code.code
	}
	if len(concept.Coding) == 0 {
		return concept.Text
	}
	return ""
}

func (r *reader) yesOrNo(p pathBase, v fhir.Value, f *finding) bool {
	b, ok := v.(fhir.Boolean)
	if !ok {
		return r.wrongKind(p, v, "valueBoolean")
	}
	f.yes = bool(b)
	return true
}

var hands = map[code]shoulder.Handedness{
	snomed(fhir.SNOMEDRightHanded):  shoulder.RightHanded,
	snomed(fhir.SNOMEDRight):        shoulder.RightHanded,
	snomed(fhir.SNOMEDLeftHanded):   shoulder.LeftHanded,
	snomed(fhir.SNOMEDLeft):         shoulder.LeftHanded,
	snomed(fhir.SNOMEDAmbidextrous): shoulder.Ambidextrous,
}

func (r *reader) hand(p pathBase, v fhir.Value, f *finding) bool {
	concept, ok := v.(*fhir.CodeableConcept)
	if !ok || concept == nil {
		return r.wrongKind(p, v, "valueCodeableConcept")
	}
	for i := range concept.Coding {
		if hand := hands[r.interpret(&r.caches.values, &concept.Coding[i]).code]; hand != shoulder.HandednessUnknown {
			f.hand = hand
			return true
		}
	}
	r.warn(p, "valueCodeableConcept", fault.CodeUnknown, "no handedness; expected SNOMED CT 46669005 (right), 87683000 (left) or 23088002 (both)", "")
	return false
}

// appendReceived writes a value as it was sent: number and unit, code or text.
func appendReceived(b []byte, v fhir.Value) []byte {
	switch v := v.(type) {
	case *fhir.Quantity:
		b = append(b, v.Value...)
		if unit := cmp.Or(v.Code, v.Unit); unit != "" {
			b = append(append(b, ' '), unit...)
		}
	case *fhir.CodeableConcept:
		if len(v.Coding) > 0 {
			return append(b, v.Coding[0].Code...)
		}
		b = append(b, v.Text...)
	case fhir.String:
		b = append(b, v...)
	case fhir.Integer:
		b = strconv.AppendInt(b, int64(v), 10)
	case fhir.Boolean:
		b = strconv.AppendBool(b, bool(v))
	}
	return b
}
