// Package shape holds what an operator writes, in YAML or JSON, against a JSON Schema, and
// reports every place where it departs from it at once.
package shape

import (
	"bytes"
	"errors"
	"slices"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"sigs.k8s.io/yaml"
)

// A Problem is one thing that is wrong with a file.
type Problem struct {
	Path string // such as symmetry.even.value; empty for the file as a whole
	Text string
}

// Problems is everything that is wrong with a file.
type Problems []Problem

// Error lists the problems, one a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, problem := range p {
		lines[i] = strings.TrimPrefix(problem.Path+": "+problem.Text, ": ")
	}
	return strings.Join(lines, "\n")
}

// Compile compiles a schema that is part of the program, and panics if it is none.
func Compile(url string, text []byte) *jsonschema.Schema {
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	compiler := jsonschema.NewCompiler()
	err = errors.Join(err, compiler.AddResource(url, document))
	schema, compileErr := compiler.Compile(url)
	if err = errors.Join(err, compileErr); err != nil {
		panic("shape: " + url + ": " + err.Error())
	}
	return schema
}

// JSON is a file, YAML or JSON, as JSON of the shape that the schema describes.
func JSON(file []byte, schema *jsonschema.Schema) ([]byte, Problems) {
	text, err := yaml.YAMLToJSONStrict(file)
	if err != nil {
		return nil, Problems{{Text: "not YAML or JSON: " + err.Error()}}
	}
	return text, Check(text, schema)
}

// Check reports every place where a JSON text departs from a schema.
func Check(text []byte, schema *jsonschema.Schema) Problems {
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return Problems{{Text: err.Error()}}
	}
	err = schema.Validate(document)
	if err == nil {
		return nil
	}
	invalid, ok := errors.AsType[*jsonschema.ValidationError](err)
	if !ok {
		return Problems{{Text: err.Error()}}
	}
	var problems Problems
	collect(invalid, &problems)
	slices.SortFunc(problems, func(a, b Problem) int {
		return strings.Compare(a.Path+a.Text, b.Path+b.Text)
	})
	return problems
}

func collect(e *jsonschema.ValidationError, problems *Problems) {
	for _, cause := range e.Causes {
		collect(cause, problems)
	}
	if len(e.Causes) == 0 {
		text := e.ErrorKind.LocalizedString(message.NewPrinter(language.English))
		*problems = append(*problems, Problem{strings.Join(e.InstanceLocation, "."), text})
	}
}
