package intake

import (
	"slices"
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func subjectP1() *fhir.Reference { return &fhir.Reference{Reference: "Patient/p1"} }

func conditionOf(id, c string, sites ...*fhir.CodeableConcept) *fhir.Condition {
	condition := &fhir.Condition{Code: snomedConcept(c), Subject: subjectP1()}
	condition.ID = id
	for _, s := range sites {
		condition.BodySite = append(condition.BodySite, *s)
	}
	return condition
}

func withStatus(c *fhir.Condition, clinical, verification string) *fhir.Condition {
	if clinical != "" {
		c.ClinicalStatus = concept(coding(fhir.SystemConditionClinical, clinical))
	}
	if verification != "" {
		c.VerificationStatus = concept(coding(fhir.SystemConditionVerification, verification))
	}
	return c
}

func repairOf(id, when string, sites ...*fhir.CodeableConcept) *fhir.Procedure {
	p := &fhir.Procedure{Status: "completed", Code: snomedConcept(fhir.SNOMEDCuffRepair), Subject: subjectP1()}
	p.ID = id
	if when != "" {
		p.Performed = fhir.DateTime(when)
	}
	for _, s := range sites {
		p.BodySite = append(p.BodySite, *s)
	}
	return p
}

var (
	rightShoulder = snomedConcept(fhir.SNOMEDRightShoulder)
	leftShoulder  = snomedConcept(fhir.SNOMEDLeftShoulder)
	bothShoulders = concept(coding(fhir.SystemSNOMED, fhir.SNOMEDShoulder), coding(fhir.SystemSNOMED, fhir.SNOMEDRightAndLeft))
)

func TestInvolvedSide(t *testing.T) {
	const tear, knee = fhir.SNOMEDFullThicknessTear, "239720000"
	affected := func(path string) string { return "warning comparison-affected Bundle." + path }
	tests := []struct {
		name      string
		stated    shoulder.Side
		resources []fhir.Resource
		want      shoulder.Side // unknown: refused
		affected  bool
		addresses []string
		issues    []string
	}{
		{"stated", shoulder.Left, nil, shoulder.Left, false, nil, nil},
		{"nothing tells it", 0, nil, 0, false, nil, []string{"error no-involved-side Bundle"}},
		{"active Condition", 0, []fhir.Resource{withStatus(conditionOf("c", tear, rightShoulder), "active", "confirmed")}, shoulder.Right, false, []string{"Condition/c"}, nil},
		{"recurrence", 0, []fhir.Resource{withStatus(conditionOf("c", tear, rightShoulder), "recurrence", "")}, shoulder.Right, false, []string{"Condition/c"}, nil},
		{"no status", 0, []fhir.Resource{conditionOf("c", tear, leftShoulder)}, shoulder.Left, false, []string{"Condition/c"}, nil},
		{"any code on a shoulder", 0, []fhir.Resource{conditionOf("c", "125605004", leftShoulder)}, shoulder.Left, false, []string{"Condition/c"}, nil},
		{"side as a second body site", 0, []fhir.Resource{conditionOf("c", tear, snomedConcept(fhir.SNOMEDShoulder), snomedConcept(fhir.SNOMEDLeft))}, shoulder.Left, false, []string{"Condition/c"}, nil},
		{"resolved", 0, []fhir.Resource{withStatus(conditionOf("c", tear, rightShoulder), "resolved", "")}, 0, false, nil,
			[]string{"error no-involved-side Bundle", "information not-read Bundle"}},
		{"refuted", 0, []fhir.Resource{withStatus(conditionOf("c", tear, rightShoulder), "active", "refuted")}, 0, false, nil,
			[]string{"error no-involved-side Bundle", "warning status-retracted Bundle.entry[1].resource.verificationStatus"}},
		{"entered in error", 0, []fhir.Resource{withStatus(conditionOf("c", tear, rightShoulder), "", "entered-in-error")}, 0, false, nil,
			[]string{"error no-involved-side Bundle", "warning status-retracted Bundle.entry[1].resource.verificationStatus"}},
		{"another part of the body", 0, []fhir.Resource{conditionOf("c", knee, snomedConcept("6757004"))}, 0, false, nil,
			[]string{"error no-involved-side Bundle", "information not-read Bundle"}},
		{"without a side", 0, []fhir.Resource{conditionOf("c", tear)}, 0, false, nil,
			[]string{"error no-involved-side Bundle", "information side-missing Bundle.entry[1].resource"}},
		{"with a modifier extension", 0, []fhir.Resource{func() fhir.Resource {
			c := conditionOf("c", tear, rightShoulder)
			c.ModifierExtension = []fhir.Extension{{URL: "http://example.org/x"}}
			return c
		}()}, 0, false, nil, []string{"error no-involved-side Bundle", "warning modifier-unknown Bundle.entry[1].resource.modifierExtension[0]"}},
		{"both sides", 0, []fhir.Resource{conditionOf("c", tear, rightShoulder), conditionOf("d", tear, leftShoulder)}, 0, false, nil,
			[]string{"error no-involved-side Bundle"}},
		{"one Condition of both sides", 0, []fhir.Resource{conditionOf("c", tear, bothShoulders)}, 0, false, nil,
			[]string{"error no-involved-side Bundle"}},
		{"both sides, one stated", shoulder.Right, []fhir.Resource{conditionOf("c", tear, rightShoulder), conditionOf("d", tear, leftShoulder)}, shoulder.Right, true,
			[]string{"Condition/c"}, []string{affected("entry[2].resource")}},
		{"the other side was over", shoulder.Right, []fhir.Resource{withStatus(conditionOf("d", tear, leftShoulder), "inactive", "")}, shoulder.Right, false, nil,
			[]string{"information not-read Bundle"}},
		{"cuff repair", 0, []fhir.Resource{repairOf("r", "2026-06-01", rightShoulder)}, shoulder.Right, false, nil, nil},
		{"Condition beats repair", 0, []fhir.Resource{conditionOf("c", tear, rightShoulder), repairOf("r", "2026-06-01", leftShoulder)}, shoulder.Right, true,
			[]string{"Condition/c"}, []string{affected("entry[2].resource")}},
		{"repairs of both sides", 0, []fhir.Resource{repairOf("r", "2026-06-01", rightShoulder), repairOf("s", "2020-06-01", leftShoulder)}, 0, false, nil,
			[]string{"error no-involved-side Bundle"}},
		{"a repair without a side tells nothing", 0, []fhir.Resource{repairOf("r", "2026-06-01")}, 0, false, nil, []string{"error no-involved-side Bundle"}},
		{"Condition of another patient's device", shoulder.Right, []fhir.Resource{func() fhir.Resource {
			c := conditionOf("c", tear, leftShoulder)
			c.Subject = &fhir.Reference{Reference: "Group/g"}
			return c
		}()}, shoulder.Right, false, nil, []string{"warning patient-other Bundle.entry[1].resource.subject"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in := Input{Bundle: bundle(append([]fhir.Resource{strengthOf("s")}, tt.resources...)...), Involved: tt.stated, Received: received}
			if tt.want == shoulder.SideUnknown {
				wantIssues(t, refused(t, in).Issues, tt.issues...)
				return
			}
			r := readInput(t, in)
			wantIssues(t, r.Issues, tt.issues...)
			if r.Episode.Involved != tt.want || r.Episode.ComparisonAffected != tt.affected {
				t.Errorf("involved %v, comparison affected %v, want %v, %v", r.Episode.Involved, r.Episode.ComparisonAffected, tt.want, tt.affected)
			}
			var addresses []string
			for _, a := range r.Addresses {
				addresses = append(addresses, a.Reference)
			}
			if !slices.Equal(addresses, tt.addresses) {
				t.Errorf("addresses %v, want %v", addresses, tt.addresses)
			}
		})
	}
}

func TestRepairs(t *testing.T) {
	history := func(id string, sites ...*fhir.CodeableConcept) *fhir.Condition {
		return conditionOf(id, fhir.SNOMEDHistoryOfCuffRepair, sites...)
	}
	in := func(status string) *fhir.Procedure {
		p := repairOf("r", "2026-06-01", rightShoulder)
		p.Status = status
		return p
	}
	type repair struct {
		side shoulder.Side
		date string
	}
	const noDate = "0001-01-01"
	tests := []struct {
		name      string
		resources []fhir.Resource
		want      []repair
		issues    []string
	}{
		{"date and side", []fhir.Resource{repairOf("r", "2026-06-01", rightShoulder)}, []repair{{shoulder.Right, "2026-06-01"}}, nil},
		{"end of the operation", []fhir.Resource{func() fhir.Resource {
			p := repairOf("r", "", rightShoulder)
			p.Performed = &fhir.Period{Start: "2026-06-01T22:00:00Z", End: "2026-06-02T01:00:00Z"}
			return p
		}()}, []repair{{shoulder.Right, "2026-06-02"}}, nil},
		{"no side counts for the involved one", []fhir.Resource{repairOf("r", "2026-06-01")}, []repair{{shoulder.Right, "2026-06-01"}},
			[]string{"information side-missing Bundle.entry[1].resource"}},
		{"no date", []fhir.Resource{repairOf("r", "", rightShoulder)}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource"}},
		{"year only", []fhir.Resource{repairOf("r", "2026", rightShoulder)}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource"}},
		{"dated in the future", []fhir.Resource{repairOf("r", "2027-01-01", rightShoulder)}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource", "warning date-future Bundle.entry[1].resource.performedDateTime"}},
		{"dated before 1900", []fhir.Resource{repairOf("r", "1899-12-31", rightShoulder)}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource", "warning date-missing Bundle.entry[1].resource.performedDateTime"}},
		{"both sides", []fhir.Resource{repairOf("r", "2026-06-01", bothShoulders)}, []repair{{shoulder.Right, "2026-06-01"}, {shoulder.Left, "2026-06-01"}},
			[]string{"warning comparison-affected Bundle.entry[1].resource"}},
		{"planned", []fhir.Resource{in("preparation")}, nil, []string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"not done", []fhir.Resource{in("not-done")}, nil, []string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"entered in error", []fhir.Resource{in("entered-in-error")}, nil, []string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"another operation", []fhir.Resource{func() fhir.Resource {
			p := repairOf("r", "2026-06-01", rightShoulder)
			p.Code = snomedConcept("297709009") // open acromioplasty
			return p
		}()}, nil, []string{"information not-read Bundle"}},
		{"history has no date", []fhir.Resource{history("h", rightShoulder)}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource"}},
		{"history though resolved", []fhir.Resource{withStatus(history("h", rightShoulder), "resolved", "")}, []repair{{shoulder.Right, noDate}},
			[]string{"warning clearance-missing Bundle.entry[1].resource"}},
		{"history refuted", []fhir.Resource{withStatus(history("h", rightShoulder), "", "refuted")}, nil,
			[]string{"warning status-retracted Bundle.entry[1].resource.verificationStatus"}},
		{"history beside the dated Procedure", []fhir.Resource{history("h", rightShoulder), repairOf("r", "2026-06-01", rightShoulder)}, []repair{{shoulder.Right, "2026-06-01"}}, nil},
		{"history of the other side", []fhir.Resource{history("h", leftShoulder), repairOf("r", "2026-06-01", rightShoulder)},
			[]repair{{shoulder.Left, noDate}, {shoulder.Right, "2026-06-01"}},
			[]string{"warning comparison-affected Bundle.entry[1].resource", "warning clearance-missing Bundle.entry[1].resource"}},
		{"oldest first", []fhir.Resource{repairOf("b", "2026-06-01", rightShoulder), repairOf("a", "2020-06-01", rightShoulder)},
			[]repair{{shoulder.Right, "2020-06-01"}, {shoulder.Right, "2026-06-01"}}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, append([]fhir.Resource{strengthOf("s")}, tt.resources...)...)
			wantIssues(t, r.Issues, tt.issues...)
			var got []repair
			for _, x := range r.Episode.Repairs {
				got = append(got, repair{x.Side, x.Date.Format(time.DateOnly)})
				if kind := r.Sources[x.Source].Kind; kind != "Procedure" && kind != "Condition" {
					t.Errorf("source is a %s, want the Procedure or Condition", kind)
				}
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("repairs %v, want %v", got, tt.want)
			}
		})
	}
}

// The kinds follow the terms of the codes in SNOMED CT.
func TestKindOfRepair(t *testing.T) {
	tests := []struct {
		name  string
		codes []string
		want  shoulder.RepairKind
	}{
		{"cuff", []string{fhir.SNOMEDCuffRepair}, shoulder.RepairOfCuff},
		{"by suture", []string{fhir.SNOMEDCuffRepairBySuture}, shoulder.RepairBySuture},
		{"acute supraspinatus", []string{fhir.SNOMEDAcuteSupraspinatusRepair}, shoulder.RepairOfAcuteSupraspinatusTear},
		{"old supraspinatus", []string{fhir.SNOMEDLateSupraspinatusRepair}, shoulder.RepairOfOldSupraspinatusTear},
		{"avulsion", []string{fhir.SNOMEDCuffAvulsionRepair}, shoulder.RepairOfCuffAvulsion},
		{"the specific code counts", []string{fhir.SNOMEDCuffAvulsionRepair, fhir.SNOMEDCuffRepair}, shoulder.RepairOfCuffAvulsion},
		{"in either order", []string{fhir.SNOMEDCuffRepair, fhir.SNOMEDCuffAvulsionRepair}, shoulder.RepairOfCuffAvulsion},
		{"beside a code that is not read", []string{"387713003", fhir.SNOMEDCuffRepair}, shoulder.RepairOfCuff},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := repairOf("r", "2026-06-01", rightShoulder)
			p.Code = &fhir.CodeableConcept{}
			for _, c := range tt.codes {
				p.Code.Coding = append(p.Code.Coding, coding(fhir.SystemSNOMED, c))
			}
			r := read(t, strengthOf("s"), p)
			wantIssues(t, r.Issues)
			if got := r.Episode.Repairs[0].Kind; got != tt.want {
				t.Errorf("kind %v, want %v", got, tt.want)
			}
		})
	}
	r := read(t, strengthOf("s"), conditionOf("h", fhir.SNOMEDHistoryOfCuffRepair, rightShoulder))
	if got := r.Episode.Repairs[0].Kind; got != shoulder.RepairInHistory {
		t.Errorf("kind %v of a history, want %v", got, shoulder.RepairInHistory)
	}
}

// An operated side is no yardstick, however the record tells of the operation.
func TestComparisonSideOperated(t *testing.T) {
	tests := []struct {
		name     string
		resource fhir.Resource
		want     bool
	}{
		{"repair of the other side", repairOf("r", "2020-06-01", leftShoulder), true},
		{"repair of both sides", repairOf("r", "2020-06-01", bothShoulders), true},
		{"repair without a date", repairOf("r", "", leftShoulder), true},
		{"history of a repair", conditionOf("h", fhir.SNOMEDHistoryOfCuffRepair, leftShoulder), true},
		{"history of a repair of both sides", conditionOf("h", fhir.SNOMEDHistoryOfCuffRepair, bothShoulders), true},
		{"tear of the other side", conditionOf("c", fhir.SNOMEDFullThicknessTear, leftShoulder), true},
		{"repair of the involved side", repairOf("r", "2020-06-01", rightShoulder), false},
		{"repair without a side", repairOf("r", "2020-06-01"), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := read(t, strengthOf("s"), tt.resource).Episode.ComparisonAffected; got != tt.want {
				t.Errorf("comparison affected = %v, want %v", got, tt.want)
			}
		})
	}
}

// No test before an operation says what the shoulder may bear after it: the assessment is
// of the later of the two days.
func TestRepairAfterTheLastTest(t *testing.T) {
	r := read(t, strengthOf("s", at("2026-11-01")), repairOf("r", "2026-11-10", rightShoulder))
	if got := r.AsOf.Format(time.DateOnly); got != "2026-11-10" || r.Used != 1 {
		t.Errorf("AsOf = %s, Used = %d, want the day of the repair, and one measurement", got, r.Used)
	}
}

// A repair counts also if it is later than other statements; one that is modified in an unknown way may have been one.
func TestRepairBehindOthers(t *testing.T) {
	right := snomedConcept(fhir.SNOMEDRightShoulder)
	if r := read(t, strengthOf("s", at("2026-11-01")), repairOf("p", "2026-11-10", right)); len(r.Episode.Repairs) != 1 {
		t.Errorf("repairs %+v, want the one after the test of strength", r.Episode.Repairs)
	}
	modified := repairOf("p", "2026-11-10", right)
	modified.ModifierExtension = []fhir.Extension{{URL: "https://site.example/not-done", Value: fhir.Boolean(true)}}
	r := read(t, strengthOf("s"), modified)
	wantIssues(t, r.Issues, "warning modifier-unknown Bundle.entry[1].resource.modifierExtension[0]")
	if len(r.Episode.Repairs) != 1 || r.Episode.Repairs[0].Kind != shoulder.RepairPossible {
		t.Errorf("repairs %+v, want one that is possible", r.Episode.Repairs)
	}
	// Of several operations that may be repairs one that is long ago does not hide another.
	unknown := func(id, when string) *fhir.Procedure {
		p := repairOf(id, when, right)
		p.Code = concept(coding("http://www.ama-assn.org/go/cpt", "29827"))
		return p
	}
	if r := read(t, strengthOf("s"), unknown("a", "2020-01-01"), unknown("b", "2026-10-01")); !r.Episode.Incomplete {
		t.Errorf("complete, want the later operation to count as missing: %v", summary(r.Issues))
	}
}
