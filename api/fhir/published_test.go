package fhirapi_test

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
	"evenreach.example/internal/shoulder"
)

func library() *fhirapi.Library { return fhirapi.New([]*protocol.Protocol{protocol.Default()}) }

var patient = &fhir.Reference{Reference: "Patient/demo-1"}

// lookup reads a published resource into v.
func lookup(t *testing.T, typeName, id string, v any) []byte {
	t.Helper()
	r, ok := library().Lookup(typeName, id)
	if !ok {
		t.Fatalf("%s/%s is not published", typeName, id)
	}
	if err := json.Unmarshal(r.JSON, v); err != nil {
		t.Fatal(err)
	}
	return r.JSON
}

func TestLookup(t *testing.T) {
	l := library()
	for _, r := range l.Resources() {
		found, ok := l.Lookup(r.Type, r.ID)
		if !ok || !bytes.Equal(found.JSON, r.JSON) {
			t.Errorf("%s/%s is listed and not found", r.Type, r.ID)
		}
	}
	if _, ok := l.Lookup("Patient", "1"); ok {
		t.Error("a Patient was found")
	}
}

func TestETagChangesWithTheContent(t *testing.T) {
	l := library()
	first, again := l.CapabilityStatement(fhirapi.Server{Version: "1"}), l.CapabilityStatement(fhirapi.Server{Version: "1"})
	other := l.CapabilityStatement(fhirapi.Server{Version: "2"})
	if first.ETag() != again.ETag() || first.ETag() == other.ETag() {
		t.Errorf("ETags %s, %s and %s: want the first two the same and the third another", first.ETag(), again.ETag(), other.ETag())
	}
}

