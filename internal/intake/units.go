package intake

import (
	"strings"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// dimension is a set of physical dimensions, because a strength may be a force or a
// torque.
type dimension uint8

const (
	force  dimension = 1 << iota // in N
	torque                       // in N.m
	angle                        // in degrees
	mass                         // in kg
	length                       // in m
	score                        // a plain number
)

// unit is a UCUM unit: its dimension, and its size in the unit that is used for that
// dimension internally.
type unit struct {
	dimension dimension
	factor    exact.Number
}

// units are the UCUM codes that are read, with exact factors.
//
// Source: UCUM 2.1 for the definitions; 3rd CGPM (1901) for standard gravity,
// 9.80665 m/s2; the international yard and pound agreement (1959) for the inch,
// 0.0254 m, and the pound, 0.45359237 kg. All are exact by definition.
var units = map[string]unit{
	"N":        {force, exact.Int(1)},
	"kN":       {force, exact.Int(1000)},
	"kgf":      {force, exact.MustParse("9.80665")},
	"gf":       {force, exact.MustParse("0.00980665")},
	"[lbf_av]": {force, exact.MustParse("4.4482216152605")},

	"N.m":             {torque, exact.Int(1)},
	"kgf.m":           {torque, exact.MustParse("9.80665")},
	"kgf.cm":          {torque, exact.MustParse("0.0980665")},
	"[lbf_av].[in_i]": {torque, exact.MustParse("0.1129848290276167")},
	"[lbf_av].[ft_i]": {torque, exact.MustParse("1.3558179483314004")},

	"deg": {angle, exact.Int(1)},

	"kg":      {mass, exact.Int(1)},
	"g":       {mass, exact.MustParse("0.001")},
	"[lb_av]": {mass, exact.MustParse("0.45359237")},

	"m":      {length, exact.Int(1)},
	"cm":     {length, exact.MustParse("0.01")},
	"mm":     {length, exact.MustParse("0.001")},
	"[in_i]": {length, exact.MustParse("0.0254")},
	"[ft_i]": {length, exact.MustParse("0.3048")},

	"{score}": {score, exact.Int(1)},
	"1":       {score, exact.Int(1)},
}

// forceAliases are the units of mass that strength is often recorded in: a
// scale shows kilograms or pounds and means the force. They are read so on a
// strength only, and never without a warning. The gram is not among them: no
// dynamometer shows it.
var forceAliases = map[string]string{"kg": "kgf", "[lb_av]": "[lbf_av]"}

// expectedUnits lists the units of a dimension for the text of an issue.
var expectedUnits = map[dimension]string{
	force | torque: "N, kN, kgf, gf, [lbf_av], N.m, kgf.m, kgf.cm, [lbf_av].[in_i] or [lbf_av].[ft_i]",
	angle:          "deg",
	mass:           "kg, g or [lb_av]",
	length:         "m, cm, mm, [in_i] or [ft_i]",
	score:          "{score}, 1 or no unit",
}

// lookUp finds the unit of a UCUM code if it measures one of the wanted
// dimensions, as an alias if it does so only on a strength.
func lookUp(ucum string, wanted dimension) (u unit, isAlias, ok bool) {
	if u = units[ucum]; u.dimension&wanted != 0 {
		return u, false, true
	}
	if wanted&force == 0 {
		return unit{}, false, false
	}
	u, ok = units[forceAliases[ucum]]
	return u, ok, ok
}

// unitText is a unit as it was sent, and the dimension that is expected.
type unitText struct {
	system, code, unit string
	wanted             dimension
}

// unit reads the unit of a Quantity. It must be coded in UCUM. A unit without a code
// system is read only if it is exactly a UCUM code that the measurement may have, and with
// an issue. A unit of mass without a code system is not read as a force, because then two
// assumptions would be needed.
func (r *reader) unit(p pathBase, q *fhir.Quantity, wanted dimension) (unit, bool) {
	asWritten := unitText{q.System, q.Code, q.Unit, wanted}
	if u, ok := r.caches.units.get(asWritten); ok {
		return u, true
	}
	text, element := q.Code, "valueQuantity.code"
	if text == "" {
		text, element = q.Unit, "valueQuantity.unit"
	}
	isCoded := q.System == fhir.SystemUCUM && q.Code != ""
	u, isAlias, known := lookUp(text, wanted)
	switch {
	case text == "" && q.System == "" && wanted == score:
		return units["1"], true
	case text == "":
		r.warn(p, "valueQuantity", fault.UnitUnknown, "no unit; expected a UCUM code: "+expectedUnits[wanted], "")
		return unit{}, false
	case q.System != "" && q.System != fhir.SystemUCUM:
		r.warn(p, "valueQuantity.system", fault.UnitUnknown, "not a unit of UCUM; expected system "+fhir.SystemUCUM, q.System)
		return unit{}, false
	case !known || isAlias && !isCoded:
		r.warn(p, element, fault.UnitUnknown, "this unit cannot be converted; expected a UCUM code: "+expectedUnits[wanted], text)
		return unit{}, false
	case unitTextContradicts(q.Unit, u, wanted):
		r.warn(p, "valueQuantity.unit", fault.UnitUnknown, "unit and code are two different units; expected the same", q.Unit)
		return unit{}, false
	case isAlias:
		r.warn(p, element, fault.UnitAlias, "a unit of mass on a strength; read as the force of that mass under standard gravity", text)
	case !isCoded:
		r.note(p, element, fault.UnitUnknown, "the unit is not coded; read as the UCUM code of the same text", text)
	default:
		r.caches.units.put(asWritten, u)
	}
	return u, true
}

// commonUnitNames are the usual spellings of units. In FHIR they are used only to find out
// that the text of a unit contradicts its code.
var commonUnitNames = map[string]string{
	"newton": "N", "newtons": "N", "kilonewton": "kN", "kilonewtons": "kN",
	"lb": "[lb_av]", "lbs": "[lb_av]", "lb.": "[lb_av]", "lbs.": "[lb_av]", "pound": "[lb_av]", "pounds": "[lb_av]",
	"lbf": "[lbf_av]", "pound-force": "[lbf_av]", "kp": "kgf", "kilopond": "kgf", "kilogram-force": "kgf",
	"kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "gram": "g", "grams": "g",
	"nm": "N.m", "newton metre": "N.m", "newton metres": "N.m", "newton meter": "N.m", "newton meters": "N.m",
	"ft-lb": "[lbf_av].[ft_i]", "ft lb": "[lbf_av].[ft_i]", "in-lb": "[lbf_av].[in_i]", "in lb": "[lbf_av].[in_i]",
	"metre": "m", "metres": "m", "meter": "m", "meters": "m", "centimetre": "cm", "centimetres": "cm",
	"centimeter": "cm", "centimeters": "cm", "degree": "deg", "degrees": "deg", "°": "deg", "inch": "[in_i]", "inches": "[in_i]", "foot": "[ft_i]", "feet": "[ft_i]",
}

// UCUM is the UCUM code of a unit as people write it, for senders whose format has no
// place for a code. It reports false for a text that is not known.
func UCUM(text string) (code string, ok bool) {
	text = strings.TrimSpace(text)
	if _, isCode := units[text]; isCode {
		return text, true
	}
	code, ok = commonUnitNames[strings.ToLower(text)]
	return code, ok
}

// unitTextContradicts reports whether the text of a unit is the name of another unit of
// the same dimension than its code. Any other text is ignored.
func unitTextContradicts(text string, u unit, wanted dimension) bool {
	if code, known := commonUnitNames[strings.ToLower(strings.TrimSpace(text))]; known {
		text = code
	}
	named, _, ok := lookUp(text, wanted)
	return ok && (named.dimension != u.dimension || named.factor.Cmp(u.factor) != 0)
}
