package intake

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func TestStrength(t *testing.T) {
	r := read(t, strengthOf("s1",
		value(ucum("21.5", "[lbf_av]")),
		with(fhir.CodeArmSupport, ownConcept("supported")),
		with(fhir.CodeContractionType, ownConcept("make")),
		with(fhir.CodePainDuringTest, fhir.Boolean(true)),
		func(o *fhir.Observation) { o.Method = ownConcept("handheld-dynamometry") }))
	want := shoulder.Trial{
		Motion: shoulder.External, Position: shoulder.AtSide, Support: shoulder.Supported, Side: shoulder.Right,
		Contraction: shoulder.Make, Instrument: shoulder.Handheld, Dimension: shoulder.Force,
		Value:   exact.MustParse("95.63676472810075"), // by hand: 21.5 x 4.4482216152605
		Painful: true,
	}
	byValue := cmp.Comparer(func(a, b exact.Number) bool { return a.Cmp(b) == 0 })
	if diff := cmp.Diff([]shoulder.Trial{want}, r.Episode.Sessions[0].Trials, byValue); diff != "" {
		t.Errorf("trials (-want +got)\n%s", diff)
	}
	wantIssues(t, r.Issues)
	if got := r.Sources[0].Received; got != "21.5 [lbf_av]" {
		t.Errorf("Received = %q, want it as sent", got)
	}
}

func TestEveryMeasurement(t *testing.T) {
	ownCode := func(c string) fhir.Coding { return coding(fhir.SystemShoulder, c) }
	loincCode := func(c string) fhir.Coding { return coding(fhir.SystemLOINC, c) }
	right, flexed := onSide(fhir.SNOMEDRightShoulder), with(fhir.CodeArmPosition, ownConcept("flexion-90"))
	r := read(t,
		observation("01", ownCode(fhir.CodeInternalRotationStrength), ucum("12", "N.m"), right, flexed),
		observation("02", ownCode(fhir.CodeExternalRotationGrade), fhir.String("4-"), right, flexed),
		observation("03", ownCode(fhir.CodeInternalRotationGrade), fhir.Integer(5), right, flexed),
		observation("04", loincCode(fhir.LOINCAbductionPassive), ucum("95.5", "deg"), right),
		observation("05", loincCode(fhir.LOINCExternalRotationActive), ucum("60", "deg"), right, flexed),
		observation("06", coding(fhir.SystemSNOMED, fhir.SNOMEDPainScore), fhir.Integer(3), with(fhir.CodePainContext, ownConcept("worst-24h"))),
		observation("07", ownCode(fhir.CodeArmHeldSteady), fhir.Boolean(true), right, flexed),
		observation("08", ownCode(fhir.CodeLeverArmLength), ucum("25", "cm"), right),
		observation("09", ownCode(fhir.CodeResistedClearance), fhir.Boolean(true), by(clinician)),
		observation("10", ownCode(fhir.CodeCuffTearSize), ucum("52", "mm"), right),
		observation("11", coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness), snomedConcept(fhir.SNOMEDLeftHanded)),
		observation("12", loincCode(fhir.LOINCBodyWeight), ucum("70", "kg")),
		observation("13", loincCode(fhir.LOINCBodyHeight), ucum("175", "cm")),
	)
	wantIssues(t, r.Issues)
	if r.Used != 13 {
		t.Errorf("Used = %d, want 13", r.Used)
	}
	if len(r.Episode.Sessions) != 1 {
		t.Fatalf("%d sessions, want 1", len(r.Episode.Sessions))
	}
	s := r.Episode.Sessions[0]
	if trial := s.Trials[0]; trial.Dimension != shoulder.Torque || trial.Motion != shoulder.Internal || trial.Position != shoulder.Flexion90 {
		t.Errorf("trial = %+v, want an internal rotation torque at 90 degrees of flexion", trial)
	}
	if s.Grades[0].Value != shoulder.Grade4Minus || s.Grades[1].Value != shoulder.Grade5 {
		t.Errorf("grades = %v, want 4- and 5", s.Grades)
	}
	if m := s.Ranges[0]; m.Movement != shoulder.Abduction || m.Active {
		t.Errorf("range = %+v, want passive abduction", m)
	}
	wantNumber(t, "abduction", s.Ranges[0].Degrees, "95.5")
	if m := s.Ranges[1]; m.Movement != shoulder.ExternalRotation || !m.Active || m.Position != shoulder.Flexion90 {
		t.Errorf("range = %+v, want active external rotation at 90 degrees of flexion", m)
	}
	if p := s.Pains[0]; p.Context != shoulder.PainWorst24h || p.Side != shoulder.SideUnknown {
		t.Errorf("pain = %+v, want the worst of 24 hours without a side", p)
	}
	if !s.Steady[0].Steady || s.Steady[0].Position != shoulder.Flexion90 {
		t.Errorf("steadiness = %+v, want steady at 90 degrees of flexion", s.Steady[0])
	}
	wantNumber(t, "lever", s.Levers[0].Metres, "0.25")
	wantNumber(t, "tear", r.Episode.Tears[0].Centimetres, "5.2")
	wantNumber(t, "body mass", s.Mass.Value, "70")
	wantNumber(t, "body height", s.Height.Value, "1.75")
	if !r.Episode.Clearances[0].Cleared || r.Episode.Handedness != shoulder.LeftHanded {
		t.Errorf("clearance %v, handedness %v, want cleared and left", r.Episode.Clearances, r.Episode.Handedness)
	}
}

