package resilience

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"evenreach.example/internal/fhir/fhirtest"
)

// mostForFourTimes is how much the work may grow when what a Bundle holds grows
// four times: n log n comes to 4.7 at these lengths, a loop within a loop to 16.
const mostForFourTimes = 5

// Whatever a Bundle holds, four times as much of it takes about four times the
// work. Work is the number of statements that the program executes, so that no
// other load plays a part. Those of libraries are not counted; what they take
// shows in the limits of the benchmark.
func TestWorkGrowsWithTheEntries(t *testing.T) {
	const few = 1500 // four times as many are within the limit of the body
	counted := countedProgram(t)
	shapes := fhirtest.Shapes()
	for seed := range uint64(8) {
		shapes = append(shapes, fhirtest.Mixture(rand.New(rand.NewPCG(seed, 0))))
	}
	for _, shape := range shapes {
		t.Run(shape.Name, func(t *testing.T) {
			one, four := counted.statements(t, shape, few), counted.statements(t, shape, 4*few)
			t.Logf("%.2f times", float64(four)/float64(one))
			if four > mostForFourTimes*one {
				t.Errorf("%d statements for %d, %d for %d; want at most %d times as many", one, few, four, 4*few, mostForFourTimes)
			}
		})
	}
}

// counted is the path of a program that counts the statements it executes.
type counted string

func countedProgram(t *testing.T) counted {
	t.Helper()
	path := filepath.Join(t.TempDir(), "evenreach")
	output(t, "go", "build", "-buildvcs=false", "-cover", "-covermode=count",
		"-coverpkg=evenreach.example/internal/...,evenreach.example/cmd/...", "-o", path, "../../cmd/evenreach")
	return counted(path)
}

// statements is the number of statements executed to answer a Bundle of n, or to
// refuse it as expected.
func (c counted) statements(t *testing.T, shape fhirtest.Shape, n int) (sum uint64) {
	t.Helper()
	folder := t.TempDir()
	body, profile := filepath.Join(folder, "body.json"), filepath.Join(folder, "profile")
	if err := os.WriteFile(body, shape.Body(n), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("GOCOVERDIR", folder)
	answer := output(t, string(c), "batch", "--output=collection", body)
	expected := `{"resourceType":"Bundle"`
	if shape.Refused != "" {
		expected = strconv.Quote(shape.Refused)
	}
	if !bytes.Contains(answer, []byte(expected)) {
		t.Fatalf("answer %.300s, want one with %s", answer, expected)
	}
	output(t, "go", "tool", "covdata", "textfmt", "-i="+folder, "-o="+profile)
	text, err := os.ReadFile(profile)
	if err != nil {
		t.Fatal(err)
	}
	return statementsIn(t, text)
}

// statementsIn adds up a profile, whose lines end in the number of statements of
// a block and how often it was executed.
func statementsIn(t *testing.T, profile []byte) (sum uint64) {
	t.Helper()
	lines := bufio.NewScanner(bytes.NewReader(profile))
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "mode:") {
			continue
		}
		var place string
		var statements, times uint64
		if _, err := fmt.Sscan(lines.Text(), &place, &statements, &times); err != nil {
			t.Fatal(err)
		}
		sum += statements * times
	}
	if sum == 0 {
		t.Fatal("no statement was counted")
	}
	return sum
}

// output runs a command and returns what it writes to standard output.
func output(t *testing.T, name string, arguments ...string) []byte {
	t.Helper()
	command := exec.CommandContext(context.Background(), name, arguments...)
	var problems bytes.Buffer
	command.Stderr = &problems
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, problems.Bytes())
	}
	return out
}
