package readiness

import (
	"slices"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

const (
	flexion   = shoulder.Flexion90
	abduction = shoulder.Abduction90
)

// The steps follow the rules of the design: common practice of re-checks in
// three arm positions, with the thresholds 75 and 90 per cent, 135 degrees and
// pain 5 of 10.
func TestSteps(t *testing.T) {
	tests := []struct {
		name    string
		visits  []visit
		er, ir  Step
		overall Overall
		source  string
	}{
		{
			"stiff: 95 degrees of flexion keep flexion closed",
			[]visit{{ER: [3]string{"80"}, IR: [3]string{"85"}, Flexion: "95", Abduction: "90", Pain: "2"}},
			StepAtSide, StepAtSide, LimitedByRange, "check value: 135 degrees open it",
		},
		{
			"75 degrees of flexion, no passive range",
			[]visit{{ER: [3]string{"80"}, IR: [3]string{"85"}, Flexion: "75", Abduction: "90", Pain: "2"}},
			NoStep, NoStep, InsufficientData, "protocol: an arm below 90 degrees may be one that cannot be lifted",
		},
		{
			"134.9 degrees do not open flexion",
			[]visit{{ER: [3]string{"80"}, IR: [3]string{"85"}, Flexion: "134.9", Abduction: "140", Pain: "2"}},
			StepAtSide, StepAtSide, LimitedByRange, "check value: 75 % of 180 is 135",
		},
		{
			"135 degrees open flexion",
			[]visit{{ER: [3]string{"80"}, IR: [3]string{"85"}, Flexion: "135", Abduction: "135", Pain: "2"}},
			StepFlexion90Supported, StepFlexion90Supported, Strengthening, "check value: 75 % of 180 is 135",
		},
		{
			"abduction asks for both movements",
			[]visit{{ER: [3]string{"80", "80"}, IR: [3]string{"80", "80"}, Flexion: "134.9", Abduction: "150", Pain: "2"}},
			StepAtSide, StepAtSide, LimitedByRange, "both flexion and abduction are needed",
		},
		{
			"abduction closed by its own range",
			[]visit{{ER: [3]string{"80", "80"}, IR: [3]string{"80", "80"}, Flexion: "150", Abduction: "134.9", Pain: "2"}},
			StepFlexion90Supported, StepFlexion90Supported, LimitedByRange, "both flexion and abduction are needed",
		},
		{
			"good at the side, weak overhead",
			[]visit{{ER: [3]string{"95", "60", "50"}, IR: [3]string{"95", "74.9", "60"}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepFlexion90Supported, StepFlexion90Supported, Strengthening, "75 in flexion is not reached",
		},
		{
			"rotations on different steps",
			[]visit{{ER: [3]string{"70", "60", "50"}, IR: [3]string{"95", "92", "78"}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAtSide, StepAbduction90Supported, Strengthening, "each rotation by itself",
		},
		{
			"nobody with a good lower position is sent back",
			[]visit{{ER: [3]string{"76", "75", "75"}, IR: [3]string{"76", "75", "75"}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "entry at any point",
		},
		{
			"a steady arm that is good enough is freed",
			[]visit{{ER: [3]string{"95", "80", "50"}, IR: [3]string{"95", "80", "80"}, Flexion: "160", Abduction: "160", Pain: "2", Steady: []shoulder.ArmPosition{flexion, abduction}}},
			StepAbduction90Supported, StepAbduction90Unsupported, Strengthening, "steady and at least 75",
		},
		{
			"an unsteady arm stays supported",
			[]visit{{ER: [3]string{"95", "80", "80"}, IR: [3]string{"95", "80", "80"}, Flexion: "160", Abduction: "160", Pain: "2", Unsteady: []shoulder.ArmPosition{abduction}}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "the arm has to stay still",
		},
		{
			"no measurement overhead: open provisionally",
			[]visit{{ER: [3]string{"80"}, IR: [3]string{"80"}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepFlexion90Supported, StepFlexion90Supported, Strengthening, "open gates, no measurement",
		},
		{
			"pain over the limit holds",
			[]visit{{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160", Pain: "6"}},
			StepAtSide, StepAtSide, LimitedByPain, "pain 6 of 10 is over 5",
		},
		{
			"pain on the limit is acceptable",
			[]visit{{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160", Pain: "5"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "at most 5",
		},
		{
			"pain not recorded leaves the gate open",
			[]visit{{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "missing gates",
		},
		{
			"range not measured holds",
			[]visit{{ER: all("80"), IR: all("80"), Pain: "2"}},
			StepAtSide, StepAtSide, InsufficientData, "missing gates",
		},
		{
			"one rotation not measured at all",
			[]visit{{ER: all("95"), Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAbduction90Supported, StepAtSide, InsufficientData, "six figures a side make a re-check",
		},
		{
			"even once is not ready",
			[]visit{{ER: all("91"), IR: all("91"), Flexion: "170", Abduction: "170", Pain: "1"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "one session alone never confirms",
		},
		{
			"even twice is ready",
			[]visit{
				complete(0, "100"),
				{Day: 14, ER: all("90"), IR: all("92"), Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "3"},
			},
			StepFunctional, StepFunctional, ReadyForFunctional, "even twice, 7 to 42 days apart, with every pain known",
		},
		{
			"even twice, but the first session leaves it unlikely that all six are",
			[]visit{complete(0, "91"), complete(14, "100")},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "the sessions before the latest have to make it as likely as not",
		},
		{
			"89.99 is not even",
			[]visit{
				complete(0, "100"),
				{Day: 14, ER: [3]string{"91", "91", "89.99"}, IR: all("92"), Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "3"},
			},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "threshold is exact",
		},
		{
			"a session that is hardly uneven between two even ones",
			[]visit{complete(0, "103"), complete(14, "89"), complete(28, "102"), complete(42, "101")},
			StepFunctional, StepFunctional, ReadyForFunctional, "any session 7 to 42 days before confirms; the model weighs what lies between",
		},
		{
			"an uneven session weighs against",
			[]visit{complete(0, "97"), complete(14, "85"), complete(28, "91")},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "the sessions before the latest have to make it as likely as not",
		},
		{
			"one good session after poor ones is not confirmed",
			[]visit{complete(0, "70"), complete(14, "72"), complete(28, "91")},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "one session alone never confirms",
		},
		{
			"two good sessions after many poor ones: all together are not even",
			[]visit{complete(0, "70"), complete(7, "70"), complete(14, "70"), complete(21, "70"), complete(28, "90"), complete(35, "90")},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "the sessions before the latest have to make it as likely as not",
		},
		{
			"far above in one session is not confirmed",
			[]visit{complete(0, "114")},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "one session alone never confirms, however clear",
		},
		{
			"ready needs the range",
			[]visit{
				{ER: all("95"), IR: all("95"), Flexion: "130", Abduction: "170", Pain: "1"},
				{Day: 14, ER: all("95"), IR: all("95"), Flexion: "130", Abduction: "170", Pain: "1"},
			},
			StepAtSide, StepAtSide, LimitedByRange, "range and pain gates open",
		},
		{
			"grades of 4 are good enough",
			[]visit{{Grades: [3]shoulder.MuscleGrade{shoulder.Grade4, shoulder.Grade4, shoulder.Grade3Plus}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "grade 4 or more",
		},
		{
			"grade 4- is not good enough",
			[]visit{{Grades: [3]shoulder.MuscleGrade{shoulder.Grade4Minus, shoulder.Grade4}, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAtSide, StepAtSide, Strengthening, "grade 4 or more",
		},
		{
			"grades of 5 never prove evenness",
			[]visit{
				{Grades: [3]shoulder.MuscleGrade{shoulder.Grade5, shoulder.Grade5, shoulder.Grade5}, Flexion: "170", Abduction: "170", Pain: "0"},
				{Day: 14, Grades: [3]shoulder.MuscleGrade{shoulder.Grade5, shoulder.Grade5, shoulder.Grade5}, Flexion: "170", Abduction: "170", Pain: "0"},
			},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "Tyler et al. 2005: graded normal, 28 % deficit",
		},
		{
			"a dynamometer goes before a grade of 5",
			[]visit{{ER: [3]string{"72", "72", "72"}, IR: all("95"), Grades: [3]shoulder.MuscleGrade{shoulder.Grade5, shoulder.Grade5, shoulder.Grade5}, Flexion: "170", Abduction: "170", Pain: "0"}},
			StepAtSide, StepAbduction90Supported, Strengthening, "Tyler et al. 2005: 28 % deficit",
		},
		{
			"a measurement of six weeks ago still decides",
			[]visit{{ER: all("80"), IR: all("80")}, {Day: 42, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAbduction90Supported, StepAbduction90Supported, Strengthening, "at most 42 days",
		},
		{
			"an older one does not",
			[]visit{{ER: all("80"), IR: all("80")}, {Day: 43, Flexion: "160", Abduction: "160", Pain: "2"}},
			StepAtSide, StepAtSide, InsufficientData, "at most 42 days",
		},
		{
			"nothing at all",
			nil, StepAtSide, StepAtSide, InsufficientData, "definition",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(tt.visits...))
			if r.Motions[0].Step != tt.er || r.Motions[1].Step != tt.ir {
				t.Errorf("steps = %v, %v, want %v, %v (%s)", r.Motions[0].Step, r.Motions[1].Step, tt.er, tt.ir, tt.source)
			}
			if r.Overall != tt.overall {
				t.Errorf("overall = %v, want %v (%s)", r.Overall, tt.overall, tt.source)
			}
		})
	}
}

func TestFallOfALowerPosition(t *testing.T) {
	before := visit{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160", Pain: "2"}
	after := func(day int, atSide string) visit {
		return visit{Day: day, ER: [3]string{atSide, "80", "80"}, IR: all("80"), Flexion: "160", Abduction: "160", Pain: "2"}
	}
	painful := func(v visit) visit { v.Pain = "5"; return v }
	tests := []struct {
		name   string
		visits []visit
		step   Step
		back   bool
		source string
	}{
		{"within error nothing happens", []visit{before, after(14, "70")}, StepAbduction90Supported, false, "the interval of 70 reaches 75"},
		{"beyond error it steps back", []visit{before, after(14, "50")}, StepAtSide, true, "the interval of 50 ends below 75"},
		{"twice below it steps back", []visit{before, after(14, "70"), after(28, "72")}, StepAtSide, true, "two consecutive sessions"},
		{"below, above, below stays", []visit{before, after(14, "70"), after(28, "78"), after(42, "72")}, StepAbduction90Supported, false, "not consecutive"},
		{"more pain in the test does not hide the fall", []visit{before, painful(after(14, "56"))}, StepAtSide, true, "the interval of 56 ends below 75 without the error of a painful test, and not with it"},
		{"never good enough is no fall", []visit{after(0, "70")}, StepAtSide, false, "nothing to fall from"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(tt.visits...)).Motions[0]
			if r.Step != tt.step || (r.SteppedBack != nil) != tt.back {
				t.Errorf("step = %v, stepped back %v, want %v, %v (%s)", r.Step, r.SteppedBack != nil, tt.step, tt.back, tt.source)
			}
		})
	}
}

func TestBesideAndProvisional(t *testing.T) {
	r := judged(episode(visit{ER: [3]string{"92", "80"}, IR: [3]string{"80", "80", "60"}, Flexion: "160", Abduction: "160", Pain: "2"}))
	er, ir := r.Motions[0], r.Motions[1]
	if !er.Provisional || er.Step != StepAbduction90Supported {
		t.Errorf("external: step %v, provisional %v, want abduction without a measurement", er.Step, er.Provisional)
	}
	if !slices.Equal(er.Beside, []shoulder.ArmPosition{flexion}) {
		t.Errorf("external beside = %v, want Flexion: at the side is even", er.Beside)
	}
	if ir.Provisional || !slices.Equal(ir.Beside, []shoulder.ArmPosition{shoulder.AtSide, flexion}) {
		t.Errorf("internal beside = %v, provisional %v, want both lower positions", ir.Beside, ir.Provisional)
	}
}

func TestNeededStrength(t *testing.T) {
	r := judged(episode(visit{ER: [3]string{"88.25"}, IR: all("95"), Flexion: "160", Abduction: "160", Pain: "2"}))
	even := r.Motions[0].Positions[0].Even
	if even.Needed.Text(2) != "90.00" || even.Measured.Text(2) != "88.25" || even.Unit != "N" {
		t.Errorf("needs %v, measured %v %s, want 90.00 and 88.25 N (90 %% of 100 N)", even.Needed, even.Measured, even.Unit)
	}
}

func TestTissueGate(t *testing.T) {
	const visitDay = 100
	repaired := func(weeks, days int) []shoulder.Repair {
		return []shoulder.Repair{{Side: shoulder.Right, Date: day(visitDay - 7*weeks - days)}}
	}
	cleared := func(before int, yes bool) []shoulder.Statement {
		return []shoulder.Statement{{When: day(visitDay - before), Cleared: yes}}
	}
	massive := []shoulder.Tear{{Side: shoulder.Right, Centimetres: exact.Int(5)}}
	tests := []struct {
		name       string
		repairs    []shoulder.Repair
		clearances []shoulder.Statement
		tears      []shoulder.Tear
		verdict    Verdict
		surgeon    bool
		source     string
	}{
		{"no repair", nil, nil, nil, NotApplicable, false, "definition"},
		{"six weeks", repaired(6, 0), nil, nil, NotMet, false, "Thigpen et al. 2016: from week 12"},
		{"a day short of twelve weeks", repaired(11, 6), nil, nil, NotMet, false, "Thigpen et al. 2016"},
		{"twelve weeks", repaired(12, 0), nil, nil, Met, false, "Thigpen et al. 2016"},
		{"twelve weeks of a massive tear", repaired(12, 0), nil, massive, NotMet, false, "one surgeon's protocol: 16 weeks"},
		{"sixteen weeks of a massive tear", repaired(16, 0), nil, massive, Met, false, "one surgeon's protocol: 16 weeks"},
		{"cleared early", repaired(8, 0), cleared(1, true), nil, Met, true, "the surgeon's protocol governs"},
		{"cleared before the repair is no clearance", repaired(8, 0), cleared(60, true), nil, NotMet, false, "a clearance is for one repair"},
		{"refused late", repaired(20, 0), cleared(1, false), nil, NotMet, false, "a refusal always holds"},
		{"refused without a repair", nil, cleared(1, false), nil, NotMet, false, "a refusal always holds"},
		{"no date", []shoulder.Repair{{Side: shoulder.Right}}, nil, nil, NotMeasured, false, "a repair without a date holds and asks"},
		{"no date but cleared", []shoulder.Repair{{Side: shoulder.Right}}, cleared(1, true), nil, Met, true, "the surgeon's protocol governs"},
		{"repair of the other side", []shoulder.Repair{{Side: shoulder.Left, Date: day(visitDay - 7)}}, nil, nil, NotApplicable, false, "the other side heals by itself"},
		{"side not recorded", []shoulder.Repair{{Date: day(visitDay - 7)}}, nil, nil, NotMet, false, "not knowing holds"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(visit{Day: visitDay, ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160", Pain: "2"})
			e.Repairs, e.Clearances, e.Tears = tt.repairs, tt.clearances, tt.tears
			r := judged(e)
			if r.Tissue.Verdict != tt.verdict || r.Tissue.SurgeonGoverns() != tt.surgeon {
				t.Errorf("verdict %v, surgeon %v, want %v, %v (%s)", r.Tissue.Verdict, r.Tissue.SurgeonGoverns(), tt.verdict, tt.surgeon, tt.source)
			}
			closed := tt.verdict == NotMet || tt.verdict == NotMeasured
			if got := r.Overall == NotCleared; got != closed {
				t.Errorf("overall = %v with tissue %v", r.Overall, tt.verdict)
			}
			if closed && r.Motions[0].Step != NoStep {
				t.Errorf("step = %v, want no resisted work", r.Motions[0].Step)
			}
		})
	}
}

func TestPainWithoutContextStandsIn(t *testing.T) {
	e := episode(visit{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160"})
	e.Sessions[0].Pains = []shoulder.Pain{{Source: next(), Score: exact.Int(7)}}
	r := judged(e)
	pain := r.Motions[0].Positions[0].Pain
	if r.Overall != LimitedByPain || pain.Basis != UnstatedPain {
		t.Errorf("overall = %v, basis %v, want pain without context to hold", r.Overall, pain.Basis)
	}
	e.Sessions[0].Pains = append(e.Sessions[0].Pains, shoulder.Pain{Source: next(), Context: shoulder.PainDuringResistedTest, Score: exact.Int(2)})
	if r := judged(e); r.Overall != Strengthening {
		t.Errorf("overall = %v, want the test's own pain to count", r.Overall)
	}
}

func TestPainInOnePositionHoldsThatPosition(t *testing.T) {
	e := episode(visit{ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160"})
	e.Sessions[0].Pains = []shoulder.Pain{
		{Source: next(), Context: shoulder.PainDuringResistedTest, Position: abduction, Score: exact.Int(7)},
		{Source: next(), Context: shoulder.PainDuringResistedTest, Position: shoulder.AtSide, Score: exact.Int(1)},
	}
	r := judged(e)
	if r.Motions[0].Step != StepFlexion90Supported || r.Overall != LimitedByPain {
		t.Errorf("step %v, overall %v, want flexion, limited by pain", r.Motions[0].Step, r.Overall)
	}
}

func TestNoUnaffectedSide(t *testing.T) {
	e := episode(visit{ER: all("95"), IR: all("95"), Flexion: "160", Abduction: "160", Pain: "2"})
	e.ComparisonAffected = true
	r := judged(e)
	if r.Overall != InsufficientData || !r.ComparisonAffected || r.Motions[0].Positions[0].Even.Verdict != NotMeasured {
		t.Errorf("overall %v, even %v, want no verdict on symmetry", r.Overall, r.Motions[0].Positions[0].Even.Verdict)
	}
}
