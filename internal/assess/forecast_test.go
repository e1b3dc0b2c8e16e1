package assess

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// drawRecovering draws a course that comes close to evenness, or goes past it and back.
func drawRecovering(t *rapid.T) *shoulder.Episode {
	visits := make([]shouldertest.Visit, rapid.IntRange(3, 8).Draw(t, "visits"))
	for i := range visits {
		visits[i] = shouldertest.Visit{Day: 14 * i, Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "3"}
		level := min(100, 50+15*i)
		for k := range 3 {
			visits[i].ER[k] = fmt.Sprint(level + rapid.IntRange(-15, 10).Draw(t, "external"))
			visits[i].IR[k] = fmt.Sprint(level + rapid.IntRange(-15, 10).Draw(t, "internal"))
		}
	}
	return shouldertest.Episode(visits...)
}

// Whether evenness is reached is seen at a re-check: no forecast and no goal names a day
// before it, and the forecast of all tests is the date of the goal about all of them.
//
// Source: dates of one page that exclude each other are a defect, by definition.
func TestNoDateLiesBeforeTheRecheck(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawRecovering(t)
		if rapid.Bool().Draw(t, "any episode") {
			e = shouldertest.Draw(t)
		}
		a := assessed(e)
		if a.Readiness.Overall == readiness.ReadyForFunctional {
			return
		}
		from := a.Plan.Recheck.From
		notBefore := func(what string, day time.Time) {
			if !day.IsZero() && measure.DaysBetween(day, from) > 0 {
				t.Fatalf("%s on %v, the re-check is from %v", what, day, from)
			}
		}
		for _, g := range a.Plan.Goals {
			notBefore(g.Aim.String(), g.Due)
		}
		if a.Course == nil || !a.LooksAhead() {
			return
		}
		expected := func(o *course.Outlook) plan.Forecast {
			f := a.Plan.Recheck.Forecast(a.Course, o)
			notBefore("date", f.Date)
			notBefore("earliest", f.Earliest)
			notBefore("latest", f.Latest)
			return f
		}
		for _, of := range a.Ahead() {
			if of.Outlook.Prospect != course.Forecast {
				continue
			}
			f := expected(&of.Outlook)
			fan := a.Course.Fan(of, f.Latest)
			if end := a.Course.Day(fan[len(fan)-1].Day); measure.DaysBetween(end, f.Latest) != 0 {
				t.Fatalf("the fan ends on %v, the forecast on %v", end, f.Latest)
			}
		}
		if a.Course.All.Prospect == course.Forecast {
			all := expected(&a.Course.All)
			for _, g := range a.Plan.Goals {
				if g.Aim == plan.AimEvenAll && !g.Due.Equal(all.Date) {
					t.Fatalf("goal on %v, forecast on %v", g.Due, all.Date)
				}
			}
		}
	})
}