// Beside a usable Observation another one is dropped, or noted, for one reason.
func TestDropped(t *testing.T) {
	local := coding("urn:site", "x")
	unknownModifier := []fhir.Extension{{URL: "http://example.org/negated", Value: fhir.Boolean(true)}}
	tests := []struct {
		name string
		o    *fhir.Observation
		used int
		want []string
	}{
		{"entered in error", strengthOf("x", func(o *fhir.Observation) { o.Status = "entered-in-error" }), 1,
			[]string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"cancelled", strengthOf("x", func(o *fhir.Observation) { o.Status = "cancelled" }), 1,
			[]string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"preliminary", strengthOf("x", func(o *fhir.Observation) { o.Status = "preliminary" }), 1,
			[]string{"warning status-retracted Bundle.entry[1].resource.status"}},
		{"no status", strengthOf("x", func(o *fhir.Observation) { o.Status = "" }), 1,
			[]string{"warning status-retracted Bundle.entry[1].resource"}},
		{"amended is used", strengthOf("x", func(o *fhir.Observation) { o.Status = "amended" }), 2, nil},
		{"corrected is used", strengthOf("x", func(o *fhir.Observation) { o.Status = "corrected" }), 2, nil},
		{"comparator", strengthOf("x", value(&fhir.Quantity{Value: "5", Comparator: "<", System: fhir.SystemUCUM, Code: "N"})), 1,
			[]string{"warning comparator Bundle.entry[1].resource.valueQuantity.comparator"}},
		{"modifier extension", strengthOf("x", func(o *fhir.Observation) { o.ModifierExtension = unknownModifier }), 1,
			[]string{"warning modifier-unknown Bundle.entry[1].resource.modifierExtension[0]"}},
		{"modifier extension on a component", strengthOf("x", func(o *fhir.Observation) { o.Component[0].ModifierExtension = unknownModifier }), 1,
			[]string{
				"warning position-missing Bundle.entry[1].resource",
				"warning modifier-unknown Bundle.entry[1].resource.component[0].modifierExtension[0]",
			}},
		{"implicit rules", strengthOf("x", func(o *fhir.Observation) { o.ImplicitRules = "http://example.org/rules" }), 1,
			[]string{"warning modifier-unknown Bundle.entry[1].resource.implicitRules"}},
		{"sampled data", strengthOf("x", value(fhir.OtherValue("SampledData"))), 1,
			[]string{"warning value-kind Bundle.entry[1].resource.valueSampledData"}},
		{"vertebral level for internal rotation", observation("x", coding(fhir.SystemLOINC, fhir.LOINCInternalRotationActive), fhir.String("T7"), onSide(fhir.SNOMEDRightShoulder)), 1,
			[]string{"warning value-kind Bundle.entry[1].resource.valueString"}},
		{"no value", strengthOf("x", value(nil)), 1,
			[]string{"information value-missing Bundle.entry[1].resource"}},
		{"reason for the absence", strengthOf("x", value(nil), func(o *fhir.Observation) {
			o.DataAbsentReason = concept(coding(fhir.SystemDataAbsentReason, "not-performed"))
		}), 1,
			[]string{"information value-missing Bundle.entry[1].resource.dataAbsentReason"}},
		{"value and the reason for its absence", strengthOf("x", func(o *fhir.Observation) { o.DataAbsentReason = concept(coding(fhir.SystemDataAbsentReason, "error")) }), 1,
			[]string{"warning value-missing Bundle.entry[1].resource.dataAbsentReason"}},
		{"Quantity without a number", strengthOf("x", value(ucum("", "N"))), 1,
			[]string{"information value-missing Bundle.entry[1].resource.valueQuantity"}},
		{"nil Quantity", strengthOf("x", value((*fhir.Quantity)(nil))), 1,
			[]string{"warning value-kind Bundle.entry[1].resource.valueQuantity"}},
		{"strength without a position", strengthOf("x", withoutPosition()), 1,
			[]string{"warning position-missing Bundle.entry[1].resource"}},
		{"position without a value", strengthOf("x", withoutPosition(), with(fhir.CodeArmPosition, nil)), 1,
			[]string{"warning position-missing Bundle.entry[1].resource", "information value-missing Bundle.entry[1].resource.component[0]"}},
		{"position not ours", strengthOf("x", withoutPosition(), with(fhir.CodeArmPosition, concept(local))), 1,
			[]string{"warning position-missing Bundle.entry[1].resource", "warning code-unknown Bundle.entry[1].resource.component[0].valueCodeableConcept"}},
		{"position unknown", strengthOf("x", withoutPosition(), with(fhir.CodeArmPosition, ownConcept("overhead"))), 1,
			[]string{"warning position-missing Bundle.entry[1].resource", "warning code-unknown Bundle.entry[1].resource.component[0].valueCodeableConcept.coding[0]"}},
		{"two positions", strengthOf("x", with(fhir.CodeArmPosition, ownConcept("flexion-90"))), 1,
			[]string{"warning duplicate Bundle.entry[1].resource.component[1].valueCodeableConcept"}},
		{"the same position twice", strengthOf("x", with(fhir.CodeArmPosition, ownConcept("arm-at-side"))), 2, nil},
		{"position as text", strengthOf("x", withoutPosition(), with(fhir.CodeArmPosition, fhir.String("arm-at-side"))), 1,
			[]string{"warning position-missing Bundle.entry[1].resource", "warning value-kind Bundle.entry[1].resource.component[0].valueString"}},
		{"a modifier extension before a component unknown in our system", strengthOf("x", func(o *fhir.Observation) {
			o.Component = []fhir.Component{{Code: *concept(local), ModifierExtension: unknownModifier}, o.Component[0], component("speed", fhir.Integer(60))}
		}), 1, []string{
			"warning modifier-unknown Bundle.entry[1].resource.component[0].modifierExtension[0]",
			"warning code-unknown Bundle.entry[1].resource.component[2].code.coding[0]",
		}},
		{"a code of another system before ours", strengthOf("x", func(o *fhir.Observation) { o.Code.Coding = append([]fhir.Coding{local}, o.Code.Coding...) }), 2, nil},
		{"handedness that is not there", observation("x", coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness), (*fhir.CodeableConcept)(nil)), 1,
			[]string{"warning value-kind Bundle.entry[1].resource.valueCodeableConcept"}},
		{"unknown contraction type", strengthOf("x", with(fhir.CodeContractionType, ownConcept("concentric"))), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.component[1].valueCodeableConcept.coding[0]"}},
		{"component unknown in our system", strengthOf("x", with("speed", fhir.Integer(60))), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.component[1].code.coding[0]"}},
		{"component of another system", strengthOf("x", func(o *fhir.Observation) {
			o.Component = append(o.Component, fhir.Component{Code: *concept(local), Value: fhir.Integer(13)})
		}), 2, []string{"information not-read Bundle.entry[1].resource.component[1].code"}},
		{"component without meaning here", flexionOf("x", with(fhir.CodeArmPosition, ownConcept("arm-at-side"))), 2,
			[]string{"information not-read Bundle.entry[1].resource.component[0].code"}},
		{"method unknown in our system", strengthOf("x", func(o *fhir.Observation) { o.Method = ownConcept("spring-scale") }), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.method.coding[0]"}},
		{"method of another system", strengthOf("x", func(o *fhir.Observation) { o.Method = concept(local) }), 2,
			[]string{"information not-read Bundle.entry[1].resource.method"}},
		{"unknown code of ours", observation("x", coding(fhir.SystemShoulder, "isometric-extension-strength"), ucum("1", "N")), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.code.coding[0]"}},
		{"two measurements in one", strengthOf("x", func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemShoulder, fhir.CodeInternalRotationStrength))
		}), 1, []string{"warning code-unknown Bundle.entry[1].resource.code"}},
		{"a second coding that is not read", strengthOf("x", func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemLOINC, "80322-1"))
		}), 2, nil},
		{"outside the scope", observation("x", coding(fhir.SystemLOINC, "92850-7"), fhir.Integer(1)), 1,
			[]string{"information not-read Bundle.entry[1].resource.code"}},
		{"outside the scope though in error", observation("x", coding(fhir.SystemLOINC, "82291-6"), nil, func(o *fhir.Observation) { o.Status = "entered-in-error" }), 1,
			[]string{"information not-read Bundle.entry[1].resource.code"}},
		{"code of the same number in another system", observation("x", coding("urn:site", fhir.LOINCFlexionActive), ucum("90", "deg"), onSide(fhir.SNOMEDRightShoulder)), 1,
			[]string{"information not-read Bundle.entry[1].resource.code"}},
		{"no code", &fhir.Observation{Status: "final", Subject: &fhir.Reference{Reference: "Patient/p1"}}, 1,
			[]string{"information not-read Bundle.entry[1].resource.code"}},
		{"computed by an earlier answer", observation("x", coding(fhir.SystemShoulder, fhir.CodeLimbSymmetryIndex), ucum("82.5", "%")), 1,
			[]string{"information not-read Bundle.entry[1].resource.code.coding[0]"}},
		{"computed beside a measured code", flexionOf("x", func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemShoulder, fhir.CodeRangeFraction))
		}), 1, []string{"information not-read Bundle.entry[1].resource.code.coding[1]"}},
		{"a component's code as a measurement", observation("x", coding(fhir.SystemShoulder, fhir.CodeArmPosition), fhir.Integer(1)), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.code.coding[0]"}},
		{"every problem at once", strengthOf("x", value(ucum("5", "lbf")), withoutPosition(), func(o *fhir.Observation) { o.BodySite, o.Effective = nil, nil }), 1,
			[]string{
				"warning side-missing Bundle.entry[1].resource",
				"warning date-missing Bundle.entry[1].resource",
				"warning position-missing Bundle.entry[1].resource",
				"warning unit-unknown Bundle.entry[1].resource.valueQuantity.code",
			}},
		{"pain elsewhere", painOf("x", fhir.Integer(8), onSide("72696002")), 1,
			[]string{"information not-read Bundle.entry[1].resource.bodySite"}},
		{"pain context unknown", painOf("x", fhir.Integer(8), with(fhir.CodePainContext, ownConcept("at-night"))), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.component[0].valueCodeableConcept.coding[0]"}},
		{"steadiness as a number", observation("x", coding(fhir.SystemShoulder, fhir.CodeArmHeldSteady), fhir.Integer(1), onSide(fhir.SNOMEDRightShoulder), with(fhir.CodeArmPosition, ownConcept("flexion-90"))), 1,
			[]string{"warning value-kind Bundle.entry[1].resource.valueInteger"}},
		{"handedness unknown", observation("x", coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness), snomedConcept(fhir.SNOMEDRightAndLeft)), 1,
			[]string{"warning code-unknown Bundle.entry[1].resource.valueCodeableConcept"}},
		{"subject is a device", strengthOf("x", about("Device/d1")), 1,
			[]string{"warning patient-other Bundle.entry[1].resource.subject"}},
		{"no subject and no Patient sent", strengthOf("x", func(o *fhir.Observation) { o.Subject = nil }), 1,
			[]string{"warning required-missing Bundle.entry[1].resource"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("good"), tt.o)
			if r.Used != tt.used {
				t.Errorf("Used = %d, want %d", r.Used, tt.used)
			}
			wantIssues(t, r.Issues, tt.want...)
		})
	}
}

