package course

import (
	"math"
	"testing"

	"evenreach.example/internal/protocol"
)

// rising is a test of both sides in four sessions, even soon.
func rising() *Course {
	var all []Observation
	for k, percent := range []float64{55, 70, 80, 86} {
		for test := range 2 {
			all = append(all,
				Observation{Day: 21 * k, Test: test, Log: math.Log(percent), Own: 0.03, Shared: 0.03},
				Observation{Day: 21 * k, Test: test, Comparison: true, Log: math.Log(100), Own: 0.03, Shared: 0.03})
		}
	}
	return Of(all, 2, []int{0, 1}, protocol.Default())
}

// A track goes through what is known at each session, and is least sure just before one.
func TestTracks(t *testing.T) {
	c := rising()
	for test, track := range c.Tracks() {
		estimates := c.Tests[test].Estimates
		if last := track[len(track)-1]; math.Abs(last.Low-estimates[3].Low) > 1e-9 || math.Abs(last.High-estimates[3].High) > 1e-9 || last.Day != 63 {
			t.Errorf("the track ends with %+v, want what is known now: %+v", last, estimates[3])
		}
		k := 0
		for i := range track {
			if track[i].Day == estimates[k].Day && math.Abs(track[i].Index-estimates[k].Index) < 1e-9 {
				if i > 0 && track[i-1].High/track[i-1].Low <= track[i].High/track[i].Low {
					t.Errorf("a session on day %d made less sure: %+v, then %+v", track[i].Day, track[i-1], track[i])
				}
				k = min(k+1, len(estimates)-1)
			}
		}
		if k != len(estimates)-1 {
			t.Errorf("the track goes through %d of %d sessions", k, len(estimates))
		}
	}
}

// The fan crosses the threshold on the days of the forecast: the definition of its quantiles.
func TestFanCrossesOnTheDaysOfTheForecast(t *testing.T) {
	c := rising()
	for i := range c.Tests {
		o := &c.Tests[i].Outlook
		o.Prospect = Forecast
		if o.Date <= 0 {
			t.Fatalf("no forecast: %+v", o)
		}
		futures := c.evenFutures(i)
		for _, tt := range []struct {
			name string
			day  int
			of   func(Estimate) float64
		}{
			{"earliest", o.Earliest, func(m Estimate) float64 { return m.High }},
			{"date", o.Date, func(m Estimate) float64 { return m.Index }},
			{"latest", o.Latest, func(m Estimate) float64 { return m.Low }},
		} {
			if on := tt.of(c.fanned(futures, 0, tt.day)); on < 90-0.2 {
				t.Errorf("%s: %.2f %% on the day, want 90", tt.name, on)
			}
			if tt.day > 0 {
				if before := tt.of(c.fanned(futures, 0, tt.day-1)); before > 90+0.2 {
					t.Errorf("%s: %.2f %% on the day before, want less than 90", tt.name, before)
				}
			}
		}
		fan := c.Fan(&c.Tests[i], c.On(c.Tests[i].Outlook.Latest))
		if len(fan) != fanSteps+1 || fan[0].Day != 63 || fan[fanSteps].Day != 63+o.Latest {
			t.Errorf("a fan from day %d to %d, want from 63 to the latest day", fan[0].Day, fan[len(fan)-1].Day)
		}
	}
}

func TestNoFanWithoutForecast(t *testing.T) {
	c := rising()
	c.Tests[0].Outlook.Prospect = NoDate
	if fan := c.Fan(&c.Tests[0], c.Latest()); fan != nil {
		t.Errorf("a fan without a date: %v", fan)
	}
}
