package protocol

import (
	"errors"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// overhead is an invented demand with a criterion of each kind.
const overhead = `{"id":"overhead","title":{"en":"work overhead"},"permittedLoad":"load-functional","source":"invented",
	"index":[{"motions":["external","internal"],"positions":["flexion-90","abduction-90"],"comparison":">=","value":85,"unit":"%","source":"invented"}],
	"range":[{"movement":"flexion","comparison":">=","value":160,"unit":"deg","source":"invented"}],
	"pain":[{"occasion":"worst-24h","comparison":"<=","value":3,"unit":"{score}","source":"invented"}],
	"measures":[{"measure":"arm-comfort","comparison":">=","value":70,"unit":"{points}","source":"invented"}],
	"repair":{"comparison":">=","value":26,"unit":"wk","source":"invented"}}`

func clinicWithDemands(demands string) []byte {
	return []byte(`{"id":"clinic","version":"1","outcomeMeasures":[` + comfort + `],"demands":[` + demands + `]}`)
}

func TestDemandLoads(t *testing.T) {
	p, err := Load(clinicWithDemands(overhead))
	if err != nil {
		t.Fatal(err)
	}
	d := p.Demands[0]
	if d.PermittedLoad != shoulder.LoadFunctional || len(d.Index[0].Positions) != 2 || d.Range[0].Movement != shoulder.Flexion ||
		d.Pain[0].Occasion != shoulder.PainWorst24h || d.Measures[0].Value.Cmp(exact.Int(70)) != 0 || d.Repair == nil {
		t.Errorf("read as %+v", d)
	}
	text, err := p.Text()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Load(text); err != nil || again.Digest() != p.Digest() {
		t.Errorf("the printed protocol loads as %v, %v", again, err)
	}
}

// The example for clinics is one that loads.
func TestExampleOfDemandsLoads(t *testing.T) {
	file, err := os.ReadFile("../../testdata/protocols/work-and-sport.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if p, err := Load(file); err != nil || len(p.Demands) < 3 {
		t.Errorf("loads as %v, %v", p, err)
	}
}

// demandProblems are the paths of what is wrong with a demand that was changed.
func demandProblems(t *testing.T, change map[string]any) (paths []string) {
	t.Helper()
	var row map[string]any
	if err := json.Unmarshal([]byte(overhead), &row); err != nil {
		t.Fatal(err)
	}
	maps.Copy(row, change)
	maps.DeleteFunc(row, func(_ string, value any) bool { return value == nil })
	text, err := json.Marshal(row)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Load(clinicWithDemands(string(text)))
	problems, _ := errors.AsType[Problems](err)
	for _, p := range problems {
		paths = append(paths, p.Path)
	}
	return paths
}

func limit(comparison string, value any, unit string, more ...any) []any {
	row := map[string]any{"comparison": comparison, "value": value, "unit": unit, "source": "invented"}
	for i := 0; i < len(more); i += 2 {
		row[more[i].(string)] = more[i+1]
	}
	return []any{row}
}

// indexOf is a criterion of one motion at 90 degrees of flexion.
func indexOf(motion, comparison string, value any) []any {
	return limit(comparison, value, "%", "motions", []any{motion}, "positions", []any{"flexion-90"})
}

func TestDemandRefused(t *testing.T) {
	twice := func(one []any) []any { return append(one, one...) }
	tests := []struct {
		name   string
		change map[string]any // of the invented demand
		path   string
	}{
		{"strength alone", map[string]any{"range": nil, "pain": nil, "measures": nil, "repair": nil}, "demands.0"},
		{"strength and time alone", map[string]any{"range": nil, "pain": nil, "measures": nil}, "demands.0"},
		{"no criterion", map[string]any{"index": nil, "range": nil, "pain": nil, "measures": nil, "repair": nil}, "demands.0"},
		{"no id", map[string]any{"id": "over head"}, "demands.0.id"},
		{"no English name", map[string]any{"title": map[string]any{"de": "x"}}, "demands.0.title"},
		{"no source", map[string]any{"source": nil}, "demands.0.source"},
		{"no permitted load", map[string]any{"permittedLoad": nil}, "demands.0.permittedLoad"},
		{"permitted while it heals", map[string]any{"permittedLoad": "load-elevated"}, "demands.0.permittedLoad"},
		{"unknown field", map[string]any{"weight": 2}, "demands.0"},
		{"unknown field of a criterion", map[string]any{"pain": limit("<=", 3, "{score}", "occasion", "at-rest", "week", 2)}, "demands.0.pain.0"},
		{"index over what an index can be", map[string]any{"index": indexOf("external", ">=", 151)}, "demands.0.index.0.value"},
		{"index turned round", map[string]any{"index": indexOf("external", "<=", 85)}, "demands.0.index.0.comparison"},
		{"motion that is none", map[string]any{"index": indexOf("lifting", ">=", 85)}, "demands.0.index.0.motions.0"},
		{"motion that is not tested there", map[string]any{"index": indexOf("abduction", ">=", 85)}, "demands.0.index.0.positions"},
		{"index of nothing", map[string]any{"index": limit(">=", 85, "%", "motions", []any{}, "positions", []any{"flexion-90"})}, "demands.0.index.0.motions"},
		{"index twice", map[string]any{"index": twice(indexOf("external", ">=", 85))}, "demands.0.index.1"},
		{"range beyond what an arm does", map[string]any{"range": limit(">=", 221, "deg", "movement", "flexion")}, "demands.0.range.0.value"},
		{"range in radians", map[string]any{"range": limit(">=", 2, "rad", "movement", "flexion")}, "demands.0.range.0.unit"},
		{"range of nothing", map[string]any{"range": limit(">=", 160, "deg")}, "demands.0.range.0.movement"},
		{"flexion in a position", map[string]any{"range": limit(">=", 160, "deg", "movement", "flexion", "position", "arm-at-side")}, "demands.0.range.0.position"},
		{"range twice", map[string]any{"range": twice(limit(">=", 160, "deg", "movement", "flexion"))}, "demands.0.range.1"},
		{"pain over ten", map[string]any{"pain": limit("<=", 11, "{score}", "occasion", "at-rest")}, "demands.0.pain.0.value"},
		{"pain turned round", map[string]any{"pain": limit(">=", 3, "{score}", "occasion", "at-rest")}, "demands.0.pain.0.comparison"},
		{"pain of no occasion", map[string]any{"pain": limit("<=", 3, "{score}")}, "demands.0.pain.0.occasion"},
		{"pain twice", map[string]any{"pain": twice(limit("<=", 3, "{score}", "occasion", "at-rest"))}, "demands.0.pain.1"},
		{"measure that is none", map[string]any{"measures": limit(">=", 70, "{points}", "measure", "other")}, "demands.0.measures.0.measure"},
		{"measure beyond its scale", map[string]any{"measures": limit(">=", 101, "{points}", "measure", "arm-comfort")}, "demands.0.measures.0.value"},
		{"measure turned round", map[string]any{"measures": limit("<=", 70, "{points}", "measure", "arm-comfort")}, "demands.0.measures.0.comparison"},
		{"measure in another unit", map[string]any{"measures": limit(">=", 70, "s", "measure", "arm-comfort")}, "demands.0.measures.0.unit"},
		{"measure twice", map[string]any{"measures": twice(limit(">=", 70, "{points}", "measure", "arm-comfort"))}, "demands.0.measures.1"},
		{"weeks beyond four years", map[string]any{"repair": limit(">=", 209, "wk")[0]}, "demands.0.repair.value"},
		{"at most so many weeks", map[string]any{"repair": limit("<=", 26, "wk")[0]}, "demands.0.repair.comparison"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if paths := demandProblems(t, tt.change); !slices.Contains(paths, tt.path) {
				t.Errorf("problems at %q, want one at %s", paths, tt.path)
			}
		})
	}
}

