package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func TestOutcome(t *testing.T) {
	o := Outcome([]fault.Issue{
		{Severity: fault.Warning, Kind: fault.UnitAlias, Path: "Bundle.entry[3].resource.valueQuantity.code", Detail: "a mass", Diagnostic: `found "kg"`},
		{Severity: fault.Error, Kind: fault.SeveralPatients, Detail: "two"},
	})
	first, second := o.Issue[0], o.Issue[1]
	if first.Severity != "warning" || first.Code != "code-invalid" || first.Details.Text != "a mass" || first.Diagnostics != `found "kg"` ||
		!slices.Equal(first.Expression, []string{"Bundle.entry[3].resource.valueQuantity.code"}) || !hasCode(first.Details, "unit-alias") {
		t.Errorf("first issue %+v %+v", first, first.Details)
	}
	if second.Severity != "error" || second.Code != "business-rule" || second.Expression != nil {
		t.Errorf("second issue %+v, want an error about the whole, at no place", second)
	}
}

// FHIR asks for at least one issue.
func TestOutcomeOfNothing(t *testing.T) {
	o := Outcome(nil)
	if len(o.Issue) != 1 || o.Issue[0].Severity != "information" || o.Issue[0].Details.Text == "" {
		t.Errorf("%+v, want one piece of information", o.Issue)
	}
}

// Each note of the core stands at the place of the input that it is about.
func TestIssues(t *testing.T) {
	external := func(s *sent, when, side string, newtons ...string) *fhir.Observation {
		return s.strength(when, shoulder.External, shoulder.AtSide, side, newtons...)
	}
	tests := []struct {
		name string
		make func(*sent)
		kind fault.Kind
		path string // "" for none
		says string // part of the detail or the diagnostic
	}{
		{"single trial", func(s *sent) {
			external(s, firstVisit, "right", "80")
			external(s, firstVisit, "left", "100", "100")
		}, fault.SingleTrial, "Bundle.entry[1].resource", "at least 2"},
		{"single trial of the other side", func(s *sent) {
			external(s, firstVisit, "right", "80", "80")
			external(s, firstVisit, "left", "100")
		}, fault.SingleTrial, "Bundle.entry[3].resource", "left"},
		{"scattered trials", func(s *sent) {
			external(s, firstVisit, "right", "70", "86")
			external(s, firstVisit, "left", "100", "100")
		}, fault.TrialsScattered, "Bundle.entry[1].resource", "14.5 %"}, // by hand: 11.314 / 78
		{"outlier", func(s *sent) {
			external(s, firstVisit, "right", "80", "81", "100")
			external(s, firstVisit, "left", "100", "100")
		}, fault.TrialOutlier, "Bundle.entry[3].resource", "used all the same"},
		{"trials disagree", func(s *sent) {
			external(s, firstVisit, "right", "80", "81", "130")
			external(s, firstVisit, "left", "100", "100")
		}, fault.TrialsDisagree, "Bundle.entry[3].resource", "right: 80.0, 81.0, 130.0 N"}, // 130 is 1.6 times the median
		{"two trials disagree, and neither is picked", func(s *sent) {
			external(s, firstVisit, "right", "50", "90")
			external(s, firstVisit, "left", "100", "100")
		}, fault.TrialsDisagree, "Bundle.entry[1].resource", "measurement-confirmed"},
		{"sides exchanged", func(s *sent) {
			s.both(firstVisit, shoulder.External, shoulder.AtSide, "160")
		}, fault.SidesMayBeSwapped, "Bundle.entry[1].resource", "right: 160.0 N on 2026-03-02; external rotation, arm-at-side, left: 100.0 N"},
		{"another unit", func(s *sent) { inAnotherUnit(s) },
			fault.UnitMayBeWrong, "Bundle.entry[10].resource", "right: 78.4 N on 2026-03-23; external rotation, arm-at-side, right: 8.0 N"}, // of one time o10 comes before o9
		{"the other side lost strength", func(s *sent) { weakerOtherSide(s) },
			fault.ComparisonDeclined, "Bundle.entry[7].resource", "left: 50.0 N on 2026-03-23; external rotation, arm-at-side, left: 100.0 N"},
		{"make against break", func(s *sent) {
			external(s, firstVisit, "right", "100", "100")
			for _, newtons := range []string{"146.9", "146.9"} {
				external(s, firstVisit, "left", newtons).Component[2].Value = coded("break")
			}
		}, fault.NotComparable, "Bundle.entry[1].resource", "make and a break"},
		{"other side not tested", func(s *sent) {
			external(s, firstVisit, "right", "80", "80")
		}, fault.NotMeasured, "Bundle.entry[1].resource", "other side was not tested"},
		{"other side too old", func(s *sent) {
			external(s, firstVisit, "left", "100", "100")
			external(s, "2026-06-01T09:30:00+02:00", "right", "80", "80")
		}, fault.Stale, "Bundle.entry[3].resource", "too old to compare"},
		{"index too old to decide with", func(s *sent) {
			s.both(firstVisit, shoulder.External, shoulder.AtSide, "80")
			s.pain("2026-06-01T09:30:00+02:00", "1")
		}, fault.Stale, "Bundle.entry[1].resource", "42 days"},
		{"range missing", func(s *sent) {
			s.both(firstVisit, shoulder.External, shoulder.AtSide, "80")
		}, fault.NotMeasured, "", "active range of flexion"},
		{"pain missing", func(s *sent) {
			s.both(firstVisit, shoulder.External, shoulder.AtSide, "80")
		}, fault.NotMeasured, "", "pain during the resisted test"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := newSent()
			tt.make(s)
			issues := allIssues(t, s)
			found := slices.ContainsFunc(issues, func(i fault.Issue) bool {
				return i.Kind == tt.kind && i.Path == tt.path && i.Severity == fault.Warning && strings.Contains(i.Detail+i.Diagnostic, tt.says)
			})
			if !found {
				t.Errorf("issues %+v, want a warning %s at %q that says %q", issues, tt.kind, tt.path, tt.says)
			}
		})
	}
}

