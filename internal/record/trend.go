package record

import (
	"strconv"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
)

// addTrends adds the course of each index whose latest session is current.
func (b *builder) addTrends() {
	trends := b.a.Measurements.Trends
	for i := range trends {
		if b.a.Current(trends[i].To) {
			b.addTrend(&trends[i], seriesBefore(trends[:i], &trends[i]))
		}
	}
}

// seriesBefore counts the trends of the same setting before one: forces and
// torques make a series each.
func seriesBefore(before []measure.Trend, t *measure.Trend) (n int) {
	for i := range before {
		if before[i].Setting == t.Setting {
			n++
		}
	}
	return n
}

// unitSlope is percentage points a week.
const unitSlope = "%/wk"

func (b *builder) addTrend(t *measure.Trend, series int) {
	effective := &fhir.Period{Start: b.dateTime(t.From), End: b.dateTime(t.To)}
	o := b.observation(b.settingTitle(fhir.CodeSymmetryTrend, t.Setting), effective)
	o.Method = b.method(t.Setting.Instrument)
	o.Value = b.estimate(t.PerWeek, 2, unitSlope)
	o.DerivedFrom = b.inputs.measured(t.Sources)
	more := 4
	if t.Outlook == measure.Forecast {
		more += 3
	}
	o.Component = append(b.settingComponents(t.Setting, more),
		component(fhir.CodeIntervalLow, b.estimate(t.Low, 2, unitSlope)),
		component(fhir.CodeIntervalHigh, b.estimate(t.High, 2, unitSlope)),
		component(fhir.CodeSessions, fhir.Integer(t.Sessions)),
		component(fhir.CodeOutlook, b.own(t.Outlook.String(), b.w.Outlook(t.Outlook))))
	o.Component = b.appendDate(o.Component, fhir.CodeForecastDate, t.Date)
	o.Component = b.appendDate(o.Component, fhir.CodeForecastEarliest, t.Earliest)
	o.Component = b.appendDate(o.Component, fhir.CodeForecastLatest, t.Latest)
	text := b.w.Trend(t)
	o.Note = notes(text) // it says that a forecast is an extrapolation
	b.addResult(o, b.settingKey(fhir.CodeSymmetryTrend, t.Setting, strconv.Itoa(series)), text)
}

// appendDate adds a day, unless it is not known.
func (b *builder) appendDate(all []fhir.Component, code string, day time.Time) []fhir.Component {
	if day.IsZero() {
		return all
	}
	return append(all, component(code, fhir.DateTime(b.date(day))))
}