func TestTrialComponents(t *testing.T) {
	r := read(t, strengthOf("s1", value(ucum("999", "bananas")),
		with(fhir.CodeTrial, ucum("98.1", "N")),
		with(fhir.CodeTrial, ucum("10", "kgf")),
		with(fhir.CodeTrial, &fhir.Quantity{Value: "90", Comparator: ">", System: fhir.SystemUCUM, Code: "N"}),
		with(fhir.CodeTrial, nil)))
	trials := r.Episode.Sessions[0].Trials
	if len(trials) != 2 || r.Used != 2 {
		t.Fatalf("%d trials, %d used, want 2: the value beside trials is only their summary", len(trials), r.Used)
	}
	wantNumber(t, "first trial", trials[0].Value, "98.1")
	wantNumber(t, "second trial", trials[1].Value, "98.0665")
	if trials[0].Source != trials[1].Source {
		t.Errorf("sources %d and %d, want the one Observation", trials[0].Source, trials[1].Source)
	}
	if got, want := r.Sources[0].Received, "98.1 N; 10 kgf"; got != want {
		t.Errorf("Received = %q, want %q", got, want)
	}
	wantIssues(t, r.Issues,
		"warning comparator Bundle.entry[0].resource.component[3].valueQuantity.comparator",
		"information value-missing Bundle.entry[0].resource.component[4]")
}