// What is complete and alike leaves nothing to say.
func TestNoIssues(t *testing.T) {
	s := newSent()
	s.visit(firstVisit, "60", "150", "2")
	if issues := allIssues(t, s); len(issues) != 0 {
		t.Errorf("%+v, want none", issues)
	}
}

// A single trial of years ago decides nothing any more.
func TestOldScoresAreNotNoted(t *testing.T) {
	s := newSent()
	s.strength("2025-03-02T09:30:00+01:00", shoulder.External, shoulder.AtSide, "right", "40")
	s.visit(firstVisit, "60", "150", "2")
	for _, i := range allIssues(t, s) {
		if i.Kind == fault.SingleTrial {
			t.Errorf("%+v, want nothing about the old trial", i)
		}
	}
}

// Details may be logged: they hold no measured value.
func TestDetailsHoldNoMeasurement(t *testing.T) {
	s := newSent()
	s.strength(firstVisit, shoulder.External, shoulder.AtSide, "right", "61.7", "83.9")
	for _, i := range allIssues(t, s) {
		if strings.Contains(i.Detail, "61.7") || strings.Contains(i.Detail, "83.9") || strings.Contains(i.Detail, "21.") {
			t.Errorf("detail %q quotes a measurement", i.Detail)
		}
	}
}

func TestCheckSaysWhatWasUnderstood(t *testing.T) {
	s := faulty()
	s.bundle.Entry[1].Resource.(*fhir.Observation).Value = quantity("20", "[lbf_av]")
	b := s.answer(t, Check)
	if len(b.Entry) != 1 || b.BundleType != "collection" {
		t.Fatalf("%s of %d entries, want a collection of the OperationOutcome alone", b.BundleType, len(b.Entry))
	}
	o := b.Entry[0].Resource.(*fhir.OperationOutcome)
	understood, dropped := 0, false
	for _, i := range o.Issue {
		switch {
		case i.Severity == "error" || i.Severity == "fatal":
			t.Errorf("%+v: an answer has no errors", i)
		case i.Code == "informational" && i.Expression != nil:
			understood++
		case slices.Equal(i.Expression, []string{"Bundle.entry[5].resource"}):
			dropped = true
		}
	}
	if understood != 4 || !dropped {
		t.Errorf("%d understood, dropped one listed %v; want 4 and the one without a side", understood, dropped)
	}
	pounds := slices.IndexFunc(o.Issue, func(i fhir.OutcomeIssue) bool { return slices.Contains(i.Expression, "Bundle.entry[1].resource") })
	if d := o.Issue[pounds].Diagnostics; !strings.Contains(d, "20 [lbf_av]") || !strings.Contains(d, "88.96443230521") {
		t.Errorf("diagnostics %q, want the value as received and in newtons (1 [lbf_av] = 4.4482216152605 N: UCUM)", d)
	}
}

// What clinicians state is understood like a measurement.
func TestCheckSaysWhatWasStated(t *testing.T) {
	s := everyInput(t)["built: examined"]
	s.statement(fhir.CodePermittedLoad, coded("load-elevated"))
	o := s.answer(t, Check).Entry[0].Resource.(*fhir.OperationOutcome)
	said := map[string]string{}
	for _, i := range o.Issue {
		if i.Details != nil && len(i.Details.Coding) > 0 {
			said[i.Details.Coding[0].Code] += i.Diagnostics + "; "
		}
	}
	for code, want := range map[string]string{
		fhir.CodeExaminedAndCleared:       "read as true",
		fhir.CodePermittedLoad:            "read as load-elevated",
		fhir.CodeExternalRotationStrength: "read as 30 N, confirmed",
	} {
		if !strings.Contains(said[code], want) {
			t.Errorf("%s: %q, want %q", code, said[code], want)
		}
	}
}

// allIssues are the issues of a collection.
func allIssues(t *testing.T, s *sent) []fault.Issue {
	t.Helper()
	a, reading := s.assessed(t, protocol.Default())
	return Issues(a, reading, Collection)
}

// What is the same of several places is said once, with each place and what is to be
// known of it.
func TestIssuesOfSeveralPlaces(t *testing.T) {
	s := newSent()
	for _, p := range shoulder.Positions {
		s.strength(firstVisit, shoulder.External, p, "right", "80")
		s.strength(firstVisit, shoulder.External, p, "left", "100")
	}
	r := of[*fhir.DiagnosticReport](s.answer(t, Transaction))[0]
	single := 0
	for _, i := range r.Contained[0].(*fhir.OperationOutcome).Issue {
		if !hasCode(i.Details, "single-trial") {
			continue
		}
		single++
		if known := strings.Split(i.Diagnostics, "; "); len(i.Expression) != 6 || len(known) != 6 {
			t.Errorf("places %v, known %v; want one of each of six tests", i.Expression, known)
		}
	}
	if single != 1 {
		t.Errorf("%d issues say that there was a single trial, want one", single)
	}
}
