package fhirapi

import (
	"strings"
	"testing"
)

// A snapshot is the base with every change in its place: all elements of the
// base in their order, and behind them each slice with all its children.
func TestSnapshots(t *testing.T) {
	base := observation()
	children := 0
	for _, e := range base {
		if strings.HasPrefix(e.ID, componentPath) {
			children++
		}
	}
	for _, p := range append(measuredProfiles(), computedProfiles()...) {
		differential := p.differential()
		all := snapshot(differential)
		if want := len(base) + len(p.parts)*children; len(all) != want {
			t.Errorf("%s: %d elements, want %d", p.id, len(all), want)
		}
		at := map[string]element{}
		for i, e := range all {
			if i < len(base) && e.ID != base[i].ID {
				t.Errorf("%s: element %d is %s, want %s", p.id, i, e.ID, base[i].ID)
			}
			if _, twice := at[e.ID]; twice {
				t.Errorf("%s: %s twice", p.id, e.ID)
			}
			at[e.ID] = e
		}
		for _, change := range differential {
			e, ok := at[change.ID]
			if !ok {
				t.Errorf("%s: %s is changed and not in the snapshot", p.id, change.ID)
			}
			if e.Min == nil || e.Max == "" || e.Definition == "" || len(e.Base) == 0 {
				t.Errorf("%s: %s is incomplete", p.id, change.ID)
			}
			if change.Min != nil && *e.Min != *change.Min {
				t.Errorf("%s: %s at least %d times, want %d", p.id, change.ID, *e.Min, *change.Min)
			}
		}
	}
}

// Writing a profile leaves the base as it was.
func TestSnapshotLeavesTheBase(t *testing.T) {
	before := len(observation()[0].Constraint)
	for _, p := range measuredProfiles() {
		snapshot(p.differential())
	}
	if after := observation()[0]; len(after.Constraint) != before || after.PatternCodeableConcept != nil {
		t.Error("the base has changed")
	}
}