func TestEqualValuesAreRepeatedTrials(t *testing.T) {
	r := read(t, strengthOf("s1"), strengthOf("s2"), strengthOf("s3"))
	if got := len(r.Episode.Sessions[0].Trials); got != 3 {
		t.Errorf("%d trials, want 3: equal values under different ids are repetitions", got)
	}
	wantIssues(t, r.Issues)
}

func TestExaminers(t *testing.T) {
	by := func(references ...string) option {
		return func(o *fhir.Observation) {
			for _, r := range references {
				o.Performer = append(o.Performer, fhir.Reference{Reference: r})
			}
		}
	}
	r := read(t,
		flexionOf("a", at("2026-11-01"), by("Practitioner/1", "Organization/9")),
		flexionOf("b", at("2026-11-02"), by("http://example.org/fhir/Practitioner/1")),
		flexionOf("c", at("2026-11-03"), by("Practitioner/2")),
		flexionOf("d", at("2026-11-04"), by("Organization/9")),
		flexionOf("e", at("2026-11-05")))
	var got []shoulder.ExaminerID
	for _, s := range r.Episode.Sessions {
		got = append(got, s.Ranges[0].Examiner)
	}
	if diff := cmp.Diff([]shoulder.ExaminerID{1, 1, 2, 0, 0}, got); diff != "" {
		t.Errorf("examiners (-want +got)\n%s", diff)
	}
}

