package protocol

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shape"
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
	case reflect.TypeFor[shoulder.Motion]():
		return map[string]any{"enum": shoulder.CodesOf(shoulder.Motions[:])}
	case reflect.TypeFor[shoulder.ArmPosition]():
		return map[string]any{"enum": shoulder.CodesOf(shoulder.Positions[:])}
	case reflect.TypeFor[shoulder.Movement]():
		return map[string]any{"enum": shoulder.CodesOf(shoulder.Movements[:])}
	case reflect.TypeFor[shoulder.PainContext]():
		return map[string]any{"enum": shoulder.CodesOf(shoulder.PainContexts[:])}
	case reflect.TypeFor[shoulder.LoadPhase]():
		return map[string]any{"enum": shoulder.CodesOf(shoulder.LoadPhases[shoulder.LoadFunctional:])}
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

var compiledSchema = sync.OnceValue(func() *jsonschema.Schema { return shape.Compile(schemaURL, schemaText()) })

func sortedNames(m map[string]any) []string { return slices.Sorted(maps.Keys(m)) }
