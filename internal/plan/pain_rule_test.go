package plan

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder/shouldertest"
)

// One plan has one rule of pain: a little is fine, or none is. None is where the dose asks
// to be free of pain.
//
// Source: the dose of sub-maximal work in the protocol.
func TestOneRuleOfPain(t *testing.T) {
	submaximal := protocol.Default().Dose.Submaximal.Text
	rapid.Check(t, func(t *rapid.T) {
		some := func(exercises []Exercise, cue Cue) bool {
			return slices.ContainsFunc(exercises, func(x Exercise) bool { return slices.Contains(x.Cues, cue) })
		}
		all := planned(shouldertest.Draw(t)).Exercises
		painless := slices.ContainsFunc(all, func(x Exercise) bool { return x.Dose.Text == submaximal })
		if some(all, StopAtPain) != painless {
			t.Fatalf("no pain at all: %v, want %v", some(all, StopAtPain), painless)
		}
		if painless && some(all, PainWithinLimit) {
			t.Fatal("a little pain is fine, and none is")
		}
	})
}
