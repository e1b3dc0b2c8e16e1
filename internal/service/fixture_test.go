package service

import (
	"encoding/json"
	"testing"
)

// object is JSON under construction.
type object = map[string]any

// change is a change to an object.
type change func(object)

func put(name string, value any) change {
	return func(o object) { o[name] = value }
}

// noSide leaves out what tells the side.
func noSide(o object) { delete(o, "bodySite") }

func made(o object, changes []change) object {
	for _, c := range changes {
		c(o)
	}
	return o
}

const (
	ownSystem = "https://evenreach.example/fhir/CodeSystem/shoulder"
	snomed    = "http://snomed.info/sct"
	ucum      = "http://unitsofmeasure.org"
	right     = "91774008"
	left      = "91775009"
)

func concept(system, code string) object {
	return object{"coding": []any{object{"system": system, "code": code}}}
}

func patient(id string, changes ...change) object {
	return made(object{"resourceType": "Patient", "id": id}, changes)
}

// condition is a cuff disorder of the right shoulder.
func condition(changes ...change) object {
	return made(object{
		"resourceType":   "Condition",
		"id":             "c1",
		"clinicalStatus": concept("http://terminology.hl7.org/CodeSystem/condition-clinical", "active"),
		"code":           concept(snomed, "414033006"),
		"bodySite":       []any{concept(snomed, right)},
		"subject":        object{"reference": "Patient/p1"},
	}, changes)
}

func newtons(value float64) object {
	return object{"value": value, "unit": "N", "system": ucum, "code": "N"}
}

func component(code, value string) object {
	return object{"code": concept(ownSystem, code), "valueCodeableConcept": concept(ownSystem, value)}
}

// strength is external rotation with the arm at the side, in a make test.
func strength(id, site string, value float64, changes ...change) object {
	return made(object{
		"resourceType":      "Observation",
		"id":                id,
		"status":            "final",
		"code":              concept(ownSystem, "isometric-external-rotation-strength"),
		"subject":           object{"reference": "Patient/p1"},
		"effectiveDateTime": "2026-03-02T09:00:00+01:00",
		"bodySite":          concept(snomed, site),
		"method":            concept(ownSystem, "handheld-dynamometry"),
		"valueQuantity":     newtons(value),
		"component":         []any{component("arm-position", "arm-at-side"), component("contraction-type", "make")},
	}, changes)
}

// bundle is a collection of resources.
func bundle(resources ...object) object {
	entries := make([]any, len(resources))
	for i, r := range resources {
		entries[i] = object{"resource": r}
	}
	return object{"resourceType": "Bundle", "type": "collection", "entry": entries}
}

// good is a small input without any problem, and more of it.
func good(more ...object) object {
	return bundle(append([]object{patient("p1"), condition(), strength("o1", right, 80), strength("o2", left, 100)}, more...)...)
}

// parameters are the operation's.
func parameters(parameter ...object) object {
	list := make([]any, len(parameter))
	for i, p := range parameter {
		list[i] = p
	}
	return object{"resourceType": "Parameters", "parameter": list}
}

// parameter is a parameter with a value, such as valueCode.
func parameter(name, kind string, value any) object {
	return object{"name": name, kind: value}
}

// text writes an object as JSON.
func text(t testing.TB, o object) string {
	t.Helper()
	b, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
