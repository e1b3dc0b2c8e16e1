package readiness

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// kinds are the concerns in order.
func kinds(r *Readiness) string {
	var all []string
	for i := range r.Concerns {
		all = append(all, fmt.Sprint(r.Concerns[i].Kind))
	}
	return strings.Join(all, " ")
}

// Two visits that are ready for functional work, and one thing at the second that a
// careful clinician would stop for.
func TestConcernsKeepFunctionalWorkClosed(t *testing.T) {
	both := []shoulder.ArmPosition{flexion, abduction}
	otherHurts := func(score string, context shoulder.PainContext) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			s.Pains = append(s.Pains, shoulder.Pain{Source: next(), Side: shoulder.Left, Context: context, Score: exact.MustParse(score)})
		}
	}
	abducts := func(newtons string) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			for range 3 {
				for side, value := range map[shoulder.Side]string{shoulder.Right: newtons, shoulder.Left: "100"} {
					s.Trials = append(s.Trials, shoulder.Trial{
						Source: next(), Motion: shoulder.AbductionMotion, Position: shoulder.AtSide, Side: side, Contraction: shoulder.Make,
						Instrument: shoulder.Handheld, Value: exact.MustParse(value),
					})
				}
			}
		}
	}
	tests := []struct {
		name   string
		edit   func(first, last *visit)
		alter  func(*shoulder.Session)
		want   string
		source string
	}{
		{"nothing", nil, nil, "", "by definition"},
		{"active flexion 19 degrees less", func(_, last *visit) { last.Flexion = "151" }, nil, "", "protocol: 20 degrees are a real change"},
		{"active flexion 20 degrees less", func(_, last *visit) { last.Flexion = "150" }, nil, "range-fell", "protocol: 20 degrees"},
		{"active abduction 29 degrees less", func(_, last *visit) { last.Abduction = "141" }, nil, "range-fell", "under the 30 degrees of the red flag"},
		{"active flexion 170 and 150 on one day", nil, motionOf(shoulder.Flexion, shoulder.Right, true, "150"), "range-fell ranges-disagree", "protocol: 20 degrees cannot both be right; the lower one decides"},
		{"active flexion 170 and 151 on one day", nil, motionOf(shoulder.Flexion, shoulder.Right, true, "151"), "", "within 20 degrees"},
		{"passive flexion 170 and 190 on one day", func(_, last *visit) { last.PassiveFlexion = "170" }, motionOf(shoulder.Flexion, shoulder.Right, false, "190"), "ranges-disagree", "protocol: 20 degrees"},
		{"held steady, then not", func(first, last *visit) { first.Steady, last.Unsteady = both, both }, nil, "steadiness-lost", "by definition"},
		{"comparison shoulder lifts to 80 of 170 degrees", nil, liftsOther("80", "170"), "comparison-cannot-lift", "protocol: below 90 degrees, passively at least 30 more"},
		{"comparison shoulder lifts to 90 of 170 degrees", nil, liftsOther("90", "170"), "", "protocol: below 90 degrees"},
		{"comparison shoulder is stiff: 80 of 109 degrees", nil, liftsOther("80", "109"), "", "protocol: passively at least 30 degrees more"},
		{"comparison shoulder 6 of 10 in the test", nil, otherHurts("6", shoulder.PainDuringResistedTest), "comparison-painful", "protocol: over 5"},
		{"comparison shoulder 6 of 10 at rest", nil, otherHurts("6", shoulder.PainAtRest), "comparison-painful", "protocol: over 5"},
		{"abduction at 30 %", nil, abducts("30"), "weak-elsewhere", "by hand: ln(75/30) = 0.916 is beyond the error of one index, 0.14 at 10 %"},
		{"abduction at 70 %", nil, abducts("70"), "", "by hand: ln(75/70) = 0.069 is within it"},
		{"comparison shoulder 5 of 10", nil, otherHurts("5", shoulder.PainDuringResistedTest), "", "protocol: over 5"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			first, last := complete(0, "100"), complete(14, "100")
			if tt.edit != nil {
				tt.edit(&first, &last)
			}
			e := episode(first, last)
			if tt.alter != nil {
				tt.alter(&e.Sessions[1])
			}
			r := judged(e)
			if got := kinds(r); got != tt.want {
				t.Errorf("concerns %q, want %q (%s)", got, tt.want, tt.source)
			}
			if ready := r.Overall == ReadyForFunctional; ready != (tt.want == "") {
				t.Errorf("overall = %v beside %q", r.Overall, tt.want)
			}
		})
	}
}

