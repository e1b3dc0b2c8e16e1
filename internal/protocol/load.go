package protocol

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"sigs.k8s.io/yaml"

	"evenreach.example/internal/shape"
)

//go:embed default.yaml
var defaultText []byte

// DefaultText is the default protocol as a YAML file with comments.
func DefaultText() []byte { return defaultText }

// Default returns the embedded default protocol.
var Default = sync.OnceValue(func() *Protocol {
	p, err := Load(defaultText)
	if err != nil {
		panic("protocol: embedded default: " + err.Error())
	}
	return p
})

// A Problem is one thing that is wrong with a protocol file.
type Problem = shape.Problem

// Problems is everything that is wrong with a protocol file.
type Problems = shape.Problems

// Load reads a protocol file, JSON or YAML. What the file leaves out keeps the
// default's value. The error is of type Problems and holds all that is wrong.
func Load(file []byte) (*Protocol, error) {
	document, problems := read(file)
	if document == nil {
		return nil, problems
	}
	p, further := overDefault(document)
	problems = append(problems, further...)
	problems = append(append(problems, checkSources(document)...), withoutThoseOf(p.check(), problems)...)
	if len(problems) > 0 {
		return nil, problems
	}
	canonical, err := json.Marshal(p, json.Deterministic(true))
	if err != nil {
		return nil, Problems{{Text: err.Error()}}
	}
	sum := sha256.Sum256(canonical)
	p.digest = hex.EncodeToString(sum[:])
	return p, nil
}

// overDefault lays a document over the default, and says which values are beyond what
// the program computes with, such as 1e300.
func overDefault(document []byte) (*Protocol, Problems) {
	base, err := yaml.YAMLToJSONStrict(defaultText)
	if err != nil {
		panic("protocol: embedded default: " + err.Error())
	}
	var problems Problems
	for {
		var p Protocol
		if err := json.Unmarshal(base, &p); err != nil {
			panic("protocol: embedded default: " + err.Error())
		}
		err := json.Unmarshal(document, &p)
		if err == nil {
			return &p, problems
		}
		place, known := placeOf(err)
		if !known || slices.ContainsFunc(problems, func(p Problem) bool { return p.Path == place }) {
			return &p, append(problems, Problem{Text: err.Error()})
		}
		problems = append(problems, Problem{Path: place, Text: errors.Unwrap(err).Error()})
		document = without(document, Problems{{Path: place}})
	}
}

// checkSources finds values that the file changes and leaves under the
// default's source, which would then vouch for a number that it never gave;
// and a changed protocol that still bears the default's name.
func checkSources(text []byte) (problems Problems) {
	base, err := yaml.YAMLToJSONStrict(defaultText)
	if err != nil {
		return Problems{{Text: "embedded default: " + err.Error()}}
	}
	var file, standard map[string]any
	if json.Unmarshal(text, &file) != nil || json.Unmarshal(base, &standard) != nil {
		return Problems{{Text: "not an object"}}
	}
	changed := false
	for name := range file {
		_, known := standard[name]
		changed = changed || !known // such as rows that the default has none of
	}
	walkChanges("", file, standard, func(path string, at map[string]any) {
		changed = true
		if _, sourced := at["source"]; !sourced {
			problems = append(problems, Problem{Path: path, Text: "is changed and needs its own source beside it"})
		}
	})
	if changed && (file["id"] == nil || file["id"] == standard["id"]) {
		problems = append(problems, Problem{Path: "id", Text: "a changed protocol needs an id of its own"})
	}
	return problems
}

// walkChanges calls found for each object of the file in which a value with a
// source differs from the standard.
func walkChanges(path string, file, standard map[string]any, found func(string, map[string]any)) {
	_, sourced := standard["source"]
	for _, name := range sortedNames(file) {
		here := strings.TrimPrefix(path+"."+name, ".")
		child, isObject := file[name].(map[string]any)
		if isObject {
			below, _ := standard[name].(map[string]any)
			walkChanges(here, child, below, found)
			continue
		}
		if sourced && name != "source" && fmt.Sprint(file[name]) != fmt.Sprint(standard[name]) {
			found(here, file)
		}
	}
}

// Text writes the protocol as indented JSON.
func (p *Protocol) Text() ([]byte, error) {
	return json.Marshal(p, json.Deterministic(true), jsontext.WithIndent("  "))
}
