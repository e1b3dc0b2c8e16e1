package service

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
)

const clinicCodes = "https://clinic.example/codes"

// clinicPipeline has the protocol of a clinic with a score of its own, which is
// invented: 0 to 100 points, 12 are a real change, 15 an important one.
func clinicPipeline(t *testing.T, gate string) *Pipeline {
	t.Helper()
	p, err := protocol.Load([]byte(`
id: clinic
version: "1"
outcomeMeasures:
  - id: arm-comfort
    codes: [{system: "` + clinicCodes + `", code: arm-comfort, display: Arm comfort}]
    title: {en: arm comfort score, de: Armkomfort-Wert, fr: score de confort du bras}
    unit: "{points}"
    minimum: 0
    maximum: 100
    better: higher
    detectable: {comparison: ">=", value: 12, unit: "{points}", source: invented for this test}
    important: {comparison: ">=", value: 15, unit: "{points}", source: invented for this test}
    source: invented for this test
` + gate))
	if err != nil {
		t.Fatal(err)
	}
	pipeline := scenarioPipeline()
	pipeline.Protocols = Protocols{p}
	return pipeline
}

const gateOf60 = `    gate: {comparison: ">=", value: 60, unit: "{points}", source: invented for this test}` + "\n"

// evenWith is the story of a shoulder that is even twice, whose status is ready for
// functional work, with values of the clinic's score beside: one for each session, a
// negative one for none.
func evenWith(t *testing.T, scores ...float64) *Request {
	t.Helper()
	body, err := os.ReadFile(scenarios + "/even-in-all-positions/input.json")
	if err != nil {
		t.Fatal(err)
	}
	q, err := Decode(body)
	if err != nil {
		t.Fatal(err)
	}
	var days []string
	var like *fhir.Observation
	for _, e := range q.Bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok {
			like = o
			if day := string(o.Effective.(fhir.DateTime)); !slices.Contains(days, day) {
				days = append(days, day)
			}
		}
	}
	slices.Sort(days)
	for i, score := range scores {
		if score < 0 {
			continue
		}
		o := &fhir.Observation{Status: "final", Subject: like.Subject, Effective: fhir.DateTime(days[i])}
		o.ID = fmt.Sprintf("comfort-%d", i)
		o.Code = fhir.CodeableConcept{Coding: []fhir.Coding{{System: clinicCodes, Code: "arm-comfort"}}}
		o.Value = &fhir.Quantity{Value: fhir.Decimal(fmt.Sprint(score)), Unit: "points", System: fhir.SystemUCUM, Code: "{points}"}
		q.Bundle.Entry = append(q.Bundle.Entry, fhir.Entry{Resource: o})
	}
	return &q
}

func assessedWith(t *testing.T, p *Pipeline, q *Request) *Answer {
	t.Helper()
	a, err := p.Run(context.Background(), *q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A measure that a clinic adds as a row of its protocol is read, shown in every form
// and language, followed, and written with its change.
func TestAddedMeasureReachesEveryForm(t *testing.T) {
	got := assessedWith(t, clinicPipeline(t, ""), evenWith(t, 40, 62))
	for language, name := range map[string]string{"en": "arm comfort score", "de": "Armkomfort-Wert", "fr": "score de confort du bras"} {
		w := wording.For(language)
		writer := report.New(got.Assessment, got.Issues, w)
		for form, text := range map[string]string{
			"text":          report.FullText(got.Assessment, got.Issues, w),
			"progress note": report.ProgressNote(got.Assessment, got.Issues, w),
			"patient page":  report.Patient(got.Assessment, w),
			"narrative":     writer.Narrative(),
		} {
			flat := strings.Join(strings.Fields(text), " ")
			if !strings.Contains(strings.ToLower(flat), strings.ToLower(name)) || !strings.Contains(flat, "62") {
				t.Errorf("%s: the %s does not tell the %s of 62", language, form, name)
			}
		}
	}
	text := strings.Join(strings.Fields(report.FullText(got.Assessment, got.Issues, wording.For("en"))), " ")
	for _, want := range []string{"62 of 100", "+22 points since", "clearly better", "important to patients (at least 15 points)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q", want)
		}
	}
	o := outcomeResult(t, got.Bundle)
	components := map[string]string{"the result": valueText(o.Value), "its direction": o.Interpretation[0].Coding[0].Code}
	for _, c := range o.Component {
		components[c.Code.Coding[0].Code] = valueText(c.Value)
	}
	for code, want := range map[string]string{
		"arm-comfort": "62", fhir.CodePreviousValue: "40", "the result": "22", fhir.CodeDetectablePrevious: "12",
		"its direction": "B", fhir.CodeImportantPrevious: "true",
	} {
		if components[code] != want {
			t.Errorf("component %s is %q, want %q (62 after 40; 12 detectable, 15 important)", code, components[code], want)
		}
	}
	if len(o.DerivedFrom) != 2 {
		t.Errorf("derived from %d inputs, want both values", len(o.DerivedFrom))
	}
}

