//go:build official

package conformance

import (
	"bytes"
	"context"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/apply"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/record"
)

// shape is how a plan that is applied hangs together, whatever it proposes.
type shape struct {
	Type, Intent    string
	Canonical       string
	HasSubject      bool
	Encounter       string
	Activities      int
	Group           string // what the activity refers to
	GroupIntent     string
	GroupCanonical  string
	Requests        map[string]bool // types of what the actions refer to
	SameSubject     bool            // in the group and all requests as in the plan
	SameEncounter   bool
	Goals, Resolved bool // there are goals; every reference within the plan leads to what is contained
}

type applied struct {
	ResourceType, ID, Intent string
	InstantiatesCanonical    []string
	Subject, Encounter       struct{ Reference string }
	Goal                     []struct{ Reference string }
	Activity                 []struct{ Reference struct{ Reference string } }
	Action                   []action
	Contained                []applied
}

type action struct {
	Resource struct{ Reference string }
	Action   []action
}

// shapeOf is the shape of a CarePlan.
func shapeOf(t *testing.T, text []byte) shape {
	t.Helper()
	var p applied
	if err := json.Unmarshal(text, &p); err != nil {
		t.Fatalf("%v: %.300s", err, text)
	}
	contained := map[string]*applied{}
	for i := range p.Contained {
		contained["#"+strings.TrimPrefix(p.Contained[i].ID, "#")] = &p.Contained[i]
	}
	s := shape{Type: p.ResourceType, Intent: p.Intent, Canonical: strings.Join(p.InstantiatesCanonical, " "), HasSubject: p.Subject.Reference != "", Encounter: p.Encounter.Reference,
		Activities: len(p.Activity), Requests: map[string]bool{}, SameSubject: true, SameEncounter: true, Goals: len(p.Goal) > 0, Resolved: true}
	within := func(reference string) *applied {
		one := contained[reference]
		if one == nil {
			s.Resolved = false
			return new(applied)
		}
		s.SameSubject = s.SameSubject && (one.Subject == p.Subject || one.ResourceType == "Goal")
		s.SameEncounter = s.SameEncounter && (one.Encounter == p.Encounter || one.ResourceType == "Goal")
		return one
	}
	for _, g := range p.Goal {
		within(g.Reference)
	}
	group := within(p.Activity[0].Reference.Reference)
	s.Group, s.GroupIntent, s.GroupCanonical = group.ResourceType, group.Intent, strings.Join(group.InstantiatesCanonical, " ")
	var visit func(actions []action)
	visit = func(actions []action) {
		for _, a := range actions {
			if a.Resource.Reference != "" {
				s.Requests[within(a.Resource.Reference).ResourceType] = true
			}
			visit(a.Action)
		}
	}
	visit(group.Action)
	return s
}

// The engine that HAPI FHIR's servers apply PlanDefinitions with makes a plan of the same shape of ours. What it proposes is
// another thing: it does not measure, and takes all exercises. Its plan is active where ours is a draft, its requests are
// proposals where ours are options of a proposal, and it names the practitioner as the author.
func TestOfficialApply(t *testing.T) {
	var published []document
	for _, d := range definitions() {
		if strings.HasPrefix(d.name, "PlanDefinition-") || strings.HasPrefix(d.name, "ActivityDefinition-") {
			published = append(published, d)
		}
	}
	theirs := shapeOf(t, byTheirEngine(t, filepath.Dir(written(t, published)[0])))
	resource, err := fhirjson.Decode(answerTo(t, "../../testdata/scenarios/fast-recoverer/input.json", record.Collection).body, fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := apply.CarePlan(resource.(*fhir.Bundle), apply.Context{Encounter: "Encounter/e1", Practitioner: "Practitioner/x1"})
	if err != nil {
		t.Fatal(err)
	}
	if ours := shapeOf(t, plan); !reflect.DeepEqual(ours, theirs) {
		t.Errorf("our plan is\n%+v\ntheirs is\n%+v", ours, theirs)
	}
}

// byTheirEngine applies the PlanDefinition of a folder.
func byTheirEngine(t *testing.T, folder string) []byte {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	var out, problems bytes.Buffer
	command := exec.CommandContext(ctx, "mvn", "--batch-mode", "--quiet", "--file", "apply", "-Dbuilt="+t.TempDir(), "compile", "exec:java",
		"-Dexec.args="+folder+" "+fhir.CanonicalBase+"/PlanDefinition/evenreach-default")
	command.Stdout, command.Stderr = &out, &problems
	if err := command.Run(); err != nil {
		t.Fatalf("mvn: %v\n%.2000s\n%.2000s", err, out.String(), problems.String())
	}
	_, plan, found := bytes.Cut(out.Bytes(), []byte(`{"resourceType":"CarePlan"`))
	if !found {
		t.Fatalf("no plan in %.600s", out.String())
	}
	plan, _, _ = bytes.Cut(plan, []byte("\n"))
	return append([]byte(`{"resourceType":"CarePlan"`), plan...)
}
