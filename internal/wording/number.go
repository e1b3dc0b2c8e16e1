package wording

import (
	"cmp"
	"math"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
)

// Number writes a number with the given number of decimal places.
func (c *Catalogue) Number(n exact.Number, places int) string { return c.localised(n.Text(places)) }

// Index writes an index in per cent, without the unit, to one decimal place, or to as many
// as needed so that the printed number is on the same side of every threshold.
func (c *Catalogue) Index(n exact.Number, thresholds ...protocol.Threshold) string {
	limits := make([]exact.Number, len(thresholds))
	for i, t := range thresholds {
		limits[i] = t.Value
	}
	return c.localised(roundClearOf(n, 1, limits...))
}

// Threshold writes a threshold in words: "at least 75 %".
func (c *Catalogue) Threshold(t protocol.Threshold) string {
	return c.threshold(t, inFull(t.Value))
}

// Limit is Threshold for a strength, in the unit in which strengths are shown.
func (c *Catalogue) Limit(t protocol.Threshold) string {
	return c.fill(term(c.terms.comparison, t.Comparison), c.Quantity(t.Value, t.Unit))
}

func (c *Catalogue) threshold(t protocol.Threshold, number string) string {
	return c.fill(term(c.terms.comparison, t.Comparison), c.inUnit(number, t.Unit))
}

// Quantity writes a value with its unit: strength to one decimal place, degrees and pain
// scores as precisely as they were recorded. There are more places if the printed number
// would otherwise be on the other side of a limit.
func (c *Catalogue) Quantity(n exact.Number, ucum string, limits ...exact.Number) string {
	n, unit := c.shown(n, ucum)
	shown := make([]exact.Number, len(limits))
	for i, limit := range limits {
		shown[i], _ = c.shown(limit, ucum)
	}
	return c.inUnit(roundClearOf(n, places(n, unit), shown...), unit)
}

// Amount writes a setting of the protocol with its unit: "10 %".
func (c *Catalogue) Amount(s protocol.Setting) string { return c.inUnit(inFull(s.Value), s.Unit) }

// Unit is how a UCUM unit is written for people, such as "N m" for N.m.
func (c *Catalogue) Unit(ucum string) string {
	if u, ok := c.units[ucum]; ok {
		return u.name
	}
	return ucum
}

// Date is the calendar day in the time's own offset, in the form of the language:
// 2026-03-02, 02.03.2026.
func (c *Catalogue) Date(t time.Time) string {
	var space [len(time.DateOnly)]byte
	return c.texts.Of(t.AppendFormat(space[:0], c.day))
}

func (c *Catalogue) localised(number string) string {
	if c.decimal == "." {
		return number
	}
	return strings.Replace(number, ".", c.decimal, 1)
}

func (c *Catalogue) inUnit(number, ucum string) string {
	u, ok := c.units[ucum]
	switch {
	case ok:
		return c.fill(u.value, c.localised(number))
	case ucum == "" || ucum == "1" || strings.HasPrefix(ucum, "{"): // nothing but an annotation
		return c.localised(number)
	}
	return c.localised(number) + " " + ucum
}

func (c *Catalogue) differenceIn(number, ucum string) string {
	u, ok := c.units[ucum]
	if !ok {
		return c.inUnit(number, ucum)
	}
	return c.fill(u.difference, c.localised(number))
}

// Decimal places of printed values. More are printed only near a threshold, up to
// mostPlaces, with which any two exact numbers can be distinguished.
const (
	strengthPlaces = 1
	massPlaces     = 2
	ratioPlaces    = 2
	shownPlaces    = 6
	mostPlaces     = 2 * exact.MaxDigits
)

// places is how many decimals a value of a unit is printed with.
func places(n exact.Number, ucum string) int {
	switch ucum {
	case "deg", "{score}", "{points}", "d":
		if isWhole(n) {
			return 0
		}
	case "N/kg":
		return massPlaces
	}
	return strengthPlaces
}