func TestTooManyMeasurements(t *testing.T) {
	tests := []struct {
		name    string
		trials  int
		refused bool
	}{
		{"at the limit", maxMeasurements, false},
		{"one more", maxMeasurements + 1, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := strengthOf("s1")
			for range tt.trials {
				with(fhir.CodeTrial, ucum("100", "N"))(o)
			}
			_, err := Read(Input{Bundle: bundle(o), Involved: shoulder.Right})
			if got := err != nil; got != tt.refused {
				t.Fatalf("Read refuses = %v (%v), want %v", got, err, tt.refused)
			}
			if tt.refused {
				wantIssues(t, refused(t, Input{Bundle: bundle(o), Involved: shoulder.Right}).Issues, "error too-many-trials Bundle")
			}
		})
	}
}

func TestRefused(t *testing.T) {
	right := shoulder.Right
	tests := []struct {
		name string
		in   Input
		kind fault.Kind
		want []string
	}{
		{"no Bundle", Input{Involved: right}, fault.RequiredMissing, []string{"error required-missing "}},
		{"empty Bundle", Input{Bundle: bundle(), Involved: right}, fault.NothingToAssess, []string{"error nothing-to-assess Bundle"}},
		{"entries without resources", Input{Bundle: &fhir.Bundle{Entry: make([]fhir.Entry, 2)}, Involved: right}, fault.NothingToAssess,
			[]string{"error nothing-to-assess Bundle", "warning required-missing Bundle.entry[0].resource", "warning input-incomplete Bundle.entry[0].resource", "warning required-missing Bundle.entry[1].resource", "warning input-incomplete Bundle.entry[1].resource"}},
		{"empty Bundle and no side", Input{Bundle: bundle()}, fault.NoInvolvedSide,
			[]string{"error no-involved-side Bundle", "error nothing-to-assess Bundle"}},
		{"in Parameters", Input{Bundle: bundle(), Root: "Parameters.parameter[1].resource", Involved: right}, fault.NothingToAssess,
			[]string{"error nothing-to-assess Parameters.parameter[1].resource"}},
		{"only a body weight", Input{Bundle: bundle(observation("w", coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum("70", "kg"))), Involved: right},
			fault.NothingToAssess, []string{"error nothing-to-assess Bundle"}},
		{"the only measurement is dropped", Input{Bundle: bundle(strengthOf("s", onSide("72696002"))), Involved: right}, fault.NothingToAssess,
			[]string{"error nothing-to-assess Bundle", "warning side-missing Bundle.entry[0].resource.bodySite"}},
		{"asOf is a year", Input{Bundle: bundle(strengthOf("s")), Involved: right, AsOf: "2026"}, fault.BadParameter, []string{"error bad-parameter "}},
		{"asOf in Parameters", Input{Bundle: bundle(strengthOf("s")), Root: "Parameters.parameter[0].resource", Involved: right, AsOf: "soon"}, fault.BadParameter,
			[]string{"error bad-parameter Parameters.parameter.where(name = 'asOf').value"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			problems := refused(t, tt.in)
			if problems.Kind() != tt.kind {
				t.Errorf("Kind() = %v, want %v", problems.Kind(), tt.kind)
			}
			wantIssues(t, problems.Issues, tt.want...)
		})
	}
}
