package course

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder/shouldertest"
)

// What the earlier sessions make likely is the same however it is found: on the way to the
// latest session, from the earlier ones alone, and in an episode in whose latest session no
// strength was measured. So nothing that the latest session measured has a part in it.
func TestTheLatestSessionHasNoPartInWhatTheEarlierOnesShow(t *testing.T) {
	p := protocol.Default()
	force := rapid.IntRange(20, 130)
	rapid.Check(t, func(t *rapid.T) {
		var visits []shouldertest.Visit
		day := 0
		for range rapid.IntRange(2, 5).Draw(t, "visits") {
			v := shouldertest.Visit{Day: day}
			for i := range v.ER {
				v.ER[i], v.IR[i], v.LeftER[i] = fmt.Sprint(force.Draw(t, "er")), fmt.Sprint(force.Draw(t, "ir")), fmt.Sprint(force.Draw(t, "left"))
			}
			visits = append(visits, v)
			day += rapid.IntRange(7, 40).Draw(t, "days")
		}
		e := shouldertest.Episode(visits...)
		latest, when := len(visits)-1, e.Sessions[len(visits)-1].When
		c := Episode(e, measure.Measure(e, p), p)
		quick, ok := c.AllEvenBefore(latest, when)
		if !ok {
			return // a test of the earlier sessions is in doubt
		}
		known := c.before
		c.before = nil
		if alone, _ := c.AllEvenBefore(latest, when); quick != alone {
			t.Fatalf("all even %v on the way, %v from the earlier sessions alone", quick, alone)
		}
		if len(c.Days) == len(visits) && len(known) == 0 {
			t.Fatal("nothing is known of the course before its latest session")
		}
		less := shouldertest.Episode(append(slices.Clone(visits[:latest]), shouldertest.Visit{Day: visits[latest].Day})...)
		if without, _ := Episode(less, measure.Measure(less, p), p).AllEvenBefore(latest, when); quick != without {
			t.Fatalf("all even %v with strengths in the latest session, %v without", quick, without)
		}
	})
}
