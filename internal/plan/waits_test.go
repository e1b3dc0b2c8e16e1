package plan

import (
	"testing"

	"evenreach.example/internal/shoulder/shouldertest"
)

// What functional work waits for is asked for: pain in the test that only an earlier visit
// noted, and the other tests of a visit that repeated one of a rotation.
func TestWhatFunctionalWorkWaitsForIsAskedFor(t *testing.T) {
	painless := complete(42, "100")
	painless.Pain = ""
	one := visit{Day: 42, ER: [3]string{"80"}, Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "3"}
	for _, tt := range []struct {
		name string
		last visit
		want Ask
	}{
		{"pain in the test not noted at the latest visit", painless, AskPain},
		{"one test at the latest visit", one, AskComplete},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := planned(shouldertest.Episode(complete(0, "100"), complete(21, "100"), tt.last))
			n := 0
			for _, r := range p.Requests {
				if r.Ask == tt.want && r.First {
					n++
				}
			}
			if n != 1 {
				t.Errorf("asked %d times for %v, want once: %v", n, tt.want, p.Requests)
			}
		})
	}
}
