package assess

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder/shouldertest"
)

// Under a red flag there is nothing to train and nothing to aim at, and the
// examination is asked for before all else.
func TestAFlagEmptiesThePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := assessed(shouldertest.Draw(t))
		if !a.Readiness.Examine() {
			return
		}
		if n := len(a.Plan.Exercises) + len(a.Plan.Goals); n > 0 {
			t.Fatalf("%d exercises and %d goals under %v", len(a.Plan.Exercises), len(a.Plan.Goals), a.Readiness.Flags[0].Code)
		}
		if len(a.Plan.Requests) == 0 || a.Plan.Requests[0].Ask != plan.AskExamination || !a.Plan.Requests[0].First {
			t.Fatalf("requests = %+v, want the examination first", a.Plan.Requests)
		}
	})
}

// No number below the threshold is called even or confirmed.
func TestEvenIsNeverSaidBelowTheThreshold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := assessed(shouldertest.Draw(t)).Readiness
		for i := range r.Motions {
			for k := range r.Motions[i].Positions {
				p := &r.Motions[i].Positions[k]
				said := p.Even.Verdict == readiness.Met || p.Confirmed.Verdict == readiness.Met
				if said && (p.Symmetry == nil || !protocol.Default().Symmetry.Even.Met(p.Symmetry.Index)) {
					t.Fatalf("%v %v is called even: %+v", r.Motions[i].Motion, p.Position, p)
				}
			}
		}
	})
}

// Functional work never stands beside a red flag that holds, or a doubt, or without
// an unaffected side to compare with.
func TestFunctionIsClosedUnderFlagsAndDoubts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		a := assessed(e)
		open := a.Readiness.Overall == readiness.ReadyForFunctional
		for i := range a.Readiness.Motions {
			open = open || a.Readiness.Motions[i].Step == readiness.StepFunctional
		}
		for _, x := range a.Plan.Exercises {
			open = open || x.Purpose == plan.BeginFunction || x.Purpose == plan.FullFunction
		}
		if open && (a.Readiness.Examine() || len(a.Readiness.Doubts) > 0 || e.ComparisonAffected) {
			t.Fatalf("functional work beside %d flags and %d doubts, both sides affected: %v",
				len(a.Readiness.Flags), len(a.Readiness.Doubts), e.ComparisonAffected)
		}
	})
}

// Every number of an answer is one. Only the variation of a single trial, of which
// there is none, is not.
func TestNoNumberIsNotANumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := assessed(shouldertest.Draw(t))
		for _, part := range []any{*a.Measurements, *a.Readiness, *a.Plan} {
			findNaN(t, reflect.ValueOf(part), reflect.TypeOf(part).Name())
		}
	})
}

func findNaN(t *rapid.T, v reflect.Value, path string) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) {
			t.Fatalf("%s is not a number", path)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			findNaN(t, v.Elem(), path)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			findNaN(t, v.Index(i), path)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "Variation" {
				findNaN(t, v.Field(i), path+"."+name)
			}
		}
	}
}
