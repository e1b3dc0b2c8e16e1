package protocol

import (
	"bytes"
	"errors"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

const schemaURL = "https://evenreach.example/schema/protocol.json"

// Schema is the JSON Schema (draft 2020-12) of a protocol file. It is derived
// from the Go types, so that the two cannot drift apart.
func Schema() []byte { return schemaText() }

var schemaText = sync.OnceValue(func() []byte {
	root := objectSchema(reflect.TypeFor[Protocol]())
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["$id"] = schemaURL
	root["title"] = "Evenreach protocol: thresholds with comparison, unit and source"
	text, err := json.Marshal(root, json.Deterministic(true), jsontext.WithIndent("  "))
	if err != nil {
		panic("protocol: schema: " + err.Error())
	}
	return text
})

func objectSchema(t reflect.Type) map[string]any {
	properties := map[string]any{}
	addProperties(properties, t)
	return map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
}

func addProperties(properties map[string]any, t reflect.Type) {
	for field := range t.Fields() {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		switch {
		case field.Anonymous:
			addProperties(properties, field.Type)
		case name != "":
			properties[name] = typeSchema(field.Type)
		}
	}
}

func typeSchema(t reflect.Type) map[string]any {
	switch t {
	case reflect.TypeFor[exact.Number]():
		return map[string]any{"type": "number"}
	case reflect.TypeFor[Comparison]():
		return map[string]any{"enum": []string{">=", ">", "<=", "<"}}
	case reflect.TypeFor[Better]():
		return map[string]any{"enum": []string{Higher.String(), Lower.String()}}
	case reflect.TypeFor[ScoreRule]():
		return map[string]any{"enum": []string{Mean.String(), Maximum.String()}}
	case reflect.TypeFor[RangeReference]():
		return map[string]any{"enum": []string{StandardRange.String(), OtherSideRange.String()}}
	case reflect.TypeFor[shoulder.MuscleGrade]():
		return map[string]any{"type": "string", "pattern": "^([05]|1|[2-4][+-]?|5-)$"}
	}
	switch t.Kind() {
	case reflect.Struct:
		return objectSchema(t)
	case reflect.Pointer:
		return typeSchema(t.Elem())
	case reflect.Slice:
		return map[string]any{"type": "array", "items": typeSchema(t.Elem())}
	case reflect.Map: // of texts by name
		return map[string]any{"type": "object", "additionalProperties": typeSchema(t.Elem())}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	}
	return map[string]any{"type": "string", "minLength": 1}
}

var compiledSchema = sync.OnceValue(func() *jsonschema.Schema {
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(schemaText()))
	compiler := jsonschema.NewCompiler()
	err = errors.Join(err, compiler.AddResource(schemaURL, document))
	schema, compileErr := compiler.Compile(schemaURL)
	if err = errors.Join(err, compileErr); err != nil {
		panic("protocol: schema: " + err.Error())
	}
	return schema
})

// checkShape reports every place where the file departs from the schema.
func checkShape(text []byte) Problems {
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return Problems{{Text: err.Error()}}
	}
	err = compiledSchema().Validate(document)
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

func sortedNames(m map[string]any) []string { return slices.Sorted(maps.Keys(m)) }
