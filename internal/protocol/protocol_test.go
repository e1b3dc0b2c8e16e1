package protocol

import (
	"errors"
	"strings"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

func TestDefaultLoads(t *testing.T) {
	p := Default()
	if p.Digest() == "" || p.Symmetry.Even.Value.Cmp(exact.Int(90)) != 0 || p.Grade.GoodEnough.Value != shoulder.Grade4 {
		t.Errorf("default = %+v", p)
	}
}

func TestOverrideKeepsTheRest(t *testing.T) {
	p, err := Load([]byte(`{"id":"clinic","version":"1","range":{"fraction":{"value":78,"source":"clinic policy"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Range.Fraction.Value.String(); got != "78" {
		t.Errorf("range.fraction = %s, want 78", got)
	}
	if p.Range.Fraction.Comparison != AtLeast || p.Symmetry.Even.Value.Cmp(Default().Symmetry.Even.Value) != 0 {
		t.Error("what the file leaves out must keep the default")
	}
	if p.Digest() == Default().Digest() {
		t.Error("a changed protocol must have another digest")
	}
}

func TestRefused(t *testing.T) {
	tests := []struct{ name, file, path string }{
		{"not YAML", "\tx", ""},
		{"unknown name", `{"id":"c","symetry":{}}`, ""},
		{"number in quotes", `{"symmetry":{"even":{"value":"90"}}}`, "symmetry.even.value"},
		{"unknown comparison", `{"symmetry":{"even":{"comparison":"=>"}}}`, "symmetry.even.comparison"},
		{"good enough above even", `{"id":"c","symmetry":{"goodEnough":{"value":95,"source":"x"}}}`, "symmetry.goodEnough.value"},
		{"turned comparison", `{"id":"c","pain":{"gate":{"comparison":">=","source":"x"}}}`, "pain.gate.comparison"},
		{"range gate over 180 degrees", `{"id":"c","range":{"fullFlexion":{"value":190,"source":"x"},"fraction":{"value":100,"source":"x"}}}`, "range.fullFlexion.value"},
		{"value changed under the old source", `{"id":"c","symmetry":{"even":{"value":92}}}`, "symmetry.even.value"},
		{"changed under the default's id", `{"symmetry":{"even":{"value":92,"source":"x"}}}`, "id"},
		{"unit changed", `{"id":"c","pain":{"gate":{"unit":"%","source":"x"}}}`, "pain.gate.unit"},
		{"massive tear sooner than others", `{"id":"c","tissue":{"resistedAfterMassive":{"value":6,"source":"x"}}}`, "tissue.resistedAfterMassive.value"},
		{"id that is no FHIR id", `{"id":"our clinic"}`, "id"},
		{"duplicate name", "id: a\nid: b\n", ""},
		{"elevated work before progressive work", `{"id":"c","tissue":{"elevatedAfter":{"value":13,"source":"x"}}}`, "tissue.elevatedAfter.value"},
		{"sport before function after a massive tear", `{"id":"c","tissue":{"sportAfterMassive":{"value":20,"source":"x"}}}`, "tissue.sportAfterMassive.value"},
		{"massive tear loaded overhead sooner", `{"id":"c","tissue":{"elevatedAfter":{"value":20,"source":"x"},"elevatedAfterMassive":{"value":18,"source":"x"}}}`, "tissue.elevatedAfterMassive.value"},
		{"one confirmation", `{"id":"c","symmetry":{"confirmations":{"value":1,"source":"x"}}}`, "symmetry.confirmations.value"},
		{"confirmed no later than it may be", `{"id":"c","symmetry":{"confirmAfter":{"value":42,"source":"x"}}}`, "symmetry.confirmAfter.value"},
		{"readiness from old values", `{"id":"c","symmetry":{"latest":{"value":43,"source":"x"}}}`, "symmetry.latest.value"},
		{"unknown comparison of a red flag", `{"redFlag":{"painRise":{"comparison":"=>"}}}`, "redFlag.painRise.comparison"},
		{"turned red flag", `{"id":"c","redFlag":{"force":{"comparison":">","source":"x"}}}`, "redFlag.force.comparison"},
		{"no false alarm", `{"id":"c","redFlag":{"falseAlarm":{"value":0,"source":"x"}}}`, "redFlag.falseAlarm.value"},
		{"too many false alarms", `{"id":"c","redFlag":{"falseAlarm":{"value":21,"source":"x"}}}`, "redFlag.falseAlarm.value"},
		{"no such grade of a red flag", `{"redFlag":{"grade":{"value":"6"}}}`, "redFlag.grade.value"},
		{"turned grade of a red flag", `{"id":"c","redFlag":{"grade":{"comparison":">=","source":"x"}}}`, "redFlag.grade.comparison"},
		{"trials doubted when alike", `{"id":"c","doubt":{"trialRatio":{"value":0.9,"source":"x"}}}`, "doubt.trialRatio.value"},
		{"sides doubted under even", `{"id":"c","doubt":{"indexSingle":{"value":95,"source":"x"}}}`, "doubt.indexSingle.value"},
		{"units too alike to be told", `{"id":"c","doubt":{"unitTolerance":{"value":41,"source":"x"}}}`, "doubt.unitTolerance.value"},
		{"more than the whole error", `{"id":"c","trials":{"share":{"value":101,"source":"x"}}}`, "trials.share.value"},
		{"measurements without error, which would make every difference clear", `{"id":"c","error":{"stabilised":{"value":0,"source":"x"}}}`, "error.stabilised.value"},
		{"floor in another unit", `{"id":"c","error":{"floorForce":{"unit":"kg","source":"x"}}}`, "error.floorForce.unit"},
		{"new field changed under the old source", `{"id":"c","error":{"day":{"value":40}}}`, "error.day.value"},
		{"function with more pain than there is", `{"id":"c","function":{"pain":{"value":11,"source":"x"}}}`, "function.pain.value"},
		{"band upside down", `{"id":"c","byMass":{"external":{"low":2,"high":1,"source":"x"}}}`, "byMass.external"},
		{"no such grade", `{"grade":{"goodEnough":{"value":"6"}}}`, "grade.goodEnough.value"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Load([]byte(tt.file))
			problems, ok := errors.AsType[Problems](err)
			if !ok || len(problems) == 0 {
				t.Fatalf("Load(%s) = %v, want Problems", tt.file, err)
			}
			for _, p := range problems {
				if p.Path == tt.path && p.Text != "" {
					return
				}
			}
			t.Errorf("Load(%s) = %v, want a problem at %q", tt.file, err, tt.path)
		})
	}
}

func TestAllProblemsAtOnce(t *testing.T) {
	_, err := Load([]byte(`{"id":"c","symmetry":{"even":{"value":60,"source":"x"}},"pain":{"gate":{"value":11,"source":"x"}},"error":{"usual":{"value":50,"source":"x"}}}`))
	for _, path := range []string{"symmetry.goodEnough.value", "pain.gate.value", "error.usual.value"} {
		if err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("problems lack %s:\n%v", path, err)
		}
	}
}

// What the model of the course may not assume. The size of the error, the shared part of
// a day and the shape of the course have each a fixed number of values with weights that
// the program computes, so that a file cannot leave them without any.
func TestBadAssumptionsOfTheCourseAreRefused(t *testing.T) {
	for _, tt := range []struct {
		name, file string
		want       []string // "path: text", all of them
	}{
		{"a negative spread", "plateauSpread: {value: -12, source: x}", []string{"course.plateauSpread.value: must be from 1 to 100 %"}},
		{"no spread, which no measurement could move", "testSpread: {value: 0, source: x}", []string{"course.testSpread.value: must be from 1 to 50 %"}},
		{"a spread that is no number", "gapSpread: {value: .nan, source: x}", []string{"course.gapSpread.value: must be a finite number"}},
		{"an infinite drift", "comparisonDrift: {value: .inf, source: x}", []string{"course.comparisonDrift.value: must be a finite number"}},
		{"minus infinity", "gap: {value: -.INF, source: x}", []string{"course.gap.value: must be a finite number"}},
		{"a number in words", "gap: {value: NaN, source: x}", []string{"course.gap.value: got string, want number"}},
		{"a number beyond all computing", "plateau: {value: 1e300, source: x}", []string{"course.plateau.value: not a decimal number of at most 40 digits"}},
		{"no value", "gap: {value: null, source: x}", []string{"course.gap.value: got null, want number"}},
		{"both sides' days alike, which no measurement could tell apart", "bothSides: {value: 100, source: x}", []string{"course.bothSides.value: must be from 0 to 95 %"}},
		{"days against each other", "bothSides: {value: -10, source: x}", []string{"course.bothSides.value: must be from 0 to 95 %"}},
		{"a gap that closes at once, or grows", "fast: {value: 0, source: x}", []string{"course.fast.value: must be from 1 to 52 wk"}},
		{"a gap that never closes", "slow: {value: 1000, source: x}", []string{"course.slow.value: must be from 1 to 104 wk"}},
		{"a fast recovery slower than the slow one", "fast: {value: 20, source: x}", []string{"course.fast.value: must be below course.slow.value"}},
		{"more than the whole error shared", "leastDay: {value: 101, source: x}", []string{"course.leastDay.value: must be from 0 to 100 %"}},
		{"sizes of the error that lie too far apart", "errorSpread: {value: 61, source: x}", []string{"course.errorSpread.value: must be from 0 to 60 %"}},
		{"a probability above all", "reach: {value: 101, source: x}", []string{
			"course.reach.value: must be from 50 to 99 %", "course.reachOne.value: must not be below course.reach.value: all tests are even no sooner than one of them",
		}},
		{
			"all at once: no number, infinite, in words, too large, negative, out of order",
			"gapSpread: {value: .nan, source: x}\n  gap: {value: .inf, source: x}\n  plateau: {value: ninety, source: x}\n  testDrift: {value: 1e300, source: x}\n" +
				"  gapDrift: {value: -1, source: x}\n  fast: {value: 20, source: x}",
			[]string{
				"course.gapSpread.value: must be a finite number", "course.gap.value: must be a finite number",
				"course.plateau.value: got string, want number", "course.testDrift.value: not a decimal number of at most 40 digits",
				"course.gapDrift.value: must be from 0 to 20 %", "course.fast.value: must be below course.slow.value",
			},
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Load([]byte("id: c\ncourse:\n  " + tt.file + "\n"))
			if want := strings.Join(tt.want, "\n"); err == nil || err.Error() != want {
				t.Errorf("got:\n%v\nwant:\n%s", err, want)
			}
		})
	}
}

// A list of measures is looked through too; what has no form is left out of it.
func TestInfiniteScaleIsRefused(t *testing.T) {
	_, err := Load([]byte("id: c\noutcomeMeasures:\n- high: .inf\n"))
	if err == nil || !strings.Contains(err.Error(), "outcomeMeasures.0.high: must be a finite number") {
		t.Errorf("got %v", err)
	}
}

func TestWeekOfAPhase(t *testing.T) {
	tissue := Default().Tissue
	tests := []struct {
		phase          shoulder.LoadPhase
		usual, massive string
	}{
		{shoulder.LoadNone, "0", "0"},
		{shoulder.LoadSubmaximalAtSide, "12", "16"},
		{shoulder.LoadProgressiveAtSide, "14", "18"},
		{shoulder.LoadElevated, "16", "20"},
		{shoulder.LoadFunctional, "20", "26"},
		{shoulder.LoadSport, "26", "52"},
	}
	for _, tt := range tests {
		if usual, massive := tissue.After(tt.phase, false), tissue.After(tt.phase, true); usual.Value.String() != tt.usual || massive.Value.String() != tt.massive {
			t.Errorf("%v: weeks %v and %v, want %s and %s (the sources in the file)", tt.phase, usual.Value, massive.Value, tt.usual, tt.massive)
		}
	}
}

func TestThresholdMet(t *testing.T) {
	tests := []struct {
		comparison Comparison
		value      string
		want       bool
	}{
		{AtLeast, "89.999", false}, {AtLeast, "90", true}, {AtLeast, "90.001", true},
		{MoreThan, "90", false}, {MoreThan, "90.001", true},
		{AtMost, "90", true}, {AtMost, "90.001", false},
		{LessThan, "90", false}, {LessThan, "89.999", true},
		{NoComparison, "90", false},
	}
	for _, tt := range tests {
		threshold := Threshold{Comparison: tt.comparison, Value: exact.Int(90)}
		if got := threshold.Met(exact.MustParse(tt.value)); got != tt.want {
			t.Errorf("%s %v 90 = %v, want %v (definition)", tt.value, tt.comparison, got, tt.want)
		}
	}
}

func TestTextLoadsAgain(t *testing.T) {
	text, err := Default().Text()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Load(text)
	if err != nil {
		t.Fatal(err)
	}
	if again.Digest() != Default().Digest() {
		t.Error("the printed default must load as the default")
	}
}
