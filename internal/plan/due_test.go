package plan

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
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
		e := shouldertest.Episode(complete(0, "60"), complete(28, "63"), complete(56, "66"), complete(84, "69"))
		m, last := measured(e), shouldertest.Day(84)
		for i := range m.Trends {
			if m.Trends[i].Outlook == measure.Forecast && m.Trends[i].Date.After(last) {
				last = m.Trends[i].Date
			}
		}
		for _, g := range planned(e).Goals {
			if g.Aim == AimEvenAll && g.Due.Before(last) {
				t.Errorf("%v due on %v, the last forecast is %v", g.Aim, g.Due, last)
			}
		}
	})
}
