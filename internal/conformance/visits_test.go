//go:build record

package conformance

import (
	"bytes"
	"encoding/json"
	"iter"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// A patient comes three times. Each time the measurements are stored, the record
// is searched for what there is, the answer is posted twice, and a clinician
// edits what was proposed. Last, a note and then a value of the measurements
// change. Nothing may be lost, overwritten or doubled by that.
func TestRecordOverThreeVisits(t *testing.T) {
	server, evenreach := recordServer(t), served(t)
	for _, output := range []string{"transaction", "living-transaction"} {
		t.Run(output, func(t *testing.T) {
			c := newCourse(t, store{t, server.base}, store{t, evenreach.FHIR}, output)
			c.visit("2026-01-12", "2026-02-09")
			c.acceptPlan()
			c.editGoal("completed")
			c.visit("2026-02-23", "2026-03-23")
			c.editGoal("active")
			c.visit("2026-04-06", "2026-04-20")
			c.searches()
			before := c.current()
			c.changeLast(func(r resource) { r["note"] = []any{resource{"text": "Patient was tired."}} })
			c.assess()
			c.same("after a note was added to the measurements", before)
			c.changeLast(correct)
			c.assess()
			c.same("after measurements were corrected", before)
			c.whole()
		})
	}
}

// course is one patient's course in a record, assessed with one kind of output.
type course struct {
	t                 *testing.T
	record, evenreach store
	output            string
	patient           string
	input             []resource // the scenario's, under ids of this course
	last              []resource // the measurements of the last visit, as sent
	answer            resource   // the last one
	posted            map[string]bool
	touched           map[string]resource // what the clinician has edited, as it was left
}

func newCourse(t *testing.T, record, evenreach store, output string) *course {
	t.Helper()
	text, err := os.ReadFile("../../testdata/scenarios/ten-visits/input.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, old := range []string{"demo-1", "DEMO-1"} {
		text = bytes.ReplaceAll(text, []byte(old), []byte(output))
	}
	var bundle resource
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	c := &course{
		t: t, record: record, evenreach: evenreach, output: output, patient: "Patient/" + output,
		posted: map[string]bool{}, touched: map[string]resource{},
	}
	for _, e := range list(bundle["entry"]) {
		c.input = append(c.input, c.named(e["resource"]).(resource))
	}
	record.done("PUT", "Practitioner/"+output+"-clinician", resource{"resourceType": "Practitioner", "id": output + "-clinician"})
	return c
}

// named is a resource whose id, and the ids that it refers to, are of this
// course alone.
func (c *course) named(node any) any {
	switch node := node.(type) {
	case resource:
		for name, value := range node {
			text, isText := value.(string)
			switch {
			case isText && name == "reference" && text != c.patient:
				kind, id, _ := strings.Cut(text, "/")
				node[name] = kind + "/" + c.output + "-" + id
			case isText && name == "id" && node["resourceType"] != nil && text != c.output:
				node[name] = c.output + "-" + text
			default:
				node[name] = c.named(value)
			}
		}
	case []any:
		for i := range node {
			node[i] = c.named(node[i])
		}
	}
	return node
}

// visit stores what was measured between two days, and what has no date, and
// assesses.
func (c *course) visit(from, to string) {
	c.t.Helper()
	c.last = nil
	var entries []any
	for _, r := range c.input {
		at, _ := r["effectiveDateTime"].(string)
		if period, ok := r["period"].(resource); ok {
			at, _ = period["start"].(string)
		}
		if at != "" && (at[:10] < from || at[:10] > to) {
			continue
		}
		if r["resourceType"] == "Observation" {
			c.last = append(c.last, r)
		}
		entries = append(entries, resource{"resource": r, "request": resource{"method": "PUT", "url": addressOf(r)}})
	}
	if len(c.last) == 0 {
		c.t.Fatalf("nothing was measured from %s to %s", from, to)
	}
	c.record.done("POST", "", resource{"resourceType": "Bundle", "type": "transaction", "entry": entries})
	c.assess()
}

// changeLast changes the measurements of the last visit in the record.
func (c *course) changeLast(change func(resource)) {
	c.t.Helper()
	for _, r := range c.last {
		change(r)
		c.record.done("PUT", addressOf(r), r)
	}
}

// correct adds a newton to each trial of a measurement.
func correct(r resource) {
	r["status"] = "corrected"
	for _, component := range list(r["component"]) {
		if q, ok := component["valueQuantity"].(resource); ok && q["code"] == "N" {
			q["value"] = q["value"].(float64) + 1
		}
	}
}

// asked are the searches for the input, as the README tells a record to make
// them.
var asked = []string{"Condition", "Procedure", "Encounter", "Observation", "CarePlan", "Goal", "DiagnosticReport", "DetectedIssue"}

// assess has what the record holds assessed, and posts the answer twice.
func (c *course) assess() {
	c.t.Helper()
	entries := []any{resource{"fullUrl": c.record.base + "/" + c.patient, "resource": c.record.done("GET", c.patient, nil)}}
	for _, kind := range asked {
		for _, r := range c.record.search(kind, "patient", c.patient, "_count", "50") {
			entries = append(entries, resource{"fullUrl": c.record.base + "/" + addressOf(r), "resource": r})
		}
	}
	bundle := resource{"resourceType": "Bundle", "type": "collection", "entry": entries}
	c.answer = c.evenreach.done("POST", "$assess-shoulder", resource{"resourceType": "Parameters", "parameter": []any{
		resource{"name": "bundle", "resource": bundle}, resource{"name": "output", "valueCode": c.output},
	}})
	c.post()
	stored := c.counts()
	c.postAgain()
	if again := c.counts(); !maps.Equal(stored, again) {
		c.t.Errorf("posting an answer twice: %v, after the first time %v", again, stored)
	}
	c.untouched()
}

// post posts the last answer, and keeps where it is stored.
func (c *course) post() {
	c.t.Helper()
	status, stored := c.record.call("POST", "", c.answer)
	if status != 200 {
		c.t.Fatalf("the answer is not stored: HTTP %d: %.2000s", status, asText(stored))
	}
	for _, e := range list(stored["entry"]) {
		location, _ := e["response"].(resource)["location"].(string)
		place, _, _ := strings.Cut(strings.TrimPrefix(location, c.record.base+"/"), "/_history")
		if place != "" {
			c.posted[place] = true
		}
	}
}

// postAgain posts the last answer again. A record may refuse it whole, because
// what was to be updated has another version by now.
func (c *course) postAgain() {
	c.t.Helper()
	status, refused := c.record.call("POST", "", c.answer)
	if status != 200 && status != 409 && status != 412 {
		c.t.Errorf("the answer is not stored a second time: HTTP %d: %.2000s", status, asText(refused))
	}
}

// counts is how many resources the record has of each type that was stored.
func (c *course) counts() map[string]float64 {
	c.t.Helper()
	counts := map[string]float64{}
	for place := range c.posted {
		kind, _, _ := strings.Cut(place, "/")
		if _, counted := counts[kind]; !counted {
			counts[kind] = c.record.count(kind)
		}
	}
	return counts
}

// acceptPlan does what a clinician does to a plan.
func (c *course) acceptPlan() {
	c.t.Helper()
	plans := c.record.search("CarePlan", "patient", c.patient, "status", "draft")
	if len(plans) != 1 {
		c.t.Fatalf("%d plans are proposed, want 1", len(plans))
	}
	plan := plans[0]
	plan["status"], plan["intent"] = "active", "plan"
	plan["author"] = resource{"reference": "Practitioner/" + c.output + "-clinician"}
	plan["note"] = []any{resource{"text": "Discussed with the patient. No overhead work before May."}}
	c.touch(plan)
}

// editGoal gives a proposed goal another status.
func (c *course) editGoal(status string) {
	c.t.Helper()
	goals := c.record.search("Goal", "patient", c.patient, "lifecycle-status", "proposed")
	if len(goals) == 0 {
		c.t.Error("no goal is proposed")
		return
	}
	goals[0]["lifecycleStatus"], goals[0]["statusDate"] = status, "2026-04-01"
	c.touch(goals[0])
}

func (c *course) touch(r resource) {
	c.t.Helper()
	left := c.record.update(r)
	delete(left, "meta")
	c.touched[addressOf(left)] = left
}

// untouched fails if what the clinician edited is not as it was left.
func (c *course) untouched() {
	c.t.Helper()
	for place, left := range c.touched {
		now := c.record.done("GET", place, nil)
		delete(now, "meta")
		for _, name := range slices.Sorted(maps.Keys(left)) {
			if !reflect.DeepEqual(left[name], now[name]) {
				c.t.Errorf("%s.%s, which the clinician edited, was overwritten: %.300s, was %.300s", place, name, asText(now[name]), asText(left[name]))
			}
		}
	}
}

// current are how many results of each code the record holds in force for the
// day of the last session.
func (c *course) current() map[string]int {
	c.t.Helper()
	counts := map[string]int{}
	for _, r := range c.record.search("Observation", "patient", c.patient, "identifier", resultSystem+"|", "_count", "200") {
		if r["status"] == "entered-in-error" || r["status"] == "cancelled" {
			continue
		}
		if at, _ := r["effectiveDateTime"].(string); strings.HasPrefix(at, "2026-04-20") {
			counts[codeOf(r)]++
		}
	}
	if len(counts) == 0 {
		c.t.Error("no result is in force for the last session")
	}
	return counts
}

const resultSystem = "https://evenreach.example/fhir/sid/result"

func (c *course) same(when string, before map[string]int) {
	c.t.Helper()
	if now := c.current(); !maps.Equal(now, before) {
		c.t.Errorf("%s the results in force for the last session are %v, before %v", when, now, before)
	}
}

func codeOf(r resource) string {
	code, _ := r["code"].(resource)
	for _, coding := range list(code["coding"]) {
		return coding["code"].(string)
	}
	return ""
}

// whole fails if a resource that was stored cannot be found by its patient, or
// refers to what cannot be found.
func (c *course) whole() {
	c.t.Helper()
	var references []string
	for kind, ids := range byKind(maps.Keys(c.posted)) {
		of := map[string]bool{}
		if kind != "Device" && kind != "Provenance" { // have no patient of their own
			for _, r := range c.record.search(kind, "patient", c.patient, "_count", "200") {
				of[r["id"].(string)] = true
			}
			c.missing(kind, ids, of, "by its patient")
		}
		references = referencesIn(c.found(kind, ids), references)
	}
	for kind, ids := range byKind(slices.Values(references)) {
		there := map[string]bool{}
		for _, r := range c.found(kind, ids) {
			there[r.(resource)["id"].(string)] = true
		}
		c.missing(kind, ids, there, "although a resource of ours refers to it")
	}
	c.t.Logf("%d resources of ours, %d references followed", len(c.posted), len(references))
}

func (c *course) missing(kind string, ids []string, found map[string]bool, how string) {
	c.t.Helper()
	for _, id := range ids {
		if !found[id] {
			c.t.Errorf("%s/%s is not found %s", kind, id, how)
		}
	}
}

// found are the resources of a type that a search by id finds.
func (c *course) found(kind string, ids []string) (all []any) {
	c.t.Helper()
	for some := range slices.Chunk(ids, 50) {
		for _, r := range c.record.search(kind, "_id", strings.Join(some, ","), "_count", "50") {
			all = append(all, r)
		}
	}
	return all
}

// byKind are the ids of references by the type that they name, each once.
func byKind(references iter.Seq[string]) map[string][]string {
	kinds := map[string][]string{}
	for _, reference := range slices.Compact(slices.Sorted(references)) {
		kind, id, _ := strings.Cut(reference, "/")
		kinds[kind] = append(kinds[kind], id)
	}
	return kinds
}

// referencesIn are the references within resources to others.
func referencesIn(node any, all []string) []string {
	switch node := node.(type) {
	case resource:
		for name, value := range node {
			text, isText := value.(string)
			switch {
			case isText && name == "reference" && !strings.HasPrefix(text, "#"):
				all = append(all, text)
			case name != "contained":
				all = referencesIn(value, all)
			}
		}
	case []any:
		for _, e := range node {
			all = referencesIn(e, all)
		}
	}
	return all
}
