package record

import (
	"net/http"
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// openGoals are the goals that count, and planned those that a plan refers to.
func openGoals(f *filing) (open []string) {
	for _, status := range []string{"proposed", "accepted", "active"} {
		open = append(open, f.having("Goal", "lifecycleStatus", status)...)
	}
	slices.Sort(open)
	return open
}

func goalsOfPlan(f *filing, at string) (goals []string) {
	for _, g := range list(f.files[at].content["goal"]) {
		goals = append(goals, g.(map[string]any)["reference"].(string))
	}
	slices.Sort(goals)
	return goals
}

// One plan lives over three visits: it is updated, and no goal is left behind.
func TestLivingPlanStaysTheSame(t *testing.T) {
	f := newFiling(t)
	s := newSent()
	for i, visit := range []struct{ when, percent, degrees, pain string }{
		{firstVisit, "60", "120", "7"}, {secondVisit, "80", "160", "2"}, {thirdVisit, "93", "170", "1"},
	} {
		s.visit(visit.when, visit.percent, visit.degrees, visit.pain)
		f.settle(s, LivingTransaction)
		plans := f.addresses("CarePlan/")
		if len(plans) != 1 || f.files[plans[0]].version != i+1 {
			t.Fatalf("visit %d: plans %v, want one in version %d: %s", i+1, plans, i+1, f.state())
		}
		if open, of := openGoals(f), goalsOfPlan(f, plans[0]); !slices.Equal(open, of) {
			t.Errorf("visit %d: open goals %v, of the plan %v: none is left behind", i+1, open, of)
		}
	}
	// Pain of 7 was over the limit of 5 at the first visit, 120 degrees under the 135 of the
	// range; at the last 1 and 170.
	if n := len(f.having("Goal", "lifecycleStatus", "completed")); n < 2 {
		t.Errorf("%d goals completed, want pain and range at least", n)
	}
	if reports := f.having("DiagnosticReport", "status", "partial"); len(reports) != 3 {
		t.Errorf("%d reports, want one a visit", len(reports))
	}
}

// What a clinician accepted, changed or wrote stays as it is, and the new proposal
// says what it replaces.
func TestClinicianIsNeverOverwritten(t *testing.T) {
	f := newFiling(t)
	s := newSent()
	s.visit(firstVisit, "60", "150", "7")
	f.settle(s, LivingTransaction)
	accepted := f.addresses("CarePlan/")[0]
	f.change(accepted, map[string]any{
		"status": "active", "intent": "plan", "author": map[string]any{"reference": "Practitioner/1"},
		"note": []any{map[string]any{"text": "Start gently.", "authorReference": map[string]any{"reference": "Practitioner/1"}}},
	})
	goals := f.having("Goal", "lifecycleStatus", "proposed")
	f.change(goals[0], map[string]any{"lifecycleStatus": "active"})
	f.change(goals[1], map[string]any{"lifecycleStatus": "rejected"})
	kept := []string{accepted, goals[0], goals[1]}

	s.visit(secondVisit, "70", "155", "6")
	f.settle(s, LivingTransaction)
	s.visit(thirdVisit, "72", "160", "6")
	f.settle(s, LivingTransaction)
	for _, at := range kept {
		if v := f.files[at].version; v != 2 {
			t.Errorf("%s has version %d, want 2: as the clinician left it", at, v)
		}
	}
	drafts := f.having("CarePlan", "status", "draft")
	if len(drafts) != 1 || f.files[drafts[0]].version != 2 {
		t.Fatalf("drafts %v, want one, created at the second visit and updated at the third", drafts)
	}
	replaces := list(f.files[drafts[0]].content["replaces"])
	if len(replaces) != 1 || replaces[0].(map[string]any)["reference"] != accepted {
		t.Errorf("the draft replaces %v, want the accepted plan", replaces)
	}
	if open, of := openGoals(f), goalsOfPlan(f, drafts[0]); !slices.Equal(open, of) || !slices.Contains(of, goals[0]) || slices.Contains(of, goals[1]) {
		t.Errorf("open goals %v, of the draft %v: want the accepted one, and not the rejected one", open, of)
	}
}

// Each of these makes a plan or goal somebody else's.
func TestEveryTouchKeeps(t *testing.T) {
	reference := func(to string) any { return map[string]any{"reference": to} }
	text := func(s string) any { return []any{map[string]any{"text": s}} }
	for name, with := range map[string]map[string]any{
		"CarePlan/status":      {"status": "on-hold"},
		"CarePlan/note":        {"note": text("by a clinician")},
		"CarePlan/author":      {"author": reference("Practitioner/1")},
		"CarePlan/contributor": {"contributor": []any{reference("Practitioner/1")}},
		"CarePlan/careTeam":    {"careTeam": []any{reference("CareTeam/1")}},
		"CarePlan/basedOn":     {"basedOn": []any{reference("CarePlan/x")}},
		"CarePlan/period":      {"period": map[string]any{"start": "2026-03-03"}},
		"CarePlan/activity":    {"activity": []any{map[string]any{"reference": reference("ServiceRequest/1")}}},
		"CarePlan/title":       {"title": "Mine"},
		"CarePlan/extension":   {"extension": []any{map[string]any{"url": "urn:a:x", "valueBoolean": true}}},
		"Goal/status":          {"lifecycleStatus": "on-hold"},
		"Goal/note":            {"note": text("by a clinician")},
		"Goal/expressedBy":     {"expressedBy": reference("Practitioner/1")},
		"Goal/target":          {"target": []any{map[string]any{"dueDate": "2026-12-01"}}},
		"Goal/priority":        {"priority": map[string]any{"text": "high"}},
		"Goal/statusReason":    {"statusReason": "agreed"},
		"Goal/outcomeCode":     {"outcomeCode": text("better")},
	} {
		for _, o := range []Output{Transaction, LivingTransaction} {
			t.Run(name+"/"+o.String(), func(t *testing.T) {
				f, s := newFiling(t), newSent()
				s.visit(firstVisit, "60", "150", "4")
				f.settle(s, o)
				typeName := name[:len("Goal")+len("Plan")*btoi(name[0] == 'C')]
				at := f.addresses(typeName + "/")[0]
				f.change(at, with)
				s.visit(secondVisit, "70", "155", "4")
				f.settle(s, o)
				if v := f.files[at].version; v != 2 {
					t.Errorf("version %d, want 2: as it was left", v)
				}
			})
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Without the stored plan nothing is overwritten, and the answer says what to send.
func TestLivingPlanWithoutTheStoredOne(t *testing.T) {
	f, s := newFiling(t), newSent()
	s.visit(firstVisit, "60", "150", "4")
	f.post(s.answer(t, LivingTransaction))
	first := f.addresses("CarePlan/")[0]
	f.change(first, map[string]any{"status": "active"})
	s.visit(secondVisit, "80", "160", "2")
	answer := s.answer(t, LivingTransaction)
	for _, e := range answer.Entry {
		if e.Request.Method != http.MethodPost || e.Request.IfNoneExist == "" {
			t.Errorf("%s: %+v, want a conditional create", e.Resource.Type(), e.Request)
		}
	}
	f.post(answer)
	if v := f.files[first].version; v != 2 {
		t.Errorf("the accepted plan has version %d, want 2: as it was left", v)
	}
	if !hasIssue(t, answer, "plan-not-sent") {
		t.Error("no issue says that the stored plan is wanted")
	}
}

// hasIssue reports whether the report of a transaction carries an issue of a kind.
func hasIssue(t *testing.T, b *fhir.Bundle, kind string) bool {
	t.Helper()
	for _, r := range of[*fhir.DiagnosticReport](b) {
		for _, contained := range r.Contained {
			for _, i := range contained.(*fhir.OperationOutcome).Issue {
				if hasCode(i.Details, kind) {
					return true
				}
			}
		}
	}
	return false
}

// A stored plan without id or version cannot be updated safely, and is not.
func TestStoredPlanWithoutVersion(t *testing.T) {
	s := twoVisits()
	for _, e := range newlyPosted(t, onePosition("60"), LivingTransaction).into(newSent()).bundle.Entry {
		if c, ok := e.Resource.(*fhir.CarePlan); ok {
			c.Meta = nil
			s.bundle.Entry = append(s.bundle.Entry, e)
		}
	}
	answer := s.answer(t, LivingTransaction)
	if !hasIssue(t, answer, "stored-version-missing") {
		t.Error("no issue says that a version is wanted")
	}
	for _, e := range answer.Entry {
		if c, ok := e.Resource.(*fhir.CarePlan); ok && (e.Request.Method != http.MethodPost || len(c.Replaces) != 1) {
			t.Errorf("%+v replaces %v, want a new plan that replaces the stored one", e.Request, c.Replaces)
		}
	}
}

func newlyPosted(t *testing.T, s *sent, o Output) *filing {
	t.Helper()
	f := newFiling(t)
	f.settle(s, o)
	return f
}

// The new proposal replaces the earlier one, which is revoked if nobody accepted it.
func TestTransactionReplacesThePlan(t *testing.T) {
	s := onePosition("60")
	f := newlyPosted(t, s, Transaction)
	first := f.addresses("CarePlan/")[0]
	s.both(secondVisit, shoulder.External, shoulder.AtSide, "70")
	f.settle(s, Transaction)
	drafts := f.having("CarePlan", "status", "draft")
	if f.files[first].content["status"] != "revoked" || len(drafts) != 1 {
		t.Fatalf("the first plan is %v, drafts %v; want it revoked and one draft", f.files[first].content["status"], drafts)
	}
	if open, of := openGoals(f), goalsOfPlan(f, drafts[0]); !slices.Equal(open, of) {
		t.Errorf("open goals %v, of the draft %v", open, of)
	}
}

// The plan of the other shoulder, and of another patient, is another's.
func TestLivingPlansOfOthersAreOthers(t *testing.T) {
	s := twoVisits()
	f := newlyPosted(t, s, LivingTransaction)
	before := f.state()
	s.involved = shoulder.Left
	f.settle(s, LivingTransaction)
	for _, at := range f.addresses("") {
		if v := f.files[at].version; v != 1 {
			t.Errorf("%s has version %d, want 1: nothing of the other shoulder is touched\nbefore %s", at, v, before)
		}
	}
	if n := len(f.having("CarePlan", "status", "draft")); n != 2 {
		t.Errorf("%d drafts, want one a shoulder", n)
	}
}

// The same assessment under another protocol takes the place of the first.
func TestProtocolChange(t *testing.T) {
	s := twoVisits()
	f := newlyPosted(t, s, LivingTransaction)
	indices := f.addresses("Observation/")
	a, reading := f.into(s).assessed(t, loaded(t, `{"id": "clinic", "symmetry": {"even": {"value": 92, "comparison": ">=", "unit": "%", "source": "test"}}}`))
	p := f.post(Build(a, reading, Options{Output: LivingTransaction}))
	if p.conflict || p.updated == 0 || !slices.Equal(f.addresses("Observation/"), indices) {
		t.Errorf("%+v, results %v, want those of before %v, updated", p, f.addresses("Observation/"), indices)
	}
	if n := len(f.addresses("CarePlan/")); n != 1 {
		t.Errorf("%d plans, want one", n)
	}
}
