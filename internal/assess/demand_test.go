package assess

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// demanding is the default protocol with an invented test of endurance and demands that
// have criteria of every kind.
var demanding = func() *protocol.Protocol {
	limit := func(c protocol.Comparison, value int64, unit string) protocol.Threshold {
		return protocol.Threshold{Comparison: c, Value: exact.Int(value), Unit: unit, Source: "invented"}
	}
	p := *protocol.Default()
	p.OutcomeMeasures = []protocol.OutcomeMeasure{{
		ID: "endurance", Scale: protocol.Scale{Unit: "s", Maximum: exact.Int(600), Better: protocol.Higher}, Detectable: limit(protocol.AtLeast, 20, "s"),
	}}
	index := []protocol.IndexCriterion{{Motions: shoulder.Trained, Positions: shoulder.TrainedPositions[:], Threshold: limit(protocol.AtLeast, 70, "%")}}
	flexion := []protocol.RangeCriterion{{Movement: shoulder.Flexion, Threshold: limit(protocol.AtLeast, 150, "deg")}}
	pain := []protocol.PainCriterion{
		{Occasion: shoulder.PainWorst24h, Threshold: limit(protocol.AtMost, 5, "{score}")},
		{Occasion: shoulder.PainDuringResistedTest, Threshold: limit(protocol.AtMost, 4, "{score}")},
	}
	endurance := []protocol.MeasureCriterion{{Measure: "endurance", Threshold: limit(protocol.AtLeast, 60, "s")}}
	weeks := limit(protocol.AtLeast, 24, "wk")
	p.Demands = []protocol.Demand{
		{ID: "lift", PermittedLoad: shoulder.LoadFunctional, Pain: pain, Index: index},
		{ID: "overhead", PermittedLoad: shoulder.LoadFunctional, Range: flexion, Measures: endurance},
		{ID: "throw", PermittedLoad: shoulder.LoadSport, Index: index, Range: flexion, Pain: pain, Measures: endurance, Repair: &weeks},
	}
	return &p
}()

func assessedForDemands(e *shoulder.Episode) *Assessment {
	return Assess(e, demanding, e.Sessions[len(e.Sessions)-1].When)
}

// drawDemanded draws an episode that is often ready, with tests of endurance.
func drawDemanded(t *rapid.T) *shoulder.Episode {
	e := shouldertest.Draw(t)
	if rapid.Bool().Draw(t, "ready") {
		e = drawReady(t)
	}
	for i := range e.Sessions {
		for range rapid.IntRange(0, 2).Draw(t, "tests of endurance") {
			e.Sessions[i].Outcomes = append(e.Sessions[i].Outcomes, shoulder.Outcome{
				Source: shouldertest.Next(), Measure: "endurance", Value: exact.MustParse(fmt.Sprint(rapid.IntRange(30, 120).Draw(t, "seconds"))),
			})
		}
	}
	return e
}

func lessEndurance(t *rapid.T, s *shoulder.Session) bool {
	if len(s.Outcomes) == 0 {
		return false
	}
	o := &s.Outcomes[rapid.IntRange(0, len(s.Outcomes)-1).Draw(t, "which")]
	o.Value = exact.Int(int64(rapid.IntRange(0, int(o.Value.Float64())).Draw(t, "less endurance")))
	return true
}

// A worse number never makes a demand more certainly met.
func TestWorseNeverMeetsADemand(t *testing.T) {
	worse := map[string]func(*rapid.T, *shoulder.Session) bool{
		"less force": lessForce, "more pain": morePain, "less range": lessRange, "less endurance": lessEndurance,
	}
	for name, makeWorse := range worse {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				e := drawDemanded(t)
				changed := clone(e)
				if s := latest(changed); s == nil || !makeWorse(t, s) {
					return
				}
				before, after := assessedForDemands(e).Readiness, assessedForDemands(changed).Readiness
				if doubtIsGone(before, after) {
					return
				}
				for i := range after.Demands {
					if a, b := after.Demands[i].Verdict, before.Demands[i].Verdict; a > b {
						t.Fatalf("%s rose from %v to %v", after.Demands[i].Row.ID, b, a)
					}
				}
			})
		})
	}
}

// A value left out never meets a demand: whatever was probably or clearly not met is not
// clear at best, and the value is named as missing.
func TestLessNeverMeetsADemand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawDemanded(t)
		changed := clone(e)
		s := latest(changed)
		if s == nil {
			return
		}
		if rapid.Bool().Draw(t, "endurance") {
			s.Outcomes = nil
		} else {
			takeOut(t, s)
		}
		if changed.Latest() != e.Latest() {
			return
		}
		before, after := assessedForDemands(e).Readiness, assessedForDemands(changed).Readiness
		for i := range after.Demands {
			a, b := &after.Demands[i], &before.Demands[i]
			if a.Verdict.Met() && !b.Verdict.Met() || a.Verdict > b.Verdict && len(a.Missing()) <= len(b.Missing()) {
				t.Fatalf("%s rose from %v to %v with %d missing", a.Row.ID, b.Verdict, a.Verdict, len(a.Missing()))
			}
		}
	})
}

// No demand is met under a red flag, nor while the shoulder is not ready for functional
// work, nor before a repair bears it.
func TestNoDemandIsMetBeyondReadiness(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawDemanded(t)
		a := assessedForDemands(e)
		code := rapid.SampledFrom(redflag.Codes[:]).Draw(t, "flag")
		flags := append([]redflag.Flag{{Code: code, Now: redflag.Measured{When: a.AsOf}}}, a.Readiness.Flags...)
		flagged := readiness.Judge(e, a.Measurements, a.Course, flags, a.Protocol, a.AsOf)
		for i := range a.Readiness.Demands {
			d, f := &a.Readiness.Demands[i], &flagged.Demands[i]
			permitted := a.Readiness.Tissue.Healing.Phase >= d.Row.PermittedLoad
			if d.Verdict.Met() && (a.Readiness.Overall != readiness.ReadyForFunctional || !permitted || len(d.Holds) > 0) {
				t.Fatalf("%s is %v while the shoulder is %v", d.Row.ID, d.Verdict, a.Readiness.Overall)
			}
			if f.Verdict > min(d.Verdict, measure.NotClear) || !slices.Contains(f.Holds, readiness.HeldByFlag) {
				t.Fatalf("%s is %v under a red flag, %v without", f.Row.ID, f.Verdict, d.Verdict)
			}
		}
	})
}

// The courses that the properties draw do meet demands, and miss them, or they would prove
// nothing.
func TestDemandsAreMetAndMissed(t *testing.T) {
	seen := map[measure.Certainty]bool{}
	rapid.Check(t, func(t *rapid.T) {
		for _, d := range assessedForDemands(drawDemanded(t)).Readiness.Demands {
			seen[d.Verdict] = true
		}
	})
	if !seen[measure.ClearlyMet] && !seen[measure.ProbablyMet] || !seen[measure.NotClear] || !seen[measure.ClearlyNot] {
		t.Errorf("only seen %v", seen)
	}
}
