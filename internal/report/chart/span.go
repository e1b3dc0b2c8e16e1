package chart

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
)

// span is the time that the chart shows, the same in each panel: from the first session to
// the last, and on to the end of the forecasts.
type span struct{ first, last, end time.Time }

func (c *canvas) span() span {
	var s span
	for _, r := range c.rows {
		for _, p := range r.panels {
			for _, x := range p.sessions {
				if s.first.IsZero() || x.When.Before(s.first) {
					s.first = x.When
				}
				s.last = latest(s.last, x.When)
			}
			if n := len(p.fan); n > 0 {
				s.end = latest(s.end, c.day(&p.fan[n-1]))
			}
		}
	}
	s.end = latest(s.end, s.last)
	return s
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// day is that of an estimate of the course.
func (c *canvas) day(m *course.Estimate) time.Time { return c.a.Course.Day(m.Day) }

func (s span) days() int { return measure.DaysBetween(s.first, s.end) }

// ahead is how many days the forecasts go beyond the last session.
func (s span) ahead() int { return measure.DaysBetween(s.last, s.end) }

// share is how far a day lies between the ends, a half if they are one day.
func (s span) share(t time.Time) float64 {
	if s.days() == 0 {
		return 0.5
	}
	return float64(measure.DaysBetween(s.first, t)) / float64(s.days())
}