// A clinic's own protocol is published beside ours, in its own name.
func TestOwnProtocol(t *testing.T) {
	own, err := protocol.Load([]byte(`{"id":"clinic","version":"3","title":"Clinic","symmetry":{"even":{"value":92,"source":"clinic's own"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	l := fhirapi.New([]*protocol.Protocol{own, protocol.Default()})
	r, ok := l.Lookup("PlanDefinition", "clinic")
	if !ok {
		t.Fatal("the clinic's protocol is not published")
	}
	for _, want := range []string{`"version":"3"`, `"url":"https://evenreach.example/fhir/PlanDefinition/clinic"`, "at least 92 %", "clinic's own"} {
		if !bytes.Contains(r.JSON, []byte(want)) {
			t.Errorf("the clinic's protocol lacks %s", want)
		}
	}
	if bytes.Contains(r.JSON, []byte(`"publisher"`)) {
		t.Error("the clinic's protocol is published in our name")
	}
	if _, ok := l.Lookup("PlanDefinition", protocol.Default().ID); !ok {
		t.Error("our own protocol is not published beside it")
	}
}

// The first of two protocols with one id is the one that decides by default.
func TestTwoVersionsOfOneProtocol(t *testing.T) {
	own, err := protocol.Load([]byte(`{"version":"9"}`))
	if err != nil {
		t.Fatal(err)
	}
	r, _ := fhirapi.New([]*protocol.Protocol{own, protocol.Default()}).Lookup("PlanDefinition", own.ID)
	if !bytes.Contains(r.JSON, []byte(`"version":"9"`)) {
		t.Error("not the first one is published")
	}
}

// Every source of the protocol is cited, and the targets are its own.
func TestPlanDefinition(t *testing.T) {
	var plan struct {
		RelatedArtifact []struct{ Citation string }
		Goal            []struct {
			ID     string
			Target []struct{ DetailQuantity, Due struct{ Value json.Number } }
		}
	}
	lookup(t, "PlanDefinition", "evenreach-default", &plan)
	var cited []string
	for _, a := range plan.RelatedArtifact {
		cited = append(cited, a.Citation)
	}
	for _, source := range sources(reflect.ValueOf(*protocol.Default())) {
		if !slices.Contains(cited, source) {
			t.Errorf("not cited: %s", source)
		}
	}
	want := map[string]string{ // by hand, from the default protocol
		"good-enough":           "75 in 42",
		"even":                  "90 in 42",
		"even-in-all-positions": "90 in 84",
		"range":                 "135 in 42; 135 in 42", // 75 % of 180 degrees
		"pain":                  "5 in 42",
	}
	for _, g := range plan.Goal {
		var targets []string
		for _, target := range g.Target {
			targets = append(targets, string(target.DetailQuantity.Value)+" in "+string(target.Due.Value))
		}
		if got := strings.Join(targets, "; "); got != want[g.ID] {
			t.Errorf("goal %s: %s, want %s", g.ID, got, want[g.ID])
		}
	}
	if len(plan.Goal) != len(want) {
		t.Errorf("%d goals, want %d", len(plan.Goal), len(want))
	}
}

// sources are the fields called Source in a value and all that is in it.
func sources(v reflect.Value) (all []string) {
	if v.Kind() != reflect.Struct {
		return nil
	}
	for i := range v.NumField() {
		if v.Type().Field(i).Name == "Source" {
			all = append(all, v.Field(i).String())
		}
		all = append(all, sources(v.Field(i))...)
	}
	return all
}

// The example of site codes is a map that intake reads, and does what it says.
func TestSiteCodesExample(t *testing.T) {
	text := lookup(t, "ConceptMap", "site-codes-example", &struct{}{})
	codes, err := intake.ReadCodeMap(text)
	if err != nil {
		t.Fatal(err)
	}
	const flowsheet, sites = "https://hospital.example/fhir/CodeSystem/flowsheet", "https://hospital.example/fhir/CodeSystem/body-site"
	newtons := &fhir.Quantity{Value: "80", Unit: "N", System: fhir.SystemUCUM, Code: "N"}
	concept := func(system, code string) *fhir.CodeableConcept {
		return &fhir.CodeableConcept{Coding: []fhir.Coding{{System: system, Code: code}}}
	}
	local := func(code string) *fhir.Observation {
		return &fhir.Observation{Status: "final", Code: *concept(flowsheet, code), Subject: patient, Effective: fhir.DateTime("2026-05-04T10:00:00Z"), Value: newtons}
	}
	left := local("310")
	left.BodySite, left.Method = concept(sites, "SHL"), concept(flowsheet, "330")
	elevated := local("310")
	elevated.Code = *concept(fhir.SystemShoulder, fhir.CodeExternalRotationStrength)
	elevated.BodySite = concept(sites, "SHL")
	elevated.Component = []fhir.Component{{Code: *concept(flowsheet, "320"), Value: concept(flowsheet, "321")}}
	tests := []struct {
		name string
		o    *fhir.Observation
		want shoulder.Trial
	}{
		{"all in one code", local("301"), shoulder.Trial{Motion: shoulder.External, Position: shoulder.Abduction90, Support: shoulder.Unsupported, Side: shoulder.Right}},
		{"the other side", local("302"), shoulder.Trial{Motion: shoulder.External, Position: shoulder.Abduction90, Support: shoulder.Unsupported, Side: shoulder.Left}},
		{"body site and method", left, shoulder.Trial{Motion: shoulder.Internal, Position: shoulder.AtSide, Side: shoulder.Left, Instrument: shoulder.BeltStabilised}},
		{"component", elevated, shoulder.Trial{Motion: shoulder.External, Position: shoulder.Flexion90, Side: shoulder.Left}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			bundle := &fhir.Bundle{BundleType: "collection", Entry: []fhir.Entry{{Resource: tt.o}}}
			reading, err := intake.Read(intake.Input{Bundle: bundle, Involved: shoulder.Right, Codes: codes})
			if err != nil {
				t.Fatal(err)
			}
			got := reading.Episode.Sessions[0].Trials[0]
			got.Value, got.Source = tt.want.Value, tt.want.Source
			if got != tt.want {
				t.Errorf("read as %+v, want %+v", got, tt.want)
			}
		})
	}
}

// Units outside a value set are refused, and the refusal names the units that
// are read: they are those of the value set.
func TestUnitsAreThoseThatAreRead(t *testing.T) {
	tests := []struct{ set, code string }{
		{"strength-unit", fhir.CodeExternalRotationStrength},
		{"length-unit", fhir.CodeLeverArmLength},
	}
	for _, tt := range tests {
		t.Run(tt.set, func(t *testing.T) {
			var set struct {
				Compose struct {
					Include []struct{ Concept []struct{ Code string } }
				}
			}
			lookup(t, "ValueSet", tt.set, &set)
			var published []string
			for _, c := range set.Compose.Include[0].Concept {
				published = append(published, c.Code)
			}
			_, list, _ := strings.Cut(refusal(t, tt.code), "expected a UCUM code: ")
			read := strings.Split(strings.ReplaceAll(list, " or ", ", "), ", ")
			slices.Sort(published)
			slices.Sort(read)
			if !slices.Equal(published, read) {
				t.Errorf("published %q, read %q", published, read)
			}
		})
	}
}

// refusal is what intake says of a value in a unit that nobody has.
func refusal(t *testing.T, code string) string {
	t.Helper()
	own := func(code string) fhir.CodeableConcept {
		return fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: code}}}
	}
	position := own(shoulder.AtSide.String())
	o := &fhir.Observation{
		Status: "final", Code: own(code), Subject: patient, Effective: fhir.DateTime("2026-05-04T10:00:00Z"),
		BodySite:  &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemSNOMED, Code: fhir.SNOMEDRightShoulder}}},
		Component: []fhir.Component{{Code: own(fhir.CodeArmPosition), Value: &position}},
		Value:     &fhir.Quantity{Value: "1", System: fhir.SystemUCUM, Code: "ng"},
	}
	other := *o
	other.Code, other.Value = own(fhir.CodeExternalRotationStrength), &fhir.Quantity{Value: "1", System: fhir.SystemUCUM, Code: "N"}
	bundle := &fhir.Bundle{BundleType: "collection", Entry: []fhir.Entry{{Resource: o}, {Resource: &other}}}
	reading, err := intake.Read(intake.Input{Bundle: bundle, Involved: shoulder.Right})
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range reading.Issues {
		if strings.Contains(i.Path, "valueQuantity") {
			return i.Detail
		}
	}
	t.Fatalf("the unit was read: %v", reading.Issues)
	return ""
}

// The parameters of the operation are those that the service reads.
func TestParametersAreThoseThatAreRead(t *testing.T) {
	var operation struct {
		Parameter []struct{ Name, Use string }
	}
	lookup(t, "OperationDefinition", "assess-shoulder", &operation)
	var published []string
	for _, p := range operation.Parameter {
		if p.Use == "in" {
			published = append(published, p.Name)
		}
	}
	request, err := service.Decode([]byte(`{"resourceType":"Parameters","parameter":[{"name":"nothing","valueString":"x"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	_, list, _ := strings.Cut(request.Problems[0].Detail, "expected ")
	read := strings.Split(strings.ReplaceAll(list, " or ", ", "), ", ")
	if !slices.Equal(published, read) {
		t.Errorf("published %q, read %q", published, read)
	}
}

func TestExampleRequestIsTheScenario(t *testing.T) {
	var example, scenario map[string]any
	lookup(t, "Bundle", "example-request", &example)
	text, err := os.ReadFile("../../testdata/scenarios/good-at-side-weak-overhead/input.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &scenario); err != nil {
		t.Fatal(err)
	}
	scenario["id"] = "example-request"
	if !reflect.DeepEqual(example, scenario) {
		t.Error("the example request is not the scenario good-at-side-weak-overhead")
	}
}
