package protocol

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	goyaml "go.yaml.in/yaml/v2"
	"sigs.k8s.io/yaml"

	"evenreach.example/internal/shape"
)

// read is a protocol file as JSON without what has not the form of a protocol, with a
// problem for each of that; nil if nothing is left that could be looked at.
func read(file []byte) ([]byte, Problems) {
	text, problems, err := toJSON(file)
	if err != nil {
		return nil, Problems{{Text: "not YAML or JSON: " + err.Error()}}
	}
	misshapen := shape.Check(text, compiledSchema())
	if len(misshapen) > 0 {
		text = without(text, misshapen)
	}
	return text, append(problems, misshapen...)
}

// toJSON is a file as JSON, without the numbers that JSON has no form for.
func toJSON(file []byte) ([]byte, Problems, error) {
	text, err := yaml.YAMLToJSONStrict(file)
	if err == nil {
		return text, nil, nil
	}
	var document goyaml.MapSlice
	if goyaml.UnmarshalStrict(file, &document) != nil {
		return nil, nil, err
	}
	var problems Problems
	document = finite("", document, &problems)
	if len(problems) == 0 {
		return nil, nil, err
	}
	if file, err = goyaml.Marshal(document); err != nil {
		return nil, nil, err
	}
	text, err = yaml.YAMLToJSONStrict(file)
	return text, problems, err
}

// finite is an object without what is no number, or infinite.
func finite(path string, object goyaml.MapSlice, problems *Problems) (kept goyaml.MapSlice) {
	for _, member := range object {
		here := strings.TrimPrefix(fmt.Sprintf("%s.%v", path, member.Key), ".")
		switch value := member.Value.(type) {
		case goyaml.MapSlice:
			member.Value = finite(here, value, problems)
		case []any:
			for i := range value {
				if item, ok := value[i].(goyaml.MapSlice); ok {
					value[i] = finite(fmt.Sprintf("%s.%d", here, i), item, problems)
				}
			}
		case float64:
			if math.IsNaN(value) || math.IsInf(value, 0) {
				*problems = append(*problems, Problem{Path: here, Text: "must be a finite number"})
				continue
			}
		}
		kept = append(kept, member)
	}
	return kept
}

// without is a document without the members at the places of problems; nil if that is
// no object.
func without(document []byte, problems Problems) []byte {
	var root map[string]any
	if json.Unmarshal(document, &root) != nil || root == nil {
		return nil
	}
	for _, p := range problems {
		remove(root, strings.Split(p.Path, "."))
	}
	text, err := json.Marshal(root)
	if err != nil {
		return nil
	}
	return text
}

// remove takes what stands at a path out of an object. In a list the places of the others
// stay as they are, so that what is wrong with them is said at the right place.
func remove(object map[string]any, path []string) {
	switch below := object[path[0]].(type) {
	case map[string]any:
		if len(path) > 1 {
			remove(below, path[1:])
			return
		}
	case []any:
		if len(path) > 1 {
			removeFrom(below, path[1:])
			return
		}
	}
	delete(object, path[0])
}

func removeFrom(list []any, path []string) {
	i, err := strconv.Atoi(path[0])
	if err != nil || i < 0 || i >= len(list) {
		return
	}
	if item, isObject := list[i].(map[string]any); isObject && len(path) > 1 {
		remove(item, path[1:])
		return
	}
	list[i] = nil
}

// withoutThoseOf are the problems at none of the paths of others, nor below one: what could not be read
// was taken out, and would be called missing.
func withoutThoseOf(problems, others Problems) (kept Problems) {
	for _, p := range problems {
		about := func(o Problem) bool { return o.Path == p.Path || strings.HasPrefix(p.Path, o.Path+".") }
		if !slices.ContainsFunc(others, about) {
			kept = append(kept, p)
		}
	}
	return kept
}

// placeOf is the place of a value that does not fit.
func placeOf(err error) (string, bool) {
	misfit, ok := errors.AsType[*json.SemanticError](err)
	if !ok || misfit.JSONPointer == "" || misfit.Err == nil {
		return "", false
	}
	return strings.ReplaceAll(strings.TrimPrefix(string(misfit.JSONPointer), "/"), "/", "."), true
}
