package deploy_test

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"sigs.k8s.io/yaml"

	"evenreach.example/internal/protocol"
)

var update = flag.Bool("update", false, "write the thresholds into TRANSPARENCY.md")

const transparency = "TRANSPARENCY.md"

// between splits a document at the comments around a part of it.
func between(t *testing.T, document, name string) (before, part, after string) {
	t.Helper()
	begin, end := "<!-- "+name+" -->\n", "<!-- end of "+name+" -->"
	before, rest, ok := strings.Cut(document, begin)
	part, after, closed := strings.Cut(rest, end)
	if !ok || !closed {
		t.Fatalf("no part %s", name)
	}
	return before + begin, part, end + after
}

func TestThresholdsAreThoseOfTheProtocol(t *testing.T) {
	document := string(read(t, transparency))
	before, part, after := between(t, document, "thresholds")
	want := thresholds(t, protocol.DefaultText())
	if *update {
		if err := os.WriteFile(transparency, []byte(before+want+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if part != want {
		t.Errorf("the thresholds differ from the protocol's; go test -C deploy -run %s -update writes\n%s", t.Name(), want)
	}
}

// thresholds writes everything in a protocol that has a source, one row each.
func thresholds(t *testing.T, text []byte) string {
	t.Helper()
	var file map[string]any
	if err := yaml.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	table := fmt.Sprintf("Protocol `%v`, version %v.\n\n| setting | value | source |\n|---|---|---|\n", file["id"], file["version"])
	return table + rows("", file)
}

func rows(path string, node map[string]any) (table string) {
	if source, ok := node["source"]; ok {
		return fmt.Sprintf("| `%s` | %s | %s |\n", path, valueOf(node), source)
	}
	for _, name := range slices.Sorted(maps.Keys(node)) {
		if child, ok := node[name].(map[string]any); ok {
			table += rows(strings.TrimPrefix(path+"."+name, "."), child)
		}
	}
	return table
}

// valueOf is a threshold, a setting, a band or a dose as it is read.
func valueOf(node map[string]any) string {
	switch {
	case node["text"] != nil:
		return fmt.Sprint(node["text"])
	case node["low"] != nil:
		return fmt.Sprint(node["low"], " to ", node["high"])
	}
	var words []string
	for _, part := range []any{node["comparison"], node["value"], units[fmt.Sprint(node["unit"])]} {
		if part != nil && part != "" {
			words = append(words, fmt.Sprint(part))
		}
	}
	return strings.Join(words, " ")
}

// units are the UCUM units of a protocol as they are read.
var units = map[string]string{
	"%": "%", "d": "days", "wk": "weeks", "deg": "degrees", "cm": "cm", "N/kg": "N/kg", "{score}": "of 10", "N": "N", "N.m": "N m",
}

func TestEveryUnitHasAWord(t *testing.T) {
	for line := range strings.Lines(string(protocol.DefaultText())) {
		_, rest, ok := strings.Cut(line, `unit: "`)
		if !ok {
			continue
		}
		unit, _, _ := strings.Cut(rest, `"`)
		if _, known := units[unit]; !known && unit != "1" {
			t.Errorf("no word for the unit %q", unit)
		}
	}
}

func TestChangedThresholdIsSeen(t *testing.T) {
	text := string(protocol.DefaultText())
	changed := strings.Replace(text, "value: 75", "value: 76", 1)
	if text == changed || thresholds(t, []byte(text)) == thresholds(t, []byte(changed)) {
		t.Error("another value gives the same table")
	}
}

// The figures that are quoted are those of the report.
func TestFiguresAreThoseOfTheSimulation(t *testing.T) {
	_, part, _ := between(t, string(read(t, transparency)), "simulation")
	report := string(read(t, "..", "internal", "simulation", "REPORT.md"))
	if strings.Count(part, "\n") < 3 {
		t.Fatal("no figures")
	}
	for line := range strings.Lines(part) {
		if !strings.Contains(report, "\n"+line) {
			t.Errorf("the report does not have %s", line)
		}
	}
}
