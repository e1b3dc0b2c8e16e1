package wording

import (
	"slices"
	"testing"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/shoulder"
)

func TestIssues(t *testing.T) {
	notRead := func(path string) fault.Issue {
		return fault.Issue{Kind: fault.NotRead, Path: path, Detail: "not part of it", Diagnostic: "quoted input"}
	}
	for _, tt := range []struct {
		name   string
		issues []fault.Issue
		want   []string
	}{
		{"none", nil, []string{"No input was dropped or corrected."}},
		{"about the whole", []fault.Issue{{Kind: fault.NotMeasured}}, []string{"Measurement missing."}},
		{
			"with a place", []fault.Issue{{Kind: fault.SideMissing, Path: "Bundle.entry[3].resource", Detail: "expected right or left."}},
			[]string{"Bundle.entry[3].resource: Side missing: expected right or left."},
		},
		{
			"many alike stand together", []fault.Issue{
				notRead("Bundle.entry[1]"), {Kind: fault.Stale, Path: "Bundle.entry[2]"}, notRead("Bundle.entry[3]"),
				notRead("Bundle.entry[4]"), notRead("Bundle.entry[5]"), notRead("Bundle.entry[6]"),
			},
			[]string{
				"Bundle.entry[1], Bundle.entry[3], Bundle.entry[4] and 2 more: Outside the scope of the assessment: not part of it.",
				"Bundle.entry[2]: Too old to decide with.",
			},
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Issues(tt.issues); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// The page says what was dropped, and not only of which kind the problem was.
func TestIssuesInBriefNameWhatWasDropped(t *testing.T) {
	day := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	issues := []fault.Issue{
		{Kind: fault.ValueKind, Subject: fault.Subject{Kind: fault.OfPain, Context: shoulder.PainWorst24h, When: day}},
		{Kind: fault.NotPossible, Subject: fault.Subject{Kind: fault.OfStrength, Motion: shoulder.External, Position: shoulder.AtSide}},
		{Kind: fault.NotRead, Subject: fault.Subject{Kind: fault.OfProcedure, CodeSystem: "OPS"}},
		{Kind: fault.NotRead}, {Kind: fault.NotRead},
	}
	want := []string{
		"Worst pain in 24 hours of 2026-06-01: Value of another type.",
		"Strength, external rotation with the arm at the side: Test perhaps not possible: ask why.",
		"Procedure (OPS): Outside the scope of the assessment.",
		"Outside the scope of the assessment (2×).",
	}
	if got := For("en").IssuesInBrief(issues); !slices.Equal(got, want) {
		t.Errorf("%q, want %q (by definition)", got, want)
	}
}
