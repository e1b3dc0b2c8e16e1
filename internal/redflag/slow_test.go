package redflag

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"evenreach.example/internal/shoulder"
)

// monthly is visits four weeks apart at which all six tests come to strengths beside 100 N.
func monthly(newtons ...int) *shoulder.Episode {
	e := episode()
	for i, n := range newtons {
		e.Sessions = append(e.Sessions, visit(28*i, both(fmt.Sprintf("%d/100", n))))
	}
	return e
}

// shrinking is a strength of 100 N that keeps so many per cent from visit to visit.
func shrinking(percent float64, visits int) *shoulder.Episode {
	newtons := make([]int, visits)
	for i := range newtons {
		newtons[i] = int(math.Round(100 * math.Pow(percent/100, float64(i))))
	}
	return monthly(newtons...)
}

// A strength that is less than 60 % of its best is looked at, however slowly it went. Source:
// protocol, a large fall of 40 %, held against the best of the episode.
func TestSlowLoss(t *testing.T) {
	cleared := func(e *shoulder.Episode, n int) *shoulder.Episode {
		e.Examinations = []shoulder.Statement{{When: e.Sessions[n].When, Cleared: true}}
		return e
	}
	repairedAfter := func(e *shoulder.Episode, n int) *shoulder.Episode {
		e.Repairs = []shoulder.Repair{{Side: right, Date: e.Sessions[n].When.AddDate(0, 0, 1)}}
		return e
	}
	tests := []struct {
		name        string
		of          *shoulder.Episode
		found, hold bool
	}{
		{"5 % a month, to 49 N", shrinking(95, 15), true, true},
		{"2 % a month, to 75 N", shrinking(98, 15), false, false},
		{"not yet examined, a little better", monthly(100, 95, 90, 85, 80, 75, 71, 67, 64, 61, 58, 55, 52, 62), true, true},
		{"regained since", monthly(100, 95, 90, 85, 80, 75, 71, 67, 64, 61, 58, 55, 52, 70, 85, 98), false, false},
		{"examined, and measured again", cleared(monthly(100, 95, 90, 85, 80, 75, 71, 67, 64, 61, 58, 55, 52, 52, 51), 12), true, false},
		{"weak after an operation", repairedAfter(monthly(100, 96, 92, 88, 84, 80, 77, 74, 71, 68, 65, 63, 61, 59, 57, 55, 54), 13), false, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := slices.DeleteFunc(found(tt.of), func(x Flag) bool { return x.Code != SuddenStrengthLoss })
			if (len(flags) > 0) != tt.found || Hold(flags) != tt.hold {
				t.Fatalf("%+v, want found %v and held %v", flags, tt.found, tt.hold)
			}
			if tt.found && !flags[0].Slow {
				t.Errorf("%+v, want a slow loss of strength", flags[0])
			}
		})
	}
}
