package course

import (
	"cmp"
	"math"
	"slices"
	"time"

	"evenreach.example/internal/measure"
)

// trackStep is the longest time between two points of a track in days, short enough for a
// picture.
const trackStep = 7

// Tracks follow each test through the time between the sessions too, by what is known on
// each day from the sessions before it: the interval widens until the next session, whose
// day is there twice, before and after its measurements. The last point is Now.
func (c *Course) Tracks() [][]Estimate {
	s := c.series
	at := Course{par: c.par, parts: make([]part, len(c.parts))}
	for i := range c.parts {
		at.parts[i] = part{weight: c.parts[i].weight, filter: newFilter(&c.par, s.tests, c.parts[i].filter.point)}
	}
	tracks, d := make([][]Estimate, s.tests), s.newDay()
	note := func(day int) {
		for test := range tracks {
			tracks[test] = append(tracks[test], at.estimate(day, func(p *part) gaussian { return p.filter.against(test, Present) }))
		}
	}
	for k, day := range s.days {
		if k > 0 {
			at.pass(s.days[k-1], day, note)
		}
		for i := range at.parts {
			d.measure(at.parts[i].filter, s.of(k))
			at.parts[i].filter.learn(d)
		}
		note(day)
	}
	return tracks
}

// pass lets the time between two days pass in steps.
func (c *Course) pass(from, to int, note func(day int)) {
	for day := from; day < to; {
		step := min(trackStep, to-day)
		day += step
		for i := range c.parts {
			c.parts[i].filter.wait(float64(step) / daysPerWeek)
		}
		note(day)
	}
}

// fanSteps is of how many steps a fan is made, enough for a picture.
const fanSteps = 12

// Fan is how the index of a test goes on, from the latest session to the last day of what
// is said of it: the median and the interval, at the confidence of the protocol, of the futures in
// which it becomes even within the horizon. These are the futures whose days the forecast
// gives: the upper end of the interval is even on the earliest of them, the median on the
// date, and the lower end on the latest. It is empty without a forecast.
func (c *Course) Fan(t *TestCourse, until time.Time) (fan []Estimate) {
	test := c.IndexOf(t)
	if test < 0 || t.Outlook.Prospect != Forecast {
		return nil
	}
	futures := c.evenFutures(test)
	today, ahead := c.Days[len(c.Days)-1], measure.DaysBetween(c.Latest(), until)
	for step := range fanSteps + 1 {
		days := ahead * step / fanSteps
		fan = append(fan, c.fanned(futures, today, days))
	}
	return fan
}

// IndexOf is where a test stands among those of the course, -1 for one of another course.
func (c *Course) IndexOf(t *TestCourse) int {
	for i := range c.Tests {
		if &c.Tests[i] == t {
			return i
		}
	}
	return -1
}

// future is one way in which the index of a test may go on.
type future struct{ end, gap, weeks, weight float64 }

// on is the index after so many days, in per cent.
func (f *future) on(days int) float64 {
	return 100 * math.Exp(f.end-f.gap*math.Exp(-float64(days)/daysPerWeek/f.weeks))
}

// evenFutures are those in which a test becomes even within the horizon.
func (c *Course) evenFutures(test int) (futures []future) {
	for i := range c.parts {
		p := &c.parts[i]
		weeks := p.filter.shape.weeks
		p.futures(len(c.Tests), func(ends []float64, gap, weight float64) {
			if arrival(ends[test]-c.par.even, gap, weeks, c.par.horizon+1) <= c.par.horizon {
				futures = append(futures, future{ends[test], gap, weeks, weight})
			}
		})
	}
	return futures
}

// fanned is the median of the futures so many days after today, with its interval.
func (c *Course) fanned(futures []future, today, days int) Estimate {
	slices.SortFunc(futures, func(a, b future) int { return cmp.Compare(a.on(days), b.on(days)) })
	sum := 0.0
	for i := range futures {
		sum += futures[i].weight
	}
	tail := 1 - cumulative(c.par.confidence)
	at := func(share float64) float64 {
		weight := 0.0
		for i := range futures {
			if weight += futures[i].weight; weight >= share*sum {
				return futures[i].on(days)
			}
		}
		return futures[len(futures)-1].on(days)
	}
	return Estimate{Day: today + days, Low: at(tail), Index: at(0.5), High: at(1 - tail)}
}
