package plan

import (
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// The load is the protocol's share of the latest strength that is believed; the working
// position is the arm at the side, where the pain of 6 keeps the work isometric.
func TestLoadIsAShareOfTheStrength(t *testing.T) {
	at := func(day int, er string, change func(*visit)) visit {
		v := visit{Day: day, ER: [3]string{er}, IR: [3]string{"60"}, Flexion: "165", Abduction: "165", Pain: "6"}
		if change != nil {
			change(&v)
		}
		return v
	}
	breakTest := func(v *visit) { v.Break = true }
	for _, tt := range []struct {
		name   string
		visits []visit
		want   string // of external rotation at the side, in newtons; empty for none
		source string
	}{
		{"one test", []visit{at(0, "58 58 58", nil)}, "40.6", "70 % of 58"},
		{"the latest test", []visit{at(0, "58 58 58", nil), at(14, "60 60 60", nil)}, "42", "70 % of 60"},
		{"mean of the trials", []visit{at(0, "56 58 60", nil)}, "40.6", "70 % of 58"},
		{"in doubt", []visit{at(0, "58 58 58", nil), at(14, "60 62 140", nil)}, "", "the trials disagree: neither they nor an older test say what it bears"},
		{"a break test reads higher", []visit{at(0, "58 58 58", breakTest)}, "", "no make test"},
		{"a break test behind a make test", []visit{at(0, "58 58 58", nil), at(14, "70 70 70", breakTest)}, "40.6", "70 % of 58"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			found := false
			p := planned(shouldertest.Episode(tt.visits...))
			for i := range p.Exercises {
				e := &p.Exercises[i]
				if e.Motion != shoulder.External || e.Position != shoulder.AtSide {
					continue
				}
				found = true
				got := ""
				if e.Load != nil {
					got = e.Load.Force.String()
				}
				if e.Mode != Isometric || got != tt.want {
					t.Errorf("%s at %q N, want isometric at %q (%s)", e.Mode, got, tt.want, tt.source)
				}
			}
			if !found {
				t.Errorf("no exercise at the side among %v", p.Exercises)
			}
		})
	}
}

// Work that is below full effort, or against what the patient can just lift, has no share.
func TestOnlyADoseWithAShareGivesALoad(t *testing.T) {
	for i, e := range planned(shouldertest.Episode(complete(0, "80"))).Exercises {
		if e.Mode == Isometric || e.Load != nil {
			t.Errorf("exercise %d: %s with %v", i, e.Mode, e.Load)
		}
	}
}

// What was tested too long ago gives no resisted exercise: it is measured first, soon.
func TestNothingIsLoadedByAnOldTest(t *testing.T) {
	e, p := shouldertest.Episode(complete(0, "80"), complete(14, "80")), protocol.Default()
	m, asOf := measured(e), shouldertest.Day(14+43)
	plan := Make(e, m, course.Episode(e, m, p), readiness.Judge(e, m, course.Episode(e, m, p), redflag.Find(e, m, p, asOf), p, asOf), p, asOf)
	if len(plan.Exercises) != 0 {
		t.Errorf("exercises %v, want none before the re-test", plan.Exercises)
	}
	if !plan.Recheck.From.Equal(asOf) {
		t.Errorf("re-check from %v, want at once", plan.Recheck.From)
	}
	if len(plan.Requests) == 0 || !plan.Requests[0].First {
		t.Errorf("requests %v, want to measure first", plan.Requests)
	}
}
