package service

import (
	"testing"
	"testing/synctest"
	"time"
)

// However many long bodies there are, short ones find a processor at once; and of the long ones one more than there is
// room for is told to come back, after the time that there is patience for.
func TestLongBodiesLeaveProcessorsToOthers(t *testing.T) {
	for processors, longOnes := range map[int]int{1: 1, 2: 1, 8: 4} {
		synctest.Test(t, func(t *testing.T) {
			c := newCapacity(16, processors)
			for range longOnes {
				if _, err := c.enterProcessor(t.Context(), longBody); err != nil {
					t.Fatal(err)
				}
			}
			began := time.Now()
			if _, err := c.enterProcessor(t.Context(), longBody); err == nil || time.Since(began) != inBurst {
				t.Errorf("%d processors: one long body more than %d: %v after %v, want a refusal after %v", processors, longOnes, err, time.Since(began), inBurst)
			}
			began = time.Now()
			for range processors {
				lane, err := c.enterProcessor(t.Context(), longBody-1)
				if err != nil || time.Since(began) > 0 {
					t.Fatalf("%d processors: a short body beside long ones: %v after %v, want it at once", processors, err, time.Since(began))
				}
				defer lane.leave()
			}
		})
	}
}
