//go:build conformance

package conformance

import (
	"encoding/json"
	"path/filepath"
	"testing"

	"evenreach.example/internal/record"
)

// received is what a record says of a transaction that was posted to it twice.
type received struct {
	File    string
	Entries int
	Rounds  []struct {
		Status, Created, Found, Failed int
		Issues                         []string
	}
	Resources, Versions, Links int
	Dangling                   []string
}

// filed are scenarios whose answers together hold every type of resource. A
// record of this kind needs many seconds for each answer.
var filed = []string{
	"bad-inputs-in-a-good-bundle", "both-shoulders-affected", "cannot-lift", "cleared-early-by-the-surgeon", "even-in-all-positions",
	"examined-and-cleared", "statements-that-do-not-count", "trials-disagree",
}

// A record stores an answer, a second time nothing of it, and can follow
// every reference in what it stored.
func TestRecordStoresOnce(t *testing.T) {
	var requests []string
	var answers []document
	for _, name := range filed {
		file := filepath.Join("../../testdata/scenarios", name, "input.json")
		requests, answers = append(requests, file), append(answers, answerTo(t, file, record.Transaction))
	}
	var args []string
	for i, path := range written(t, answers) {
		args = append(args, "--held", requests[i], path)
	}
	lines := node(t, "receive.mjs", args...)
	if len(lines) != len(requests) {
		t.Errorf("%d transactions were received, want %d", len(lines), len(requests))
	}
	stored, links := 0, 0
	for _, line := range lines {
		var r received
		if err := json.Unmarshal([]byte(line), &r); err != nil || len(r.Rounds) != 2 || r.Entries == 0 {
			t.Fatalf("%v: %.200s", err, line)
		}
		name, first, second := filepath.Base(r.File), r.Rounds[0], r.Rounds[1]
		if first.Status != 200 || first.Created != r.Entries {
			t.Errorf("%s: first time HTTP %d, %d of %d entries created: %q", name, first.Status, first.Created, r.Entries, first.Issues)
		}
		if second.Status != 200 || second.Found != r.Entries {
			t.Errorf("%s: second time HTTP %d, %d of %d entries found: %q", name, second.Status, second.Found, r.Entries, second.Issues)
		}
		if r.Resources != r.Entries || r.Versions != r.Entries {
			t.Errorf("%s: the record holds %d resources in %d versions, want %d of each", name, r.Resources, r.Versions, r.Entries)
		}
		for _, d := range r.Dangling {
			t.Errorf("%s: leads nowhere: %s", name, d)
		}
		stored, links = stored+r.Resources, links+r.Links
	}
	t.Logf("%d transactions, %d resources stored, %d references followed", len(lines), stored, links)
	if links == 0 {
		t.Error("no reference was followed")
	}
}
