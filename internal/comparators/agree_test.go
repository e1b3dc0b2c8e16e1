//go:build comparators

package comparators

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// answer is what the rules on cql-execution give. A nil stands for what is not
// measured or does not apply.
type answer struct {
	Involved string
	Symmetry []symmetry // external rotation first, the positions from the lowest
	Ratios   []ratio
	Gates    []gate // the positions from the lowest
}

type symmetry struct {
	Motion, Position string
	Sessions         []struct {
		Session                     string
		Involved, Comparison, Index float64
	}
	Latest           *float64
	GoodEnough, Even *bool
}

type ratio struct {
	Position, Session    string
	Involved, Comparison *float64
}

type gate struct {
	Position                  string
	Pain, Range               *float64
	PainAcceptable, RangeOpen *bool
}

// agreeing are the scenarios within the subset, beside the measured Bundle.
var agreeing = []string{
	"even-in-all-positions", "fall-steps-back", "first-visit-stiff-shoulder", "good-at-side-weak-overhead",
	"nothing-measured-overhead", "pain-over-the-limit", "rotations-on-different-steps",
	"steady-arm-opens-unsupported", "ten-visits",
}

// TestSameNumbers holds the numbers of the subset against Evenreach's own.
func TestSameNumbers(t *testing.T) {
	bundles := map[string][]byte{"the measured Bundle": fhirtest.Bundle60()}
	for _, name := range agreeing {
		body, err := os.ReadFile(filepath.Join("..", "..", "testdata", "scenarios", name, "input.json"))
		if err != nil {
			t.Fatal(err)
		}
		bundles[name] = body
	}
	answers := answersOnNode(t, bundles)
	for name, body := range bundles {
		t.Run(name, func(t *testing.T) {
			a := assessed(t, body)
			got := answers[name]
			compareSymmetry(t, got.Symmetry, a)
			compareRatios(t, got.Ratios, a)
			compareGates(t, got.Gates, a)
		})
	}
}

// TestComparatorsRun needs Node, npm, Java 17 and Maven. The times are noted,
// not judged.
func TestComparatorsRun(t *testing.T) {
	results, notRun := Run(t.Context(), fhirtest.Bundle60())
	for _, r := range results {
		t.Logf("%s: %v by the clock, %v of the processor (%d times; %s)", r.Name, r.PerOp, r.CPUPerOp, r.Iterations, r.What)
	}
	if len(results) != 4 || len(notRun) > 0 {
		t.Errorf("%d results, want 4; not run: %q", len(results), notRun)
	}
}