func isWhole(n exact.Number) bool { return !strings.Contains(inFull(n), ".") }

// inFull writes a decimal without rounding, and without decimals if it is
// whole.
func inFull(n exact.Number) string {
	text := n.String()
	if !strings.Contains(text, ".") {
		return text
	}
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}

// roundClearOf writes n with the given decimal places, or with as many as needed so that
// the printed number is on the same side of every limit as n.
func roundClearOf(n exact.Number, places int, limits ...exact.Number) string {
	most := mostPlaces
	for _, limit := range limits {
		if n.Cmp(limit) == 0 { // a recurring decimal cannot be printed exactly
			most = shownPlaces
		}
	}
	for p := places; p <= most; p++ {
		if !wouldCross(n, p, limits) {
			return n.Text(p)
		}
	}
	return n.Text(places)
}

func wouldCross(n exact.Number, places int, limits []exact.Number) bool {
	printed := n.Round(places)
	for _, limit := range limits {
		if printed.Cmp(limit) != n.Cmp(limit) {
			return true
		}
	}
	return false
}

// MeasuredAndNeeded writes two values in one unit, each with its decimal places, or with
// as many more as needed so that the printed numbers compare as the values do. The needed
// value is rounded up, so that reaching the printed number is enough.
func MeasuredAndNeeded(measured, needed exact.Number, measuredPlaces, neededPlaces int) (string, string) {
	order := measured.Cmp(needed)
	if order == 0 {
		text := measured.Text(measuredPlaces)
		return text, text
	}
	for more := range mostPlaces {
		m, n := measured.Round(measuredPlaces+more), needed.RoundUp(neededPlaces+more)
		if m.Cmp(n) >= 0 == (order > 0) {
			return m.Text(measuredPlaces + more), n.Text(neededPlaces + more)
		}
	}
	return measured.Text(mostPlaces), needed.Text(mostPlaces)
}

func roundedUp(n exact.Number, places int) string { return n.RoundUp(places).Text(places) }

// estimate writes a statistic, such as a limit of an interval, so that the printed number
// is on the same side of every threshold.
func estimate(x float64, places int, limits ...float64) string {
	for p := places; p < shownPlaces; p++ {
		text := strconv.FormatFloat(x, 'f', p, 64)
		printed, _ := strconv.ParseFloat(text, 64)
		if !isBetween(x, printed, limits) {
			return unsignedZero(text)
		}
	}
	return unsignedZero(strconv.FormatFloat(x, 'f', shownPlaces, 64))
}

// isBetween reports whether a limit lies between a number and its printed form.
func isBetween(x, printed float64, limits []float64) bool {
	for _, limit := range limits {
		if (x < limit) != (printed < limit) || (x > limit) != (printed > limit) {
			return true
		}
	}
	return false
}

// differenceClearOf writes a difference with its sign, and the smallest detectable change,
// so that the printed numbers compare as the exact ones do.
func differenceClearOf(difference exact.Number, detectable float64, places int) (string, string) {
	d := math.Abs(difference.Float64())
	for p := places; ; p++ {
		text, limit := difference.Text(p), strconv.FormatFloat(detectable, 'f', p, 64)
		printed, _ := strconv.ParseFloat(strings.TrimPrefix(text, "-"), 64)
		printedLimit, _ := strconv.ParseFloat(limit, 64)
		if cmp.Compare(printed, printedLimit) == cmp.Compare(d, detectable) || p == shownPlaces {
			return signed(text), limit
		}
	}
}

// signed puts the sign before a number; zero has none.
func signed(number string) string {
	number = unsignedZero(number)
	if strings.HasPrefix(number, "-") || strings.Trim(number, "0.") == "" {
		return number
	}
	return "+" + number
}

// unsignedZero writes zero for a small negative number that rounds to it.
func unsignedZero(number string) string {
	if positive, negative := strings.CutPrefix(number, "-"); negative && strings.Trim(positive, "0.") == "" {
		return positive
	}
	return number
}
