package readiness

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// Without an unaffected side a step opens by strength that rose beyond error since
// the first measurement, or by the manual test; nothing is ever even or functional.
func TestStepsWithoutAnUnaffectedSide(t *testing.T) {
	graded := func(v visit, g shoulder.MuscleGrade) visit {
		v.Grades = [3]shoulder.MuscleGrade{g, g, g}
		return v
	}
	tests := []struct {
		name    string
		visits  []visit
		step    Step
		basis   Basis
		overall Overall
		source  string
	}{
		{"first visit", []visit{complete(0, "95")}, StepAtSide, NoYardstick, InsufficientData, "nothing to compare with"},
		{
			"60 N, then 80 N", []visit{complete(0, "60"), complete(28, "80")}, StepAtSide, ChangeFromFirst, Strengthening,
			"1.96 x sqrt(2) x 12.2 % (one trial) of 70 N is 24 N",
		},
		{
			"60 N, then 95 N", []visit{complete(0, "60"), complete(28, "95")}, StepAbduction90Supported, ChangeFromFirst, Strengthening,
			"1.96 x sqrt(2) x 12.2 % (one trial) of 78 N is 26 N",
		},
		{
			"60 N, then 120 N, twice", []visit{complete(0, "60"), complete(14, "120"), complete(28, "120")},
			StepAbduction90Supported, ChangeFromFirst, Strengthening, "never functional without a yardstick",
		},
		{
			"risen, but in pain", []visit{complete(0, "60"), {Day: 28, ER: all("95"), IR: all("95"), Flexion: "170", Abduction: "170", Pain: "6"}},
			StepAtSide, ChangeFromFirst, ExamineFirst, "pain gates as ever; from 1 to 6 it surges as well",
		},
		{
			"risen, but stiff", []visit{complete(0, "60"), {Day: 28, ER: all("95"), IR: all("95"), Flexion: "170", Abduction: "130", Pain: "1"}},
			StepFlexion90Supported, ChangeFromFirst, ExamineFirst, "range gates as ever; 40 degrees were lost as well",
		},
		{"grade 4", []visit{graded(complete(0, "60"), shoulder.Grade4)}, StepAbduction90Supported, ManualTest, Strengthening, "grade 4 or more"},
		{"grade 4-", []visit{graded(complete(0, "60"), shoulder.Grade4Minus)}, StepAtSide, ManualTest, Strengthening, "grade 4 or more"},
		{
			"grade 5 twice", []visit{graded(complete(0, "60"), shoulder.Grade5), graded(complete(14, "60"), shoulder.Grade5)},
			StepAbduction90Supported, ManualTest, Strengthening, "a manual test shows no evenness",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(tt.visits...)
			e.ComparisonAffected = true
			r := judged(e)
			if r.Overall != tt.overall {
				t.Errorf("overall = %v, want %v (%s)", r.Overall, tt.overall, tt.source)
			}
			for i := range r.Motions {
				p := &r.Motions[i].Positions[0]
				if r.Motions[i].Step != tt.step || p.GoodEnough.Basis != tt.basis {
					t.Errorf("%v on %v, want %v on %v (%s)", r.Motions[i].Step, p.GoodEnough.Basis, tt.step, tt.basis, tt.source)
				}
				if p.Even.Verdict != NotMeasured || p.Confirmed.Verdict != NotMeasured {
					t.Errorf("even %v, confirmed %v, want neither measured", p.Even.Verdict, p.Confirmed.Verdict)
				}
			}
		})
	}
}
