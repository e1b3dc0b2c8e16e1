package protocol

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
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
	text, problems := shape.JSON(file, compiledSchema())
	if problems != nil {
		return nil, problems
	}
	p, err := overDefault(text)
	if err != nil {
		return nil, Problems{{Text: err.Error()}}
	}
	if problems := append(checkSources(text), p.check()...); len(problems) > 0 {
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

// overDefault lays the file over the default.
func overDefault(text []byte) (*Protocol, error) {
	base, err := yaml.YAMLToJSONStrict(defaultText)
	if err != nil {
		return nil, fmt.Errorf("embedded default: %w", err)
	}
	var p Protocol
	for _, layer := range [][]byte{base, text} {
		if err := json.Unmarshal(layer, &p, json.RejectUnknownMembers(true)); err != nil {
			return nil, err
		}
	}
	return &p, nil
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
