package shoulder

import (
	"slices"
	"testing"
)

// What other packages rely on: the trained motions come first and are tested in the
// trained positions, every motion has a code, a name and positions in their order.
func TestTableOfMotions(t *testing.T) {
	if len(Trained) == 0 || len(Trained) == len(Motions) {
		t.Fatalf("%d of %d motions are trained, so that this is no test", len(Trained), len(Motions))
	}
	seen := map[string]bool{}
	for i, m := range Motions {
		if m.Trained() != (i < len(Trained)) || m.Trained() && !slices.Equal(m.TestedIn(), TrainedPositions[:]) {
			t.Errorf("%v: trained %v, tested in %v", m, m.Trained(), m.TestedIn())
		}
		if m.Name() == "" || seen[m.String()] || len(m.TestedIn()) == 0 || !slices.IsSorted(m.TestedIn()) {
			t.Errorf("%v: name %q, tested in %v", m, m.Name(), m.TestedIn())
		}
		seen[m.String()] = true
	}
	if beyond := Motion(len(motions)); beyond.String() != "unknown" || beyond.TestedIn() != nil {
		t.Errorf("a motion that does not exist is %v", beyond)
	}
}
