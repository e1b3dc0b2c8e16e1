package report

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// What forbids training and what tells to train never stand on one page.
func TestThePatientIsNeverToldBoth(t *testing.T) {
	forbids := []string{
		"before you train on", "Do not train its strength yet", "must not be loaded", "No strength exercise for now", "No exercise before",
	}
	allows := []string{
		"Go on with your strength exercises", "You can train for", "may train on", "strong enough for the next step", "That is far enough",
	}
	for _, mode := range []plan.Mode{plan.Isometric, plan.RhythmicStabilisation, plan.Isotonic} {
		allows = append(allows, wording.For("en").Plain().Mode(mode))
	}
	rapid.Check(t, func(t *rapid.T) {
		a := drawAssessment(t)
		text := strings.Join(strings.Fields(Patient(a, wording.For("en"))), " ")
		for _, no := range forbids {
			for _, yes := range allows {
				if strings.Contains(text, no) && strings.Contains(text, yes) {
					t.Fatalf("the page says %q and %q:\n%s", no, yes, text)
				}
			}
		}
	})
}

// drawAssessment draws an episode of a few visits with a repair, statements and doubts.
func drawAssessment(t *rapid.T) *assess.Assessment {
	percent := rapid.SampledFrom([]string{"", "0", "8", "9.2", "40", "60", "74", "80", "92", "95", "100", "140"})
	small := rapid.SampledFrom([]string{"", "0", "1", "3", "5", "6", "8"})
	lift := rapid.SampledFrom([]string{"", "60", "100", "140", "170"})
	var visits []shouldertest.Visit
	for i := range rapid.IntRange(1, 3).Draw(t, "visits") {
		strength := func(label string) string { return percent.Draw(t, label) }
		visits = append(visits, shouldertest.Visit{
			Day: 200 + 14*i, ER: [3]string{strength("er"), strength("er"), strength("er")}, IR: shouldertest.All(strength("ir")),
			Flexion: lift.Draw(t, "flexion"), Abduction: lift.Draw(t, "abduction"),
			Pain: small.Draw(t, "pain"), RestPain: small.Draw(t, "rest"), WorstPain: small.Draw(t, "worst"),
		})
	}
	e := shouldertest.Episode(visits...)
	p := protocol.Default()
	stated := func(label string) *shoulder.Statement {
		if !rapid.Bool().Draw(t, label) {
			return nil
		}
		return &shoulder.Statement{
			Source: shouldertest.Next(), When: shouldertest.Day(rapid.IntRange(190, 240).Draw(t, label+" day")), IsDay: true,
			Cleared: rapid.Bool().Draw(t, label+" says yes"),
		}
	}
	if x := stated("examined"); x != nil {
		e.Examinations = append(e.Examinations, *x)
	}
	if x := stated("cleared"); x != nil {
		e.Clearances = append(e.Clearances, *x)
	}
	if rapid.Bool().Draw(t, "repaired") {
		e.Repairs = []shoulder.Repair{{Source: shouldertest.Next(), Side: shoulder.Right, Date: shouldertest.Day(rapid.IntRange(0, 200).Draw(t, "repaired on"))}}
	}
	if rapid.Bool().Draw(t, "permitted") {
		phase := rapid.SampledFrom(shoulder.LoadPhases[:]).Draw(t, "phase")
		e.Permits = []shoulder.Permit{{Source: shouldertest.Next(), When: shouldertest.Day(200), Phase: phase}}
	}
	e.ComparisonAffected = rapid.IntRange(0, 4).Draw(t, "comparison affected") == 0
	e.Incomplete = rapid.IntRange(0, 4).Draw(t, "incomplete") == 0
	return assess.Assess(e, p, shouldertest.Day(240))
}
