package deploy_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// plannedShare is the share of what a core can answer that deploy/README.md plans with.
const plannedShare = 0.7

// measured is how many requests a second the benchmark's report has of a path.
func measured(t *testing.T, path string) float64 {
	t.Helper()
	report := string(read(t, "..", "internal", "benchmark", "REPORT.md"))
	row := regexp.MustCompile(`(?m)^\| ` + path + `, Evenreach \| (\d+) \|`).FindStringSubmatch(report)
	if row == nil {
		t.Fatalf("the report has no row of %s", path)
	}
	n, err := strconv.ParseFloat(row[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// replicas are how many of one core each a number of requests a second takes, with one to spare.
func replicas(requests, core float64) int { return int(math.Ceil(requests/(plannedShare*core))) + 1 }

// What the README plans with is what was measured: a faster or slower report without the table is seen.
func TestCapacityIsThatOfTheBenchmark(t *testing.T) {
	text, rest, grpc := string(read(t, "README.md")), measured(t, "REST"), measured(t, "gRPC")
	if want := fmt.Sprintf("One core answers %.0f requests a second by REST and %.0f by gRPC", rest, grpc); !strings.Contains(text, want) {
		t.Errorf("README.md does not say: %s", want)
	}
	rows := regexp.MustCompile(`(?m)^\| (\d+) \| (\d+) \| (\d+) \|$`).FindAllStringSubmatch(text, -1)
	if len(rows) == 0 {
		t.Error("README.md has no table of replicas")
	}
	for _, row := range rows {
		requests, _ := strconv.ParseFloat(row[1], 64) // digits, by the pattern
		if want := fmt.Sprintf("| %s | %d | %d |", row[1], replicas(requests, rest), replicas(requests, grpc)); row[0] != want {
			t.Errorf("README.md has %s, want %s", row[0], want)
		}
	}
}

// Source: 2000 requests a second at 0.7 of 1000 a core are 2.86 cores, and one to spare.
func TestReplicas(t *testing.T) {
	if got := replicas(2000, 1000); got != 4 {
		t.Errorf("%d replicas, want 4", got)
	}
}
