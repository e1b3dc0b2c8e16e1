package deploy_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var (
	hazardRow = regexp.MustCompile(`(?m)^\| (\d+) \|(.*)\|$`)
	evidence  = regexp.MustCompile("`([^`]+)`")
)

// Each hazard has a control, and tests that exist show it.
func TestHazardsAreControlled(t *testing.T) {
	rows := hazardRow.FindAllStringSubmatch(string(read(t, "SAFETY.md")), -1)
	if len(rows) == 0 {
		t.Fatal("no hazards")
	}
	for i, row := range rows {
		cells := strings.Split(row[2], " | ")
		if row[1] != strconv.Itoa(i+1) || len(cells) != 5 {
			t.Errorf("row %s: %d cells, want number %d and hazard, harm, cause, control, evidence", row[1], len(cells), i+1)
			continue
		}
		for _, cell := range cells {
			if strings.TrimSpace(cell) == "" {
				t.Errorf("row %s: an empty cell", row[1])
			}
		}
		names := evidence.FindAllStringSubmatch(cells[4], -1)
		if len(names) == 0 {
			t.Errorf("row %s: nothing shows the control", row[1])
		}
		for _, name := range names {
			if !shown(t, name[1]) {
				t.Errorf("row %s: there is no %s", row[1], name[1])
			}
		}
	}
}

func TestInventedEvidenceIsFound(t *testing.T) {
	for name, want := range map[string]bool{
		"deploy.TestBase":                        true,
		"deploy.TestNothing":                     false,
		"deploy.TestBas":                         false,
		"internal/nowhere.TestBase":              false,
		"population.TestKilled":                  true,
		"population.TestNothing":                 false,
		"testdata/scenarios/manual-test-only":    true,
		"testdata/scenarios/nothing-of-the-kind": false,

		"internal/worksheet/browser/nothing.test.mjs":                           false,
		"internal/worksheet/browser/import.test.mjs":                            true,
		"internal/worksheet/browser/launch.test.mjs: no patient lets nobody in": true,
		"internal/worksheet/browser/launch.test.mjs: nothing of the kind":       false,
		"internal/worksheet/browser/nowhere.test.mjs: no patient":               false,
	} {
		if got := shown(t, name); got != want {
			t.Errorf("%s is there: %v, want %v", name, got, want)
		}
	}
}

// shown reports whether a test of a package, folder.Name, or a scenario, by its folder, exists;
// or a file of tests in a browser, or one of these tests, by its file and title.
func shown(t *testing.T, name string) bool {
	t.Helper()
	if file, title, ok := strings.Cut(name, ".test.mjs"); ok {
		text, err := os.ReadFile(filepath.Join("..", file+".test.mjs"))
		return err == nil && (title == "" || strings.Contains(string(text), "test('"+strings.TrimPrefix(title, ": ")+"'"))
	}
	folder, test, ok := strings.Cut(name, ".")
	if !ok {
		_, err := os.Stat(filepath.Join("..", name, "input.json"))
		return err == nil
	}
	files, err := filepath.Glob(filepath.Join("..", folder, "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if strings.Contains(string(read(t, file)), "\nfunc "+test+"(t *testing.T)") {
			return true
		}
	}
	return false
}
