package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
)

// sample is a named request.
type sample struct {
	name string
	body []byte
}

// corpus is what the parts are measured with: the Bundle that speeds are quoted
// for, and two histories of the scenarios, without their white space.
func corpus() []sample {
	all := []sample{{"60 Observations", fhirtest.Bundle60()}}
	for _, s := range []struct{ name, scenario string }{
		{"a re-check, 34 Observations", "even-in-all-positions"},
		{"ten visits, 118 Observations", "ten-visits"},
	} {
		body, err := scenario(s.scenario)
		if err != nil {
			fmt.Fprintln(os.Stderr, "benchmark: left out:", err)
			continue
		}
		all = append(all, sample{s.name, body})
	}
	return all
}

// scenario is the input of a scenario. The command is run from the module's
// root.
func scenario(name string) ([]byte, error) {
	text, err := os.ReadFile(filepath.Join("testdata", "scenarios", name, "input.json"))
	if err != nil {
		return nil, err
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, text); err != nil {
		return nil, err
	}
	return compact.Bytes(), nil
}

func newPipeline() *service.Pipeline {
	return &service.Pipeline{Protocols: service.Protocols{protocol.Default()}, Now: time.Now}
}