func answersOnNode(t *testing.T, bundles map[string][]byte) map[string]answer {
	t.Helper()
	folder, err := cql.setUp(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	names := slices.Sorted(maps.Keys(bundles))
	var files []string
	for i, name := range names {
		files = append(files, filepath.Join(folder, strconv.Itoa(i)+".json"))
		if err := os.WriteFile(files[i], bundles[name], 0o600); err != nil {
			t.Fatal(err)
		}
	}
	out, err := command(t.Context(), folder, []string{"node", "answer.mjs"}, files...)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(names) {
		t.Fatalf("%d answers, want %d", len(lines), len(names))
	}
	answers := map[string]answer{}
	for i, line := range lines {
		var a answer
		if err := json.Unmarshal([]byte(line), &a); err != nil {
			t.Fatal(err)
		}
		answers[names[i]] = a
	}
	return answers
}

func assessed(t *testing.T, body []byte) *assess.Assessment {
	t.Helper()
	resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	reading, err := intake.Read(intake.Input{Bundle: resource.(*fhir.Bundle)})
	if err != nil {
		t.Fatal(err)
	}
	return assess.Assess(&reading.Episode, protocol.Default(), reading.AsOf)
}

func compareSymmetry(t *testing.T, got []symmetry, a *assess.Assessment) {
	t.Helper()
	if len(got) != 6 {
		t.Fatalf("%d rotations and positions, want 6", len(got))
	}
	for i, motion := range shoulder.Trained {
		for k, position := range shoulder.TrainedPositions {
			compareSeries(t, got[3*i+k], seriesOf(a.Measurements.Symmetries, motion, position))
			compareLatest(t, got[3*i+k], a.Readiness.Motions[i].At(position), a.Protocol)
		}
	}
}

func seriesOf(all []measure.Symmetry, motion shoulder.Motion, position shoulder.ArmPosition) (series []measure.Symmetry) {
	for _, s := range all {
		if s.Motion == motion && s.Position == position {
			series = append(series, s)
		}
	}
	return series
}

func compareSeries(t *testing.T, got symmetry, want []measure.Symmetry) {
	t.Helper()
	if len(got.Sessions) != len(want) {
		t.Fatalf("%s %s: %d sessions, want %d", got.Motion, got.Position, len(got.Sessions), len(want))
	}
	for i, s := range got.Sessions {
		place := got.Motion + " " + got.Position + " " + s.Session
		if w := &want[i]; !strings.HasSuffix(got.Position, w.Position.String()) || s.Session != w.When.Format("2006-01-02") {
			t.Errorf("%s: want %v %v", place, w.Position, w.When)
		}
		same(t, place+" involved", &s.Involved, &want[i].Involved.Value)
		same(t, place+" comparison", &s.Comparison, &want[i].Comparison.Value)
		same(t, place+" index", &s.Index, &want[i].Index)
	}
}

func compareLatest(t *testing.T, got symmetry, want *readiness.PositionReadiness, p *protocol.Protocol) {
	t.Helper()
	place := got.Motion + " " + got.Position + " latest"
	if want.Symmetry == nil {
		same(t, place, got.Latest, nil)
		sameVerdict(t, place, got.GoodEnough, readiness.NotMeasured)
		return
	}
	index := want.Symmetry.Index
	same(t, place, got.Latest, &index)
	sameVerdict(t, place+" good enough", got.GoodEnough, verdict(p.Symmetry.GoodEnough.Met(index)))
	sameVerdict(t, place+" even", got.Even, verdict(p.Symmetry.Even.Met(index)))
}

// compareRatios finds every ratio of Evenreach among the others, and as many.
func compareRatios(t *testing.T, got []ratio, a *assess.Assessment) {
	t.Helper()
	sides := map[string]*float64{}
	for _, r := range got {
		for side, value := range map[shoulder.Side]*float64{a.Episode.Involved: r.Involved, a.Episode.Involved.Other(): r.Comparison} {
			if value != nil {
				sides[strings.Join([]string{r.Session, r.Position, side.String()}, " ")] = value
			}
		}
	}
	want := a.Measurements.Ratios
	if len(sides) != len(want) {
		t.Errorf("%d ratios, want %d", len(sides), len(want))
	}
	for i := range want {
		e := want[i].External
		place := e.When.Format("2006-01-02") + " " + fhir.SystemShoulder + "|" + e.Position.String() + " " + e.Side.String()
		same(t, "ratio "+place, sides[place], &want[i].Value)
	}
}

func compareGates(t *testing.T, got []gate, a *assess.Assessment) {
	t.Helper()
	if len(got) != len(shoulder.TrainedPositions) {
		t.Fatalf("%d gates, want %d", len(got), len(shoulder.TrainedPositions))
	}
	for i, g := range got {
		want := &a.Readiness.Motions[0].Positions[i]
		same(t, g.Position+" pain", g.Pain, want.Pain.Value)
		sameVerdict(t, g.Position+" pain", g.PainAcceptable, want.Pain.Verdict)
		same(t, g.Position+" range", g.Range, want.Range.Measured)
		sameVerdict(t, g.Position+" range", g.RangeOpen, want.RangeVerdict())
	}
}

// same allows for the rounding of binary floating point, in which cql-execution
// counts; Evenreach's numbers are exact.
func same(t *testing.T, place string, got *float64, want *exact.Number) {
	t.Helper()
	const tolerance = 1e-9
	switch {
	case got == nil && want == nil:
	case got == nil || want == nil:
		t.Errorf("%s: %v, want %v", place, got, want)
	case !(math.Abs(*got-want.Float64()) <= tolerance):
		t.Errorf("%s: %v, want %v", place, *got, want.Float64())
	}
}

func sameVerdict(t *testing.T, place string, got *bool, want readiness.Verdict) {
	t.Helper()
	if got == nil {
		if want == readiness.Met || want == readiness.NotMet {
			t.Errorf("%s: no verdict, want %v", place, want)
		}
		return
	}
	if verdict(*got) != want {
		t.Errorf("%s: %v, want %v", place, *got, want)
	}
}

func verdict(met bool) readiness.Verdict {
	if met {
		return readiness.Met
	}
	return readiness.NotMet
}
