package fhirapi

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
)

var update = flag.Bool("update", false, "rewrite the JSON files beside this package")

const examplesBase = "https://evenreach.hospital.example/fhir"

func library() *Library { return New([]*protocol.Protocol{protocol.Default()}) }

// The files are for people to read, and a change of what is published is
// reviewed in them. They leave out what is put together from parts that stand
// elsewhere: snapshots, and the answer to the example request.
func TestFilesAreWhatIsServed(t *testing.T) {
	l := library()
	served := append([]Resource{l.CapabilityStatement(Server{Version: "1.2.3", Base: examplesBase, Security: []string{"SMART-on-FHIR", "Certificates"}, Record: true, Offers: func(string) bool { return true }})}, l.Resources()...)
	files := map[string]bool{}
	for _, r := range served {
		if r.ID == exampleAnswer {
			continue
		}
		name := r.Type + "-" + r.ID + ".json"
		files[name] = true
		want := append(fhirjson.Indent(withoutSnapshot(t, r)), '\n')
		if *update {
			if err := os.WriteFile(name, want, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not what is served; run go test ./api/fhir -update and review the difference", name)
		}
	}
	there, err := filepath.Glob("*.json")
	if err != nil || len(there) == 0 {
		t.Fatalf("no files found: %v", err)
	}
	for _, name := range there {
		if !files[name] {
			t.Errorf("%s is served no more", name)
		}
	}
}

func withoutSnapshot(t *testing.T, r Resource) []byte {
	t.Helper()
	const from, to = `,"snapshot":`, `,"differential":`
	start, end := bytes.Index(r.JSON, []byte(from)), bytes.Index(r.JSON, []byte(to))
	if r.Type != "StructureDefinition" {
		return r.JSON
	}
	if start < 0 || end < start {
		t.Fatalf("%s has no snapshot before its differential", r.ID)
	}
	return append(bytes.Clone(r.JSON[:start]), r.JSON[end:]...)
}
