package record

import (
	"math"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/wording"
)

// join concatenates the parts.
func (b *builder) join(parts ...string) string {
	b.scratch = b.scratch[:0]
	for _, part := range parts {
		b.scratch = append(b.scratch, part...)
	}
	return b.texts.Of(b.scratch)
}

// time is a time in a layout of package time.
func (b *builder) time(t time.Time, layout string) string {
	b.scratch = t.AppendFormat(b.scratch[:0], layout)
	return b.texts.Of(b.scratch)
}

// instant is a time with its offset, as it was received.
func (b *builder) instant(t time.Time) string { return b.time(t, time.RFC3339Nano) }

// dateTime is a time with its offset, or a day alone: intake represents a day without a
// time by its first or last second in UTC, and an answer must not be more precise than the
// input.
func (b *builder) dateTime(t time.Time) string {
	if isWholeDay(t) {
		return b.date(t)
	}
	return b.instant(t)
}

func isWholeDay(t time.Time) bool {
	_, offset := t.Zone()
	h, m, s := t.Clock()
	midnight := h == 0 && m == 0 && s == 0
	lastSecond := h == 23 && m == 59 && s == 59
	return offset == 0 && t.Nanosecond() == 0 && (midnight || lastSecond)
}

// date is the calendar day in the time's own offset.
func (b *builder) date(t time.Time) string { return b.time(t, time.DateOnly) }

func (b *builder) period(from, to time.Time) *fhir.Period {
	return &fhir.Period{Start: b.date(from), End: b.date(to)}
}

// measured is a number in a UCUM unit, with as many decimal places as needed so that the
// written number is on the same side of every threshold.
func (b *builder) measured(n exact.Number, unit string, thresholds ...exact.Number) *fhir.Quantity {
	places := decimals(unit)
	for _, t := range thresholds {
		places = max(places, n.PlacesFor(t, decimals(unit)))
	}
	b.scratch = n.Append(b.scratch[:0], places)
	return b.quantity(inWhole(b.texts.Of(b.scratch), unit), unit)
}

// quantity is a value in a UCUM unit.
func (b *builder) quantity(value, unit string) *fhir.Quantity {
	q := b.quantities.One()
	*q = fhir.Quantity{Value: fhir.Decimal(value), Unit: b.w.Unit(unit), System: fhir.SystemUCUM, Code: unit}
	return q
}

// estimate is a statistic in a UCUM unit, nil if it is no finite number.
func (b *builder) estimate(x float64, places int, unit string) *fhir.Quantity {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return b.quantity(b.float(x, places), unit)
}

// estimateNear is an estimate with as many decimal places as needed so that the written
// number is on the same side of every threshold.
func (b *builder) estimateNear(x float64, unit string, thresholds ...exact.Number) *fhir.Quantity {
	b.scratch = strconv.AppendFloat(b.scratch[:0], x, 'f', inFull, 64)
	if n, err := exact.Parse(string(b.scratch)); err == nil {
		return b.measured(n, unit, thresholds...)
	}
	return b.estimate(x, decimals(unit), unit)
}

// amount writes a number in a unit.
func amount(n exact.Number, unit string) string { return inWhole(n.Text(decimals(unit)), unit) }

// needed is the measurement that would meet a criterion, rounded up as in the report, so
// that reaching the written number is enough.
func (b *builder) needed(measured, needed exact.Number, unit string) *fhir.Quantity {
	_, text := wording.MeasuredAndNeeded(measured, needed, decimals(unit), decimals(unit))
	return b.quantity(inWhole(text, unit), unit)
}

// inWhole removes decimal places that are zero from values that are measured in whole
// numbers.
func inWhole(number, unit string) string {
	whole, decimals, _ := strings.Cut(number, ".")
	if (unit == "deg" || unit == "{score}" || unit == "{points}") && strings.Trim(decimals, "0") == "" {
		return whole
	}
	return number
}

// decimals is how many decimal places a unit is written with at least.
func decimals(unit string) int {
	switch unit {
	case "N.m", "N/kg", "N.m/kg", "{ratio}":
		return 2
	}
	return 1
}

// component is a component with one of the project's codes. Without a value it has a
// reason for its absence.
func component(code string, value fhir.Value) fhir.Component {
	return componentWith(computed[code], value)
}

// componentWith is the same with a concept.
func componentWith(code fhir.CodeableConcept, value fhir.Value) fhir.Component {
	c := fhir.Component{Code: code, Value: value}
	if q, ok := value.(*fhir.Quantity); ok && q == nil {
		c.Value, c.DataAbsentReason = nil, &notANumber
	}
	return c
}

// thresholdRange is the threshold of a rule as a reference range, whose type is the
// rule: the PlanDefinition of the protocol and the report give its source.
func (b *builder) thresholdRange(rule string, t protocol.Threshold) []fhir.ReferenceRange {
	value := t.Value.String()
	r := fhir.ReferenceRange{Kind: ruleConcepts[rule], Text: b.strict(t)}
	switch t.Comparison {
	case protocol.AtLeast, protocol.MoreThan:
		r.Low = b.quantity(value, t.Unit)
	default:
		r.High = b.quantity(value, t.Unit)
	}
	return []fhir.ReferenceRange{r}
}

// ownRange is a threshold of a clinic's own measure, with its source, which is in no
// published PlanDefinition.
func (b *builder) ownRange(t protocol.Threshold) []fhir.ReferenceRange {
	r := b.thresholdRange("", t)
	r[0].Text = b.limit(t) + "; " + t.Source
	return r
}

// strict is a threshold in words that a value has to be beyond; empty for one that
// it may equal, as FHIR reads the limits of a range.
func (b *builder) strict(t protocol.Threshold) string {
	if t.Comparison == protocol.AtLeast || t.Comparison == protocol.AtMost {
		return ""
	}
	return b.limit(t)
}

// limit is a threshold in words.
func (b *builder) limit(t protocol.Threshold) string {
	return b.join(t.Comparison.String(), " ", t.Value.String(), " ", b.w.Unit(t.Unit))
}

// interpretAgainst is the interpretation of a value by its threshold.
func interpretAgainst(value exact.Number, t protocol.Threshold) []fhir.CodeableConcept {
	switch {
	case t.Met(value):
		return normal
	case t.Comparison == protocol.AtLeast || t.Comparison == protocol.MoreThan:
		return low
	}
	return high
}

// titled is one of the project's codes with a text that distinguishes results with the
// same code.
func (b *builder) titled(code string, parts ...string) fhir.CodeableConcept {
	c := computed[code]
	text := append(b.scratch[:0], b.w.Title(code, titles[code])...)
	separator := b.w.Colon()
	for _, part := range parts {
		if part != "" {
			text = append(append(text, separator...), part...)
			separator = ", "
		}
	}
	b.scratch = text
	c.Text = b.texts.Of(text)
	return c
}

// generated is a narrative that is entirely made from the structured data.
func generated(div string) *fhir.Narrative { return &fhir.Narrative{Status: "generated", Div: div} }

// notes are annotations, one a text.
func notes(texts ...string) (all []fhir.Annotation) {
	for _, text := range texts {
		if text != "" {
			all = append(all, fhir.Annotation{Text: text})
		}
	}
	return all
}

// inFull is the number of places that writes a float in full.
const inFull = -1

// float writes a float with the given number of decimal places.
func (b *builder) float(x float64, places int) string {
	b.scratch = strconv.AppendFloat(b.scratch[:0], x, 'f', places, 64)
	return b.texts.Of(b.scratch)
}
