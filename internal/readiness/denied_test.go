package readiness

import "testing"

// What a clinician has said is not right decides nothing, at this visit or as one that confirms.
func TestADeniedMeasurementDecidesNothing(t *testing.T) {
	for at, want := range []Verdict{NotMet, NotMeasured} {
		e := episode(complete(0, "100"), complete(14, "100"))
		for i := range e.Sessions[at].Trials {
			e.Sessions[at].Trials[i].Denied = true
		}
		r := judged(e)
		p := &r.Motions[0].Positions[0]
		if p.Confirmed.Verdict != want || r.Overall == ReadyForFunctional || at == 1 && (p.Doubted == nil || r.Motions[0].Step != StepAtSide) {
			t.Errorf("denied at visit %d: confirmed %v, overall %v, step %v", at+1, p.Confirmed.Verdict, r.Overall, r.Motions[0].Step)
		}
	}
}
