package plan

import (
	"slices"
	"testing"

	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func purposes(p *Plan) (all []Purpose) {
	for _, e := range p.Exercises {
		all = append(all, e.Purpose)
	}
	return all
}

// A first amount of functional work goes beside strengthening when all conditions
// hold at once. The first case has them all; each other one lacks a single one.
func TestFirstFunctionalWork(t *testing.T) {
	tests := []struct {
		name  string
		begin bool
		edit  func(*visit)
		alter func(*shoulder.Episode)
	}{
		{"everything holds", true, nil, nil},
		{"pain at rest 3 of 10", true, func(v *visit) { v.RestPain = "3" }, nil},
		{"pain at rest 4 of 10", false, func(v *visit) { v.RestPain = "4" }, nil},
		{"pain at rest not known", false, func(v *visit) { v.RestPain = "" }, nil},
		{"pain at rest 9 of 10", false, func(v *visit) { v.RestPain = "9" }, nil},
		{"pain in the test 3 of 10", true, func(v *visit) { v.Pain = "3" }, nil},
		{"pain in the test 4 of 10", false, func(v *visit) { v.Pain = "4" }, nil},
		{"pain in the test not known", false, func(v *visit) { v.Pain = "" }, nil},
		{"worst pain not known: only full functional work asks for it", true, func(v *visit) { v.WorstPain = "" }, nil},
		{"external at the side only", false, func(v *visit) { v.ER[0] = "70" }, nil},
		{"internal at the side only", false, func(v *visit) { v.IR[0] = "70" }, nil},
		{"internal in flexion, 74.9 %", false, func(v *visit) { v.IR[1] = "74.9" }, nil},
		{"external in abduction, 74.9 %", false, func(v *visit) { v.ER[2] = "74.9" }, nil},
		{"external in abduction, 75 %", true, func(v *visit) { v.ER[2] = "75" }, nil},
		{"external in abduction not measured", false, func(v *visit) { v.ER[2] = "" }, nil},
		{"elevation closed by range", false, func(v *visit) { v.Flexion = "130" }, nil},
		{"a test in doubt", false, func(v *visit) { v.ER[0] = "80 80 130" }, nil},
		{"no unaffected side", false, nil, func(e *shoulder.Episode) { e.ComparisonAffected = true }},
		{"repaired 19 weeks ago", false, nil, repairedBefore(19)},
		{"repaired 20 weeks ago", true, nil, repairedBefore(20)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := complete(300, "80")
			if tt.edit != nil {
				tt.edit(&v)
			}
			e := shouldertest.Episode(v)
			if tt.alter != nil {
				tt.alter(e)
			}
			if got := slices.Contains(purposes(planned(e)), BeginFunction); got != tt.begin {
				t.Errorf("begins functional work: %v, want %v", got, tt.begin)
			}
		})
	}
}

// repairedBefore is a repair so many weeks before the visit of day 300.
func repairedBefore(weeks int) func(*shoulder.Episode) {
	return func(e *shoulder.Episode) {
		e.Repairs = []shoulder.Repair{{Source: shouldertest.Next(), Side: shoulder.Right, Date: shouldertest.Day(300 - 7*weeks)}}
	}
}

// A manual test cannot show that an index is good enough, a retained verdict does
// not show that it is now, and a step back is no time for more.
func TestNoFunctionalWorkOnOldOrRoughGrounds(t *testing.T) {
	graded := complete(14, "80")
	graded.ER, graded.IR = [3]string{}, [3]string{}
	graded.Grades = [3]shoulder.MuscleGrade{shoulder.Grade5, shoulder.Grade5, shoulder.Grade5}
	below, back := complete(14, "80"), complete(14, "80")
	below.ER = all("72")
	back.ER = [3]string{"80", "80", "50"}
	tests := []struct {
		name   string
		visits []visit
	}{
		{"graded 5 by hand", []visit{graded}},
		{"good enough before, 72 % now", []visit{complete(0, "80"), below}},
		{"abduction fell back beyond error", []visit{complete(0, "85"), back}},
		{"even since the comparison side lost strength", []visit{complete(0, "55"), {
			Day: 14, ER: all("55"), IR: all("55"), LeftER: all("60"), LeftIR: all("60"),
			Flexion: "165", Abduction: "165", Pain: "1", RestPain: "1", WorstPain: "3",
		}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := planned(shouldertest.Episode(tt.visits...))
			if got := purposes(p); slices.Contains(got, BeginFunction) || slices.Contains(got, FullFunction) {
				t.Errorf("exercises %v, want no functional work", got)
			}
		})
	}
}

// No sport with load or contact before the phase of a repair permits it.
//
// Source: Thigpen et al. 2016 for the end of the last phase at week 26.
func TestSportWaitsForItsPhase(t *testing.T) {
	for weeks, want := range map[int]bool{20: true, 25: true, 26: false} {
		e := shouldertest.Episode(complete(300, "80"))
		repairedBefore(weeks)(e)
		for _, x := range planned(e).Exercises {
			if x.Purpose == BeginFunction && slices.Contains(x.Cues, NoSportYet) != want {
				t.Errorf("week %d: cues %v, want no sport yet: %v", weeks, x.Cues, want)
			}
		}
	}
}

// In the first phase of resisted work everything is sub-maximal and isometric.
func TestTheFirstPhaseIsSubmaximal(t *testing.T) {
	for weeks, want := range map[int]bool{12: true, 13: true, 14: false} {
		e := shouldertest.Episode(complete(300, "80"))
		repairedBefore(weeks)(e)
		p := planned(e)
		if len(p.Exercises) == 0 {
			t.Fatalf("week %d: no exercises", weeks)
		}
		for _, x := range p.Exercises {
			if slices.Contains(x.Cues, SubmaximalOnly) != want || (x.Mode == Isometric) != want {
				t.Errorf("week %d: %v with %v, want sub-maximal: %v", weeks, x.Mode, x.Cues, want)
			}
		}
	}
}
