package record

import (
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// course holds what the sessions of one test show in addition to the latest index: its
// changes, its trend and, for the index that decides, the estimate from all sessions. Each
// is nil if there is none.
type course struct {
	previous, baseline *measure.Change
	trend              *measure.Trend
	pooled             *measure.Pooled
}

// courseOf is the course that ends with an index; deciding is nil for an index that
// decides nothing.
func (b *builder) courseOf(s *measure.Symmetry, deciding *readiness.PositionReadiness) (c course) {
	c.previous, c.baseline = b.symmetryChange(s)
	trends := b.a.Measurements.Trends
	for i := range trends {
		if trends[i].EndsWith(s) {
			c.trend = &trends[i]
		}
	}
	if deciding != nil && deciding.Pooled.Sessions > 1 {
		c.pooled = &deciding.Pooled
	}
	return c
}

// courseSources are the inputs of the earlier sessions from which a course was computed.
func (b *builder) courseSources(s *measure.Symmetry, c course) [][]shoulder.SourceID {
	all := sourcesOf(c.previous, c.baseline)
	if c.trend != nil {
		all = append(all, c.trend.Sources)
	}
	if c.pooled != nil {
		for _, earlier := range b.a.Measurements.DecidingIndices(s.Rotation, s.Position) {
			all = append(all, earlier.Involved.Sources, earlier.Comparison.Sources)
		}
	}
	return all
}

func (b *builder) appendCourse(all []fhir.Component, c course) []fhir.Component {
	if c.previous != nil {
		all = append(all, b.changed(fhir.CodeChangePrevious, c.previous))
	}
	if c.baseline != nil {
		all = append(all, b.changed(fhir.CodeChangeBaseline, c.baseline))
	}
	if c.pooled != nil {
		all = b.appendPooled(all, c.pooled)
	}
	if c.trend != nil {
		all = b.appendTrend(all, c.trend)
	}
	return all
}

// appendPooled adds the estimate from all sessions of a rotation and position, because it
// can confirm evenness.
func (b *builder) appendPooled(all []fhir.Component, p *measure.Pooled) []fhir.Component {
	symmetry := &b.a.Protocol.Symmetry
	even, goodEnough := symmetry.Even.Value, symmetry.GoodEnough.Value
	return append(all,
		component(fhir.CodePooledSymmetryIndex, b.estimateNear(p.Index, "%", even, goodEnough)),
		component(fhir.CodePooledLow, b.estimateNear(p.Low, "%", even, goodEnough)),
		component(fhir.CodePooledHigh, b.estimateNear(p.High, "%", even, goodEnough)),
		component(fhir.CodePooledProbability, b.estimateNear(100*p.ProbabilityEven, "%", symmetry.Pooled.Value)),
		component(fhir.CodePooledSessions, fhir.Integer(p.Sessions)))
}

// unitSlope is percentage points a week.
const unitSlope = "%/wk"

func (b *builder) appendTrend(all []fhir.Component, t *measure.Trend) []fhir.Component {
	all = append(all,
		component(fhir.CodeSymmetryTrend, b.estimate(t.PerWeek, 2, unitSlope)),
		component(fhir.CodeTrendLow, b.estimate(t.Low, 2, unitSlope)),
		component(fhir.CodeTrendHigh, b.estimate(t.High, 2, unitSlope)),
		component(fhir.CodeTrendSessions, fhir.Integer(t.Sessions)),
		component(fhir.CodeOutlook, b.coded(t.Outlook)))
	all = b.appendDate(all, fhir.CodeForecastDate, t.Date)
	all = b.appendDate(all, fhir.CodeForecastEarliest, t.Earliest)
	return b.appendDate(all, fhir.CodeForecastLatest, t.Latest)
}

// forecast is a note that the dates of a trend are an extrapolation; empty if it has none.
func (b *builder) forecast(t *measure.Trend) string {
	if t == nil || t.Outlook != measure.Forecast {
		return ""
	}
	return b.w.Trend(t)
}

// appendDate adds a day, unless it is not known.
func (b *builder) appendDate(all []fhir.Component, code string, day time.Time) []fhir.Component {
	if day.IsZero() {
		return all
	}
	return append(all, component(code, fhir.DateTime(b.date(day))))
}
