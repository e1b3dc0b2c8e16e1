package wording

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// vocabulary is an enumeration with its codes and its table in a catalogue.
type vocabulary struct {
	name  string
	codes []string
	table []string
}

// codes lists the codes of an enumeration up to the first value that it does
// not have.
func codes[T ~uint8](code func(T) string) (all []string) {
	for i := range 256 {
		next, ok := codeOf(code, T(i))
		if !ok || i > 0 && next == all[0] {
			return all
		}
		all = append(all, next)
	}
	return all
}

func codeOf[T ~uint8](code func(T) string, value T) (text string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	return code(value), true
}

// levels names the levels, which have no code outside.
var levels = []string{"not measured", "no yardstick", "unlike", "tested apart", "stale", "too weak", "good enough", "grade weak", "grade good", "even once", "even",
	"doubted", "retained", "was even", "stronger", "not stronger", "first", "comparison weaker", "comparison hurts", "comparison low", "too faint"}

func vocabularies(c *Catalogue) []vocabulary {
	t := &c.terms
	sides := codes(shoulder.Side.String)
	positions := codes(shoulder.ArmPosition.String)
	overalls := codes(readiness.Overall.String)
	return []vocabulary{
		{"side", sides, t.side},
		{"on side", sides, t.onSide},
		{"rotation", codes(shoulder.Motion.String), t.motion},
		{"position", positions, t.position},
		{"at position", positions, t.atPosition},
		{"short position", positions, t.positionShort},
		{"support", codes(shoulder.Support.String), t.support},
		{"contraction", codes(shoulder.Contraction.String), t.contraction},
		{"instrument", codes(shoulder.Instrument.String), t.instrument},
		{"movement", codes(shoulder.Movement.String), t.movement},
		{"pain context", codes(shoulder.PainContext.String), t.painContext},
		{"step", codes(readiness.Step.String), t.step},
		{"overall", overalls, t.overall},
		{"decision", overalls, t.decision},
		{"verdict", codes(readiness.Verdict.String), t.verdict},
		{"certainty", codes(measure.Certainty.String), t.certainty},
		{"rule", codes(readiness.Rule.String), t.rule},
		{"direction", codes(measure.Direction.String), t.direction},
		{"short direction", codes(measure.Direction.String), t.directionShort},
		{"mismatch", codes(measure.Mismatch.String), t.mismatch},
		{"condition", codes(measure.Condition.String), t.condition},
		{"outlook", codes(course.Prospect.String), t.outlook},
		{"band relation", codes(measure.BandRelation.String), t.bandRelation},
		{"irritability", codes(plan.Irritability.String), t.irritability},
		{"mode", codes(plan.Mode.String), t.mode},
		{"purpose", codes(plan.Purpose.String), t.purpose},
		{"cue", codes(plan.Cue.String), t.cue},
		{"caution", codes(plan.Caution.String), t.caution},
		{"ask", codes(plan.Ask.String), t.ask},
		{"why", codes(plan.Why.String), t.why},
		{"aim", codes(plan.Aim.String), t.aim},
		{"achievement", codes(plan.Achievement.String), t.achievement},
		{"score rule", codes(protocol.ScoreRule.String), t.scoreRule},
		{"comparison", codes(protocol.Comparison.String), t.comparison},
		{"kind of issue", codes(fault.Kind.String), t.kind},

		{"plain rotation", codes(shoulder.Motion.String), c.plainTerms.motion},
		{"plain short rotation", codes(shoulder.Motion.String), c.plainTerms.rotationShort},
		{"plain position", positions, c.plainTerms.position},
		{"plain short position", positions, c.plainTerms.positionShort},
		{"plain movement", codes(shoulder.Movement.String), c.plainTerms.movement},
		{"plain support", codes(shoulder.Support.String), c.plainTerms.support},
		{"plain decision", overalls, c.plainTerms.decision},
		{"plain mode", codes(plan.Mode.String), c.plainTerms.mode},
		{"plain cue", codes(plan.Cue.String), c.plainTerms.cue},
		{"plain ask", codes(plan.Ask.String), c.plainTerms.ask},
		{"plain level", levels, c.plainTerms.level},
		{"level", levels, t.level},
		{"flag", codes(redflag.Code.String), t.flag},
		{"doubt", codes(measure.Doubt.String), t.doubt},
		{"load phase", codes(shoulder.LoadPhase.String), t.loadPhase},
		{"repair", codes(shoulder.RepairKind.String), t.repairKind},
		{"what a demand waits for", codes(readiness.DemandHold.String), t.demandHold},
		{"plain flag", codes(redflag.Code.String), c.plainTerms.flag},
		{"plain load phase", codes(shoulder.LoadPhase.String), c.plainTerms.loadPhase},
	}
}

