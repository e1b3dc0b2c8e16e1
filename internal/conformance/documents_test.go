package conformance

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// document is one resource in FHIR JSON, with a name to tell it by.
type document struct {
	name string
	body []byte
}

// published are all artefacts that a service serves.
func published() (all []document) {
	server := fhirapi.Server{Version: "1.2.3", Base: "https://evenreach.hospital.example/fhir", Security: []string{"SMART-on-FHIR"}}
	library := fhirapi.New([]*protocol.Protocol{protocol.Default()})
	for _, r := range append(library.Resources(), library.CapabilityStatement(server)) {
		all = append(all, document{r.Type + "-" + r.ID, r.JSON})
	}
	return all
}

// outputs are the kinds of answer.
var outputs = []record.Output{record.Transaction, record.Collection, record.Check}

// answers are the answers to every scenario in every kind of output.
func answers(t *testing.T) (all []document) {
	t.Helper()
	for _, output := range outputs {
		all = append(all, answersAs(t, output)...)
	}
	return all
}

func answersAs(t *testing.T, output record.Output) (all []document) {
	t.Helper()
	for _, file := range scenarios(t) {
		all = append(all, answerTo(t, file, output))
	}
	return all
}

// answerTo is the answer to a request file.
func answerTo(t *testing.T, file string, output record.Output) document {
	t.Helper()
	body, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Base(filepath.Dir(file)) + "." + output.String()
	return document{name, answer(t, name, body, output)}
}

// scenarios are the request files of all scenarios.
func scenarios(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../testdata/scenarios/*/input.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenarios found: %v", err)
	}
	return files
}

func answer(t *testing.T, name string, body []byte, output record.Output) []byte {
	t.Helper()
	return answerUnder(t, protocol.Default(), name, body, output)
}

func answerUnder(t *testing.T, p *protocol.Protocol, name string, body []byte, output record.Output) []byte {
	t.Helper()
	pipeline := service.Pipeline{
		Protocols: service.Protocols{p},
		Words:     wording.For("en"),
		Version:   "1.2.3",
		Now:       func() time.Time { return time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC) },
	}
	request, err := service.Decode(body)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	request.Output = output
	answered, err := pipeline.Run(context.Background(), request)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return fhirjson.Encode(answered.Resource())
}
