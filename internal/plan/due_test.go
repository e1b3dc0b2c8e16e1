package plan

import (
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// No goal is due before healing permits its positions to be loaded, or before the forecast
// of one of its tests.
func TestNoGoalIsDueBeforeItsTime(t *testing.T) {
	t.Run("healing", func(t *testing.T) {
		e := shouldertest.Episode(complete(300, "80"))
		repaired := shouldertest.Day(300 - 7*14)
		e.Repairs = []shoulder.Repair{{Source: shouldertest.Next(), Side: shoulder.Right, Date: repaired}}
		e.Tears = []shoulder.Tear{{Source: shouldertest.Next(), Side: shoulder.Right, Centimetres: exact.Int(6)}}
		e.Permits = []shoulder.Permit{{Source: shouldertest.Next(), When: shouldertest.Day(299), Phase: shoulder.LoadSubmaximalAtSide}}
		earliest := repaired.AddDate(0, 0, 7*20) // protocol: elevated positions from week 20 after a massive tear
		for _, g := range planned(e).Goals {
			if g.Aim == AimEvenAll && g.Due.Before(earliest) {
				t.Errorf("%v due on %v, elevated positions are permitted from %v", g.Aim, g.Due, earliest)
			}
		}
	})
	t.Run("forecast", func(t *testing.T) {
		rising := shouldertest.Episode(complete(0, "50"), complete(14, "66"), complete(28, "77"), complete(42, "84"), complete(56, "88"))
		level := shouldertest.Episode(complete(0, "66"), complete(28, "65"), complete(56, "67"), complete(84, "66"), complete(112, "65"))
		for want, e := range map[course.Prospect]*shoulder.Episode{course.Forecast: rising, course.Levelling: level} {
			p := protocol.Default()
			c := course.Episode(e, measured(e), p)
			if c.All.Prospect != want {
				t.Fatalf("prospect %v, want %v", c.All.Prospect, want)
			}
			for _, g := range planned(e).Goals {
				switch {
				case g.Aim == AimEvenAll && want == course.Forecast && !g.Due.Equal(c.On(c.All.Date)):
					t.Errorf("%v due on %v, the forecast is %v", g.Aim, g.Due, c.On(c.All.Date))
				case g.Aim == AimEvenAll && want == course.Levelling && !g.Due.IsZero():
					t.Errorf("%v due on %v, want no date for who levels off below evenness", g.Aim, g.Due)
				}
			}
		}
	})
}