// A range and an outcome measure are asked for in short by their names alone, so that two of
// these texts are alike.
func TestEverythingCanBeAskedForInShort(t *testing.T) {
	for _, c := range languages {
		if want, got := len(codes(plan.Ask.String)), len(c.terms.askShort); got != want {
			t.Errorf("%s: %d texts for %d values", c.language, got, want)
		}
	}
}

func TestEveryValueHasItsText(t *testing.T) {
	for _, c := range languages {
		for _, v := range vocabularies(c) {
			t.Run(c.language+"/"+v.name, func(t *testing.T) {
				if len(v.codes) < 2 || len(v.table) != len(v.codes) {
					t.Fatalf("%d texts for %d values %q", len(v.table), len(v.codes), v.codes)
				}
				for i, text := range v.table {
					if strings.TrimSpace(text) != text || text == "" {
						t.Errorf("%s: text %q", v.codes[i], text)
					}
					if slices.Contains(v.table[:i], text) {
						t.Errorf("%s: %q says another value as well", v.codes[i], text)
					}
				}
			})
		}
	}
}

// Words with a hyphen that are both a code and plain language.
var plainCodes = []string{"re-check"}

func TestNoCodeReachesTheReader(t *testing.T) {
	for _, c := range languages {
		for _, v := range vocabularies(c) {
			for i, text := range v.table {
				for _, code := range v.codes {
					if strings.Contains(code, "-") && !slices.Contains(plainCodes, code) && strings.Contains(text, code) && v.name != "kind of issue" {
						t.Errorf("%s of %s: %q holds the code %q", v.name, v.codes[i], text, code)
					}
				}
				if strings.ContainsAny(text, "_<>[]%") && !strings.Contains(text, " % ") && !strings.Contains(text, "\u00a0% ") {
					t.Errorf("%s of %s: %q is no plain text", v.name, v.codes[i], text)
				}
			}
		}
	}
}

func TestColumnsFit(t *testing.T) {
	for _, c := range languages {
		for _, tt := range []struct {
			name  string
			texts []string
			width int
		}{
			{"short position", c.terms.positionShort, 14},
			{"position head", []string{c.Headings.Position}, 14},
			{"involved head", []string{c.Headings.Involved}, 9},
			{"comparison head", []string{c.Headings.Comparison}, 10},
			{"index head", []string{c.Headings.Index}, 6},
			{"interval head", []string{c.IntervalHead(protocol.Default().Error.Interval)}, 13},
			{"interval without limits", []string{c.phrases.noLimits}, 11},
			{"verdict head", []string{c.Headings.Verdict}, 22},
			{"level", withoutGrades(c.terms.level), 22},
			{"first, best and now", []string{c.Headings.First, c.Headings.Best, c.Headings.Now}, 6},
			{"difference", []string{c.Headings.Difference}, 8},
			{"since", []string{c.Headings.Since}, 10},
			{"result", append([]string{c.Headings.Result, c.phrases.firstMeasured}, c.terms.directionShort...), 12},
		} {
			for _, text := range tt.texts {
				if n := len([]rune(text)); n > tt.width {
					t.Errorf("%s %s: %q has %d characters, room for %d", c.language, tt.name, text, n, tt.width)
				}
			}
		}
	}
}

// withoutGrades leaves out the levels that name a grade, which take two lines.
func withoutGrades(levels []string) []string {
	return slices.DeleteFunc(slices.Clone(levels), func(text string) bool { return strings.Contains(text, "{1}") })
}

// Values that no enumeration has are answered, not crashed on.
func TestUnknownValuesAreAnswered(t *testing.T) {
	c := For("en")
	for name, text := range map[string]string{
		"side":    c.Side(200),
		"step":    c.Step(200),
		"caution": c.Caution(200),
		"kind":    c.Kind(200),
	} {
		if text == "" {
			t.Errorf("%s: no text", name)
		}
	}
}

func TestSentence(t *testing.T) {
	c := For("en")
	for in, want := range map[string]string{
		"arm at the side": "Arm at the side.",
		"Done.":           "Done.",
		"élan":            "Élan.",
		"90 degrees":      "90 degrees.",
		"":                ".",
		"\xff":            "\xff.",
	} {
		if got := c.Sentence(in); got != want {
			t.Errorf("Sentence(%q) = %q, want %q", in, got, want)
		}
	}
}
