package assess

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// addAbduction adds tests of a motion without steps to a session: of both sides or of
// one, near even or far from it.
func addAbduction(t *rapid.T, s *shoulder.Session) {
	for _, position := range shoulder.AbductionMotion.TestedIn() {
		for _, side := range rapid.SampledFrom([][]shoulder.Side{{shoulder.Right, shoulder.Left}, nil, {shoulder.Right}, {shoulder.Left}}).Draw(t, "sides") {
			s.Trials = append(s.Trials, shoulder.Trial{
				Source: shouldertest.Next(), Motion: shoulder.AbductionMotion, Position: position, Side: side,
				Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.Handheld,
				Value: exact.MustParse(fmt.Sprint(rapid.IntRange(0, 200).Draw(t, "newtons"))),
			})
		}
	}
}

// A motion without steps opens nothing, however strong it is, and hides no red flag
// and no doubt: a status, a step and a verdict of the trained motions are never higher
// with it than without. Source: ours.
func TestMotionWithoutStepsOpensNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		with := clone(e)
		for i := range with.Sessions {
			addAbduction(t, &with.Sessions[i])
		}
		before, after := assessed(e), assessed(with)
		opens(t, before.Readiness, after.Readiness)
		for _, f := range before.Readiness.Flags {
			if !slices.ContainsFunc(after.Readiness.Flags, func(g redflag.Flag) bool { return g.Code == f.Code && g.Holds() == f.Holds() }) {
				t.Fatalf("%v is hidden", f.Code)
			}
		}
		if doubtIsGone(before.Readiness, after.Readiness) {
			t.Fatal("a doubt is hidden")
		}
		trains := slices.ContainsFunc(after.Plan.Exercises, func(x plan.Exercise) bool { return x.Motion == shoulder.AbductionMotion })
		if trains || slices.ContainsFunc(after.Plan.Goals, func(g plan.Goal) bool { return g.Motion == shoulder.AbductionMotion }) {
			t.Fatal("the plan trains a motion without steps, or aims at it")
		}
	})
}

// A sudden loss of a motion without steps is a loss all the same.
func TestLossOfMotionWithoutSteps(t *testing.T) {
	visits := []shouldertest.Visit{{Day: 0, ER: shouldertest.All("95"), IR: shouldertest.All("95")}, {Day: 14, ER: shouldertest.All("95"), IR: shouldertest.All("95")}}
	e := shouldertest.Episode(visits...)
	for i, newtons := range []string{"100", "40"} {
		e.Sessions[i].Trials = append(e.Sessions[i].Trials, shoulder.Trial{
			Source: shouldertest.Next(), Motion: shoulder.AbductionMotion, Position: shoulder.Scaption90, Side: shoulder.Right,
			Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.Handheld, Value: exact.MustParse(newtons),
		})
	}
	flags := assessed(e).Readiness.Flags
	if len(flags) != 1 || flags[0].Code != redflag.SuddenStrengthLoss || flags[0].Motion != shoulder.AbductionMotion {
		t.Errorf("flags %+v, want a sudden loss of abduction (60 %%; redFlag.largeFall of the protocol is 40 %%)", flags)
	}
}
