package plan

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
)

// Forecast is when the course expects evenness to be seen, if it goes on as it does.
type Forecast struct {
	Date, Earliest, Latest time.Time
	// AtRecheck says that even the latest of the days comes no later than the re-check, so
	// that all three are the day from which it may be.
	AtRecheck bool
}

// Forecast is what the course gives for a test, or for all of them, with no day before
// the one from which a re-check may be. Evenness counts once it is measured: a page that
// calls the sides not even today must not name today, or a day on which nobody tests, as
// the day on which they are.
func (w Window) Forecast(c *course.Course, o *course.Outlook) Forecast {
	latest := c.On(o.Latest)
	return Forecast{
		Date: w.notBefore(c.On(o.Date)), Earliest: w.notBefore(c.On(o.Earliest)), Latest: w.notBefore(latest),
		AtRecheck: measure.DaysBetween(latest, w.From) >= 0,
	}
}

// notBefore is a day, or the first day of the window if that is later.
func (w Window) notBefore(day time.Time) time.Time {
	if measure.DaysBetween(day, w.From) > 0 {
		return w.From
	}
	return day
}