// The ends of the domains still load.
func TestDemandAtTheEdge(t *testing.T) {
	for name, change := range map[string]map[string]any{
		"index":                               {"index": indexOf("external", ">=", 150)},
		"range":                               {"range": limit(">=", 220, "deg", "movement", "flexion")},
		"pain":                                {"pain": limit("<=", 10, "{score}", "occasion", "at-rest")},
		"measure":                             {"measures": limit(">", 100, "{points}", "measure", "arm-comfort")},
		"weeks":                               {"repair": limit(">=", 208, "wk")[0]},
		"a rotation with the arm at the side": {"range": limit(">=", 60, "deg", "movement", "external-rotation", "position", "arm-at-side")},
		"no index at all":                     {"index": nil},
	} {
		if paths := demandProblems(t, change); len(paths) > 0 {
			t.Errorf("%s: problems at %q", name, paths)
		}
	}
}

// Everything that is wrong is said at once, an unknown field beside a wrong number.
func TestDemandsSayAllProblemsAtOnce(t *testing.T) {
	second := strings.Replace(overhead, `"value":160`, `"value":500`, 1)
	third := strings.Replace(strings.Replace(overhead, `"id":"overhead"`, `"id":"other"`, 1), `"source":"invented",`, `"source":"invented","weight":2,`, 1)
	_, err := Load(clinicWithDemands(strings.Join([]string{overhead, second, third}, ",")))
	problems, _ := errors.AsType[Problems](err)
	for _, want := range []string{"demands.1.id", "demands.1.range.0.value", "demands.2"} {
		if !slices.ContainsFunc(problems, func(p Problem) bool { return p.Path == want }) {
			t.Errorf("no problem at %s:\n%v", want, err)
		}
	}
}

// A protocol that adds demands is not the default any more, and must not bear its name.
func TestDemandsNeedANameOfTheProtocol(t *testing.T) {
	_, err := Load([]byte(`{"outcomeMeasures":[` + comfort + `],"demands":[` + overhead + `]}`))
	problems, _ := errors.AsType[Problems](err)
	if !slices.ContainsFunc(problems, func(p Problem) bool { return p.Path == "id" }) {
		t.Errorf("Load = %v, want a problem at id", err)
	}
}

func TestDemandsAreBounded(t *testing.T) {
	rows := make([]string, mostDemands+1)
	for i := range rows {
		rows[i] = strings.Replace(overhead, `"overhead"`, `"overhead-`+string(rune('a'+i))+`"`, 1)
	}
	if _, err := Load(clinicWithDemands(strings.Join(rows[1:], ","))); err != nil {
		t.Errorf("%d demands: %v", mostDemands, err)
	}
	if _, err := Load(clinicWithDemands(strings.Join(rows, ","))); err == nil {
		t.Errorf("%d demands load", len(rows))
	}
}
