package record

import (
	"slices"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// addCourse adds what all sessions show together: the course of each rotation, whose
// numbers are those of its tests, and that of the shoulder, which is of all tests.
func (b *builder) addCourse() {
	var motions []fhir.Reference
	for i := range b.a.Readiness.Trained() {
		motions = appendKnown(motions, b.addRotationCourse(&b.a.Readiness.Motions[i]))
	}
	if len(motions) == 0 {
		return
	}
	c := b.a.Course
	o := b.observation(b.titled(fhir.CodeStrengthCourse), b.dayOfCourse())
	if c.Complete() {
		o.Value = b.estimateNear(100*c.AllEven(), "%", asLikelyAsNot)
	} else {
		o.DataAbsentReason = &notPerformed
	}
	o.HasMember = motions
	o.Component = b.appendOutlook(b.draft(), &c.All, &ofShoulder)
	if b.a.LooksAhead() && c.All.Prospect == course.Forecast {
		o.Note = notes(b.w.EvenWhen(c, b.a.Plan.Recheck)) // says that a date is no promise
	}
	b.course = b.addResult(o, fhir.CodeStrengthCourse)
}

// dayOfCourse is the day up to which the course goes.
func (b *builder) dayOfCourse() fhir.Value { return fhir.DateTime(b.date(b.a.Course.Latest())) }

// addRotationCourse adds the course of a rotation: of the test that decides in each
// position, if it has several sessions. None if no test has.
func (b *builder) addRotationCourse(r *readiness.MotionReadiness) fhir.Reference {
	all := append(b.draft(), b.motionComponent(r.Motion))
	used := make([][]shoulder.SourceID, 0, 32)
	var forecasts []string // one of each test, empty where there is none
	for k := range r.Positions {
		p := &r.Positions[k]
		if t := b.a.TogetherOf(p); t != nil {
			all = b.appendTest(all, t, &courseCodes[p.Position])
			used = b.appendEarlierSessions(used, p.Symmetry)
			forecasts = append(forecasts, b.forecast(t))
		}
	}
	if len(forecasts) == 0 {
		return fhir.Reference{}
	}
	o := b.observation(b.titled(fhir.CodeRotationCourse, b.w.Motion(r.Motion)), b.dayOfCourse())
	o.Component = all
	o.Note = notes(forecasts...)
	o.DerivedFrom = append(appendKnown(nil, b.indices[r.Motion][:]...), b.inputs.measured(used...)...)
	b.courseInputs = append(b.courseInputs, used...)
	return b.addResult(o, fhir.CodeRotationCourse+"/"+r.Motion.String())
}

// appendEarlierSessions adds the inputs of the sessions before a deciding index, because the
// course rests on them too.
func (b *builder) appendEarlierSessions(used [][]shoulder.SourceID, latest *measure.Symmetry) [][]shoulder.SourceID {
	for _, s := range b.a.Measurements.DecidingIndices(latest.Motion, latest.Position) {
		if s != latest {
			used = append(used, s.Involved.Sources, s.Comparison.Sources)
		}
	}
	return used
}

// appendTest adds what all sessions show together of a test.
func (b *builder) appendTest(all []fhir.Component, t *course.TestCourse, codes *testCodes) []fhir.Component {
	symmetry, now := &b.a.Protocol.Symmetry, t.Now()
	even, goodEnough := symmetry.Even.Value, symmetry.GoodEnough.Value
	all = append(all,
		componentWith(codes.index, b.estimateNear(now.Index, "%", even, goodEnough)),
		componentWith(codes.low, b.estimateNear(now.Low, "%", even, goodEnough)),
		componentWith(codes.high, b.estimateNear(now.High, "%", even, goodEnough)),
		componentWith(codes.goodEnough, b.estimateNear(100*now.GoodEnough, "%", asLikelyAsNot)),
		componentWith(codes.even, b.estimateNear(100*now.Even, "%", asLikelyAsNot)),
		componentWith(codes.sessions, fhir.Integer(t.Sessions)))
	all = b.appendFalls(all, t, codes)
	if b.isToldOfShoulder(&t.Outlook) {
		return all
	}
	return b.appendOutlook(all, &t.Outlook, &codes.outlook)
}

// isToldOfShoulder reports whether the outlook on all tests says the same as that on one.
func (b *builder) isToldOfShoulder(o *course.Outlook) bool {
	if !b.a.LooksAhead() {
		return true
	}
	return o.Prospect == b.a.Course.All.Prospect && o.Prospect != course.Forecast && o.Prospect != course.Levelling
}

// appendFalls adds the probability that the involved side's strength is below that of the
// previous session and, as far as they are others, of the first and the best one.
func (b *builder) appendFalls(all []fhir.Component, t *course.TestCourse, codes *testCodes) []fhir.Component {
	all = b.appendFall(all, t, &t.Last, codes.belowLast)
	if t.First.Day != t.Last.Day {
		all = b.appendFall(all, t, &t.First, codes.belowFirst)
	}
	if t.Best.Day != t.Last.Day && t.Best.Day != t.First.Day {
		all = b.appendFall(all, t, &t.Best, codes.belowBest)
		all = append(all, componentWith(codes.bestDate, fhir.DateTime(b.date(b.a.Course.Day(t.Best.Day)))))
	}
	return all
}

// appendFall adds the probability of a fall, with what the change comes to unless the
// measured change says it.
func (b *builder) appendFall(all []fhir.Component, t *course.TestCourse, k *course.Change, code fhir.CodeableConcept) []fhir.Component {
	if !k.Known {
		return all
	}
	c := &b.a.Protocol.Certainty
	sure, probable := c.Clear.Value, c.Probable.Value
	fall := componentWith(code, b.estimateNear(100*k.Strength.Below, "%", sure, probable, hundred.Sub(sure), hundred.Sub(probable)))
	if !b.isToldAsChange(t, k) {
		fall.Interpretation = directions[b.a.ChangeSince(t, k)]
	}
	return append(all, fall)
}

// isToldAsChange reports whether a change of strength of the answer has the word of the
// change since that day.
func (b *builder) isToldAsChange(t *course.TestCourse, k *course.Change) bool {
	since := b.a.Course.Day(k.Day)
	return slices.ContainsFunc(b.strengthChanges, func(c *measure.Change) bool {
		return c.Side == b.a.Episode.Involved && c.Setting == t.Setting && measure.DaysBetween(c.FromWhen, since) == 0
	})
}

// asLikelyAsNot is a probability in %. None below it is rounded up to it, because whoever reads the number
// would take it for enough.
var asLikelyAsNot = exact.Int(50)

var hundred = exact.Int(100)

// appendOutlook adds what may be said about evenness: a date with its interval, or where
// the course levels off, or that no date can be given. It has no value while nothing may be
// said of the time to come.
func (b *builder) appendOutlook(all []fhir.Component, o *course.Outlook, codes *outlookCodes) []fhir.Component {
	if !b.a.LooksAhead() {
		return append(all, fhir.Component{Code: codes.outlook, DataAbsentReason: &notYetKnown})
	}
	all = append(all, componentWith(codes.outlook, b.coded(o.Prospect)))
	switch o.Prospect {
	case course.Forecast:
		f := b.a.Plan.Recheck.Forecast(b.a.Course, o)
		for i, day := range [...]time.Time{f.Date, f.Earliest, f.Latest} {
			all = append(all, componentWith(codes.dates[i], fhir.DateTime(b.date(day))))
		}
	case course.Levelling:
		if o.Plateau > 0 {
			for i, level := range [...]float64{o.Plateau, o.Low, o.High} {
				all = append(all, componentWith(codes.level[i], b.estimate(level, 0, "%")))
			}
		}
	}
	return all
}

// forecast says that the dates are those of a course that goes on; empty if there are none.
func (b *builder) forecast(t *course.TestCourse) string {
	if !b.a.LooksAhead() || t.Outlook.Prospect != course.Forecast {
		return ""
	}
	return b.w.Prospect(b.a.Course, t, b.a.Plan.Recheck)
}

// appendDate adds a day, unless it is not known.
func (b *builder) appendDate(all []fhir.Component, code string, day time.Time) []fhir.Component {
	if day.IsZero() {
		return all
	}
	return append(all, component(code, fhir.DateTime(b.date(day))))
}
