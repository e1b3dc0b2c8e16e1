package fhirapi

import (
	"bytes"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/protocoltest"
	"evenreach.example/internal/readiness"
)

// The PlanDefinition of a protocol with demands names each with its criteria and sources; that
// of the default says nothing of demands.
func TestDemandsAreInThePlanDefinition(t *testing.T) {
	if actions := demandActions(protocol.Default()); len(actions) > 0 {
		t.Errorf("the default protocol has demands: %v", actions)
	}
	p := protocoltest.WorkAndSport(t)
	resources := protocolResources(p)
	plan := resources[len(resources)-1].JSON
	for _, want := range []string{
		`"title":"overhead work"`, "active flexion at least 160 degrees", "endurance overhead at least 90 s", "time since the repair at least 30 weeks", "sport with load or contact",
		"limb symmetry index of external rotation at 90 degrees of abduction at least 80 %",
	} {
		if !bytes.Contains(plan, []byte(want)) {
			t.Errorf("the PlanDefinition does not say %q", want)
		}
	}
}

// Each kind of criterion, and each reason that a demand waits for, has a code that is
// published.
func TestCodesOfDemandsArePublished(t *testing.T) {
	for _, k := range readiness.DemandKinds {
		if Display(k.String()) == "" {
			t.Errorf("%s is not published", k)
		}
	}
	for _, h := range readiness.DemandHolds {
		if Display(h.String()) == "" || definitions[h.String()] == "" {
			t.Errorf("%s is not published", h)
		}
	}
	if Display(fhir.CodeDemand) == "" {
		t.Error("a demand is not published")
	}
}