// An arm that was never held steady is no loss, and is not held free in functional work.
func TestAnUnsteadyArmDoesNoFunctionalWork(t *testing.T) {
	first, last := complete(0, "95"), complete(14, "95")
	last.Unsteady = []shoulder.ArmPosition{abduction}
	r := judged(episode(first, last))
	if r.Overall == ReadyForFunctional || r.Motions[0].Step != StepAbduction90Supported {
		t.Errorf("overall %v, step %v, want abduction supported", r.Overall, r.Motions[0].Step)
	}
	held := slices.ContainsFunc(r.Motions[0].Holding, func(c *Criterion) bool { return c.Rule == ArmSteady && c.Position == abduction })
	if len(r.Concerns) != 0 || !held {
		t.Errorf("concerns %q, held by the arm: %v, want none and true", kinds(r), held)
	}
}

// Evenness with a shoulder that hurt at one of two visits is confirmed by neither.
func TestAPainfulComparisonSideConfirmsNothing(t *testing.T) {
	for _, at := range []int{0, 1} {
		e := episode(complete(0, "95"), complete(14, "95"))
		e.Sessions[at].Pains = append(e.Sessions[at].Pains, shoulder.Pain{
			Source: next(), Side: shoulder.Left, Context: shoulder.PainDuringResistedTest, Score: exact.Int(8),
		})
		if at == 0 { // asked again, and gone
			e.Sessions[1].Pains = append(e.Sessions[1].Pains, shoulder.Pain{
				Source: next(), Side: shoulder.Left, Context: shoulder.PainDuringResistedTest, Score: exact.Int(1),
			})
		}
		r := judged(e)
		confirmed := r.Motions[0].Positions[0].Confirmed
		if confirmed.Verdict != NotMet || at == 1 && confirmed.Basis != ComparisonHurts {
			t.Errorf("hurts at visit %d: confirmed %v by %v, want not met", at+1, confirmed.Verdict, confirmed.Basis)
		}
	}
}

// Beyond the age at which a measurement decides, the first thing is to test again.
func TestAnOldTestIsAConcern(t *testing.T) {
	e, p := episode(complete(0, "95"), complete(14, "95")), protocol.Default()
	for days, want := range map[int]string{42: "", 43: "strength-too-old", 180: "strength-too-old"} {
		asOf, m := day(14+days), measure.Measure(e, p)
		if got := kinds(Judge(e, m, course.Episode(e, m, p), redflag.Find(e, m, p, asOf), p, asOf)); got != want {
			t.Errorf("%d days: %q, want %q (protocol: 42 days)", days, got, want)
		}
	}
}

// Another instrument, and both sides at 50 %: evenness by it opens nothing new.
func TestALossOfBothSidesBehindAnotherInstrument(t *testing.T) {
	hand := complete(0, "95")
	belt := complete(14, "50")
	belt.Belt, belt.LeftER, belt.LeftIR = true, all("52"), all("52")
	if got := kinds(judged(episode(hand, belt))); got != "both-sides-fell" {
		t.Errorf("95 to 50 N and 100 to 52 N: %q, want both-sides-fell (by hand: 47 and 48 %%, protocol: 40 %%)", got)
	}
	belt.LeftER, belt.LeftIR = all("90"), all("90")
	if got := kinds(judged(episode(hand, belt))); got != "" {
		t.Errorf("one side alone: %q, want none: its index shows it", got)
	}
}

// A red flag that nobody has examined keeps functional work closed for one more visit, though
// the strength is whole again; one that was examined does not.
func TestAFlagThatWasNotExaminedIsAConcern(t *testing.T) {
	visits := func(strengths ...string) *shoulder.Episode {
		var all []visit
		for i, strength := range strengths {
			all = append(all, complete(14*i, strength))
		}
		return episode(all...)
	}
	for _, tt := range []struct {
		name   string
		of     *shoulder.Episode
		want   string
		source string
	}{
		{"whole again at once", visits("100", "100", "50", "100"), "flag-unexamined", "by definition: the visit before was to be examined"},
		{"whole again at two visits", visits("100", "50", "100", "100"), "", "by definition: the visit before had none"},
		{"no flag", visits("100", "98", "100"), "", "by definition"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(tt.of)
			if got := kinds(r); got != tt.want {
				t.Errorf("concerns %q, want %q (%s)", got, tt.want, tt.source)
			}
			if tt.want != "" && r.Overall == ReadyForFunctional {
				t.Error("ready beside a concern")
			}
		})
	}
	e := visits("100", "100", "50", "100")
	e.Examinations = append(e.Examinations, shoulder.Statement{Source: next(), When: e.Sessions[2].When.AddDate(0, 0, 1), Cleared: true})
	if got := kinds(judged(e)); got != "" {
		t.Errorf("examined since: %q, want none", got)
	}
}

// A first visit that works at the side does not go up because both sides fell alike.
func TestNoStepUpByALossOfBothSides(t *testing.T) {
	hand, belt := complete(0, "70"), complete(14, "40")
	belt.Belt, belt.LeftER, belt.LeftIR = true, all("42"), all("42")
	r := judged(episode(hand, belt))
	if step := r.Motions[0].Step; step != StepAtSide {
		t.Errorf("step %v, want at the side as before (concerns %q)", step, kinds(r))
	}
}
