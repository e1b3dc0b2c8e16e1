//go:build record

package conformance

import (
	"os"
	"strings"
)

const shoulderSystem = "https://evenreach.example/fhir/CodeSystem/shoulder"

// searches makes each search of the README's table and holds what is found
// against the last answer. P stands for the patient's id there, ID for another.
func (c *course) searches() {
	c.t.Helper()
	measurement := c.anyMeasurement()
	plan := c.find1("CarePlan?patient=P&status=draft&_sort=-_lastUpdated&_count=1", "")
	if identifier(plan) != identifier(c.ofAnswer("CarePlan")[0]) {
		c.t.Errorf("the newest proposed plan is %s, the answer's is %s", identifier(plan), identifier(c.ofAnswer("CarePlan")[0]))
	}
	report := c.find1("DiagnosticReport?patient=P&code=http://loinc.org|11508-9&_sort=-date&_count=1", "")
	if identifier(report) != identifier(c.ofAnswer("DiagnosticReport")[0]) {
		c.t.Errorf("the latest report is %s, the answer's is %s", identifier(report), identifier(c.ofAnswer("DiagnosticReport")[0]))
	}
	for _, code := range []string{"limb-symmetry-index", "rotation-readiness", "rotation-course"} {
		found := c.listed("Observation?patient=P&code="+shoulderSystem+"|"+code+"&date=2026-04-20", "")
		if want := c.withCode(code); len(found) != len(want) || len(want) == 0 {
			c.t.Errorf("%d of %s on the last day, the answer has %d", len(found), code, len(want))
		}
	}
	if found := c.listed("Observation?patient=P&code="+shoulderSystem+"|strength-course&_sort=date", ""); len(found) == 0 {
		c.t.Error("no course of the shoulder is found")
	}
	if found := c.listed("Goal?patient=P&lifecycle-status=proposed,accepted,active", ""); len(found) == 0 {
		c.t.Error("no goal in force is found")
	}
	if found := c.listed("Observation?derived-from=Observation/ID", measurement); len(found) == 0 {
		c.t.Errorf("no result of %s is found", measurement)
	}
	if found := c.listed("Provenance?target=CarePlan/ID", plan["id"].(string)); len(found) == 0 {
		c.t.Error("the plan's Provenance is not found")
	}
}

// listed makes a search that the README must name.
func (c *course) listed(search, id string) []resource {
	c.t.Helper()
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		c.t.Fatal(err)
	}
	named := strings.Replace(search, "2026-04-20", "DAY", 1)
	named = strings.Replace(named, shoulderSystem, "CS", 1)
	if !strings.Contains(string(text), "`"+strings.ReplaceAll(named, "|", `\|`)+"`") { // a table escapes it
		c.t.Errorf("the README does not name the search %s", named)
	}
	kind, asked, _ := strings.Cut(search, "?")
	var parameters []string
	for parameter := range strings.SplitSeq(asked, "&") {
		name, value, _ := strings.Cut(parameter, "=")
		switch {
		case value == "P":
			value = c.output
		case strings.HasSuffix(value, "/ID"):
			value = strings.TrimSuffix(value, "ID") + id
		}
		parameters = append(parameters, name, value)
	}
	found, _ := c.record.page(query(kind, parameters...))
	return found
}

// find1 is the first that a search finds.
func (c *course) find1(search, id string) resource {
	c.t.Helper()
	found := c.listed(search, id)
	if len(found) == 0 {
		c.t.Errorf("%s finds nothing", search)
		return resource{"id": "none"}
	}
	return found[0]
}

// ofAnswer are the resources of a type in the last answer.
func (c *course) ofAnswer(kind string) (all []resource) {
	for _, e := range list(c.answer["entry"]) {
		if r, ok := e["resource"].(resource); ok && r["resourceType"] == kind {
			all = append(all, r)
		}
	}
	return all
}

func (c *course) withCode(code string) (all []resource) {
	for _, r := range c.ofAnswer("Observation") {
		if codeOf(r) == code {
			all = append(all, r)
		}
	}
	return all
}

// anyMeasurement is the id of a measurement that an index of the last answer is
// derived from.
func (c *course) anyMeasurement() string {
	for _, index := range c.withCode("limb-symmetry-index") {
		for _, from := range list(index["derivedFrom"]) {
			if text, ok := from["reference"].(string); ok {
				_, id, _ := strings.Cut(strings.TrimPrefix(text, c.record.base+"/"), "/")
				return id
			}
		}
	}
	c.t.Error("no index names a measurement")
	return "none"
}

func identifier(r resource) string {
	for _, i := range list(r["identifier"]) {
		return i["value"].(string)
	}
	return ""
}
