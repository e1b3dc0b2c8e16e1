package record

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// indexCourse is what the sessions of one test show beside the latest index: its changes
// and, of the index that decides, what all sessions show together. Each is nil if there
// is none.
type indexCourse struct {
	previous, baseline *measure.Change
	together           *course.TestCourse
}

// courseOf is the course of an index; deciding is nil for one that decides nothing.
func (b *builder) courseOf(s *measure.Symmetry, deciding *readiness.PositionReadiness) (c indexCourse) {
	c.previous, c.baseline = b.symmetryChange(s)
	if deciding != nil {
		c.together = b.a.TogetherOf(deciding)
	}
	return c
}

// sourcesOf are the inputs of the sessions before an index that its course rests on.
func (b *builder) courseSources(s *measure.Symmetry, c indexCourse) [][]shoulder.SourceID {
	all := sourcesOf(c.previous, c.baseline)
	if c.together != nil {
		for _, earlier := range b.a.Measurements.DecidingIndices(s.Rotation, s.Position) {
			all = append(all, earlier.Involved.Sources, earlier.Comparison.Sources)
		}
	}
	return all
}

func (b *builder) appendCourse(all []fhir.Component, c indexCourse) []fhir.Component {
	if c.previous != nil {
		all = append(all, b.changed(fhir.CodeChangePrevious, c.previous))
	}
	if c.baseline != nil {
		all = append(all, b.changed(fhir.CodeChangeBaseline, c.baseline))
	}
	if c.together != nil {
		all = b.appendOutlook(b.appendTogether(all, c.together), &c.together.Outlook)
	}
	return all
}

// appendTogether adds what all sessions show together of a test.
func (b *builder) appendTogether(all []fhir.Component, t *course.TestCourse) []fhir.Component {
	symmetry, now := &b.a.Protocol.Symmetry, t.Now()
	even, goodEnough := symmetry.Even.Value, symmetry.GoodEnough.Value
	return append(all,
		component(fhir.CodePooledSymmetryIndex, b.estimateNear(now.Index, "%", even, goodEnough)),
		component(fhir.CodePooledLow, b.estimateNear(now.Low, "%", even, goodEnough)),
		component(fhir.CodePooledHigh, b.estimateNear(now.High, "%", even, goodEnough)),
		component(fhir.CodePooledProbability, b.estimateNear(100*now.Even, "%", asLikelyAsNot)),
		component(fhir.CodePooledSessions, fhir.Integer(t.Sessions)))
}

// asLikelyAsNot is the probability that no other is written as if it were. %
var asLikelyAsNot = exact.Int(50)

// appendOutlook adds what may be said about evenness: a date with its interval, or where
// the course levels off.
func (b *builder) appendOutlook(all []fhir.Component, o *course.Outlook) []fhir.Component {
	all = append(all, component(fhir.CodeOutlook, b.coded(o.Prospect)))
	switch o.Prospect {
	case course.Forecast:
		for code, days := range [...]int{o.Date, o.Earliest, o.Latest} {
			all = b.appendDate(all, forecastCodes[code], b.a.Course.On(days))
		}
	case course.Levelling:
		if o.Plateau > 0 {
			all = append(all,
				component(fhir.CodeLevelOff, b.estimate(o.Plateau, 0, "%")),
				component(fhir.CodeLevelOffLow, b.estimate(o.Low, 0, "%")),
				component(fhir.CodeLevelOffHigh, b.estimate(o.High, 0, "%")))
		}
	}
	return all
}

var forecastCodes = [...]string{fhir.CodeForecastDate, fhir.CodeForecastEarliest, fhir.CodeForecastLatest}

// forecast says that the dates are those of a course that goes on; empty if there are none.
func (b *builder) forecast(t *course.TestCourse) string {
	if t == nil || t.Outlook.Prospect != course.Forecast {
		return ""
	}
	return b.w.Prospect(b.a.Course, t)
}

// appendDate adds a day, unless it is not known.
func (b *builder) appendDate(all []fhir.Component, code string, day time.Time) []fhir.Component {
	if day.IsZero() {
		return all
	}
	return append(all, component(code, fhir.DateTime(b.date(day))))
}