func outcomeResult(t *testing.T, bundle *fhir.Bundle) *fhir.Observation {
	t.Helper()
	for i := range bundle.Entry {
		o, ok := bundle.Entry[i].Resource.(*fhir.Observation)
		if ok && o.Code.Coding[0].Code == fhir.CodeOutcomeChange {
			return o
		}
	}
	t.Fatal("no result of the outcome measure")
	return nil
}

func valueText(v fhir.Value) string {
	switch v := v.(type) {
	case *fhir.Quantity:
		return string(v.Value)
	case *fhir.CodeableConcept:
		return v.Coding[0].Code
	case fhir.Boolean:
		return fmt.Sprint(bool(v))
	}
	return ""
}

// What a change of the measure comes to, from its row alone.
func TestChangeOfAddedMeasure(t *testing.T) {
	tests := []struct {
		name      string
		from, to  float64
		direction measure.Direction
		important bool
	}{
		{"one point under the detectable change", 40, 51, measure.Unchanged, false},
		{"the detectable change", 40, 52, measure.Improved, false},
		{"the important change", 40, 55, measure.Improved, true},
		{"an important fall", 55, 40, measure.Declined, true},
		{"no change", 40, 40, measure.Unchanged, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := assessedWith(t, clinicPipeline(t, ""), evenWith(t, tt.from, tt.to))
			for _, c := range got.Assessment.Measurements.Changes {
				if c.Outcome != nil && (c.Direction != tt.direction || c.Important != tt.important) {
					t.Errorf("%v, important %v; want %v, %v (the row)", c.Direction, c.Important, tt.direction, tt.important)
				}
			}
		})
	}
}

// Without a gate the measure decides nothing; with one it holds as pain does, and a
// value that is left out never makes the shoulder ready.
func TestGateOfAddedMeasure(t *testing.T) {
	open, closed := readiness.StepFunctional, readiness.StepAtSide
	tests := []struct {
		name    string
		gate    string
		scores  []float64
		overall readiness.Overall
		step    readiness.Step
		asked   bool
	}{
		{"no gate, a low value", "", []float64{10, 10}, readiness.ReadyForFunctional, open, false},
		{"gate met", gateOf60, []float64{40, 60}, readiness.ReadyForFunctional, open, false},
		{"gate not met", gateOf60, []float64{80, 59}, readiness.LimitedByOutcome, closed, true},
		{"never recorded", gateOf60, nil, readiness.Strengthening, readiness.StepAbduction90Unsupported, true},
		{"left out of the latest session", gateOf60, []float64{80, -1}, readiness.Strengthening, readiness.StepAbduction90Unsupported, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := assessedWith(t, clinicPipeline(t, tt.gate), evenWith(t, tt.scores...)).Assessment
			for _, r := range a.Readiness.Trained() {
				if r.Step != tt.step {
					t.Errorf("%v is at %v, want %v", r.Motion, r.Step, tt.step)
				}
			}
			asked := slices.ContainsFunc(a.Plan.Requests, func(r plan.Request) bool { return r.Ask == plan.AskOutcome })
			if a.Readiness.Overall != tt.overall || asked != tt.asked {
				t.Errorf("overall %v, asked for %v; want %v, %v", a.Readiness.Overall, asked, tt.overall, tt.asked)
			}
			held := slices.ContainsFunc(a.Plan.Exercises, func(e plan.Exercise) bool { return e.Held })
			if held != (tt.overall == readiness.LimitedByOutcome) {
				t.Errorf("the load is held: %v", held)
			}
		})
	}
}

// A value that cannot be of the measure is dropped with its place, and the rest of the
// answer stands. Without the row the code is outside the scope, as ever.
func TestAddedMeasureRefusesValues(t *testing.T) {
	tests := []struct {
		name  string
		value fhir.Value
		want  fault.Kind
	}{
		{"above the scale", fhir.Integer(101), fault.ValueRange},
		{"below the scale", fhir.Integer(-1), fault.ValueRange},
		{"another unit", &fhir.Quantity{Value: "50", System: fhir.SystemUCUM, Code: "kg"}, fault.UnitUnknown},
		{"a text", fhir.String("fine"), fault.ValueKind},
		{"a bound", &fhir.Quantity{Value: "50", Comparator: "<", System: fhir.SystemUCUM, Code: "{points}"}, fault.Comparator},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			q := evenWith(t, 50)
			last := &q.Bundle.Entry[len(q.Bundle.Entry)-1]
			last.Resource.(*fhir.Observation).Value = tt.value
			got := assessedWith(t, clinicPipeline(t, ""), q)
			if len(got.Assessment.Measurements.Outcomes) != 0 || !slices.ContainsFunc(got.Issues, func(i fault.Issue) bool { return i.Kind == tt.want }) {
				t.Errorf("issues %v, want %v and no value", got.Issues, tt.want)
			}
		})
	}
	if n := len(assessedWith(t, scenarioPipeline(), evenWith(t, 40, 62)).Assessment.Measurements.Outcomes); n != 0 {
		t.Errorf("%d values of a code that no protocol has", n)
	}
}
