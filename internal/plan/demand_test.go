package plan

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// What a demand misses is asked for once, at the re-check, unless something holds the
// demand: then that is to be settled first.
func TestDemandRequests(t *testing.T) {
	endurance := &protocol.OutcomeMeasure{ID: "endurance"}
	missing := []readiness.DemandCriterion{
		{Kind: readiness.DemandMeasure, Outcome: endurance},
		{Kind: readiness.DemandIndex, Motion: shoulder.AbductionMotion, Position: shoulder.Scaption90},
		{Kind: readiness.DemandRange, Movement: shoulder.ExternalRotation, Position: shoulder.Abduction90},
		{Kind: readiness.DemandPain, Occasion: shoulder.PainWorst24h},
		{Kind: readiness.DemandWeeks},
	}
	value := exact.Int(100)
	measured := []readiness.DemandCriterion{{Kind: readiness.DemandMeasure, Outcome: &protocol.OutcomeMeasure{ID: "other"}, Value: &value, Verdict: readiness.Met}}
	b := &builder{r: &readiness.Readiness{Demands: []readiness.Demand{
		{Criteria: missing}, {Criteria: missing[:1]}, {Criteria: measured},
		{Criteria: []readiness.DemandCriterion{{Kind: readiness.DemandMeasure, Outcome: &protocol.OutcomeMeasure{ID: "held"}}}, Holds: []readiness.DemandHold{readiness.HeldByFlag}},
	}}}
	got := b.demandRequests(nil)
	if len(got) != 3 || got[0].Outcome != endurance || got[1].Motion != shoulder.AbductionMotion || got[1].Position != shoulder.Scaption90 ||
		got[2].Movement != shoulder.ExternalRotation {
		t.Fatalf("asks for %+v", got)
	}
	for _, r := range got {
		if r.First || r.Why != WhyDemand {
			t.Errorf("%v: first %v, why %v", r.Ask, r.First, r.Why)
		}
	}
	if again := b.demandRequests(got); len(again) != 0 {
		t.Errorf("asks twice for %+v", again)
	}
}
