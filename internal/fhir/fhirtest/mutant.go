package fhirtest

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
)

// Mutant is a JSON text with one to three faults.
func Mutant(text []byte, random *rand.Rand) ([]byte, error) {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	var root any
	if err := decoder.Decode(&root); err != nil {
		return nil, err
	}
	for range 1 + random.IntN(3) {
		places := placesIn(root)
		mutate(places[random.IntN(len(places))], places, random)
	}
	return json.Marshal(root)
}

// place is a member of an object or, without a name, an element of an array.
type place struct {
	name   string
	get    func() any
	set    func(any)
	remove func()
}

// copied is a value of its own, so that no value comes to hold itself.
func copied(node any) any {
	switch v := node.(type) {
	case map[string]any:
		all := make(map[string]any, len(v))
		for name, item := range v {
			all[name] = copied(item)
		}
		return all
	case []any:
		all := make([]any, len(v))
		for i, item := range v {
			all[i] = copied(item)
		}
		return all
	}
	return node
}

// placesIn are all places in a value, in an order that is always the same.
func placesIn(node any) (all []place) {
	switch v := node.(type) {
	case map[string]any:
		names := make([]string, 0, len(v))
		for name := range v {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			all = append(all, place{name, func() any { return copied(v[name]) }, func(x any) { v[name] = x }, func() { delete(v, name) }})
			all = append(all, placesIn(v[name])...)
		}
	case []any:
		for i := range v {
			all = append(all, place{"", func() any { return copied(v[i]) }, func(x any) { v[i] = x }, func() { v[i] = map[string]any{} }})
			all = append(all, placesIn(v[i])...)
		}
	}
	return all
}

// oddities are values that a reader may stumble over.
var oddities = []any{
	nil, "", true, 0, -1, json.Number("1e400"), json.Number("1e-300"), json.Number("0.10"), json.Number("999999999999999999999"),
	"x", "\u0000", "<script>alert(1)</script>", strings.Repeat("a", 10_000), "2026-02-30", "9999-12-31T23:59:59Z", "0001-01-01",
	"Patient/other", "#nowhere", "urn:uuid:00000000-0000-0000-0000-000000000000", "entered-in-error",
	[]any{}, map[string]any{}, []any{nil}, map[string]any{"reference": "Patient/other"}, map[string]any{"value": -3, "comparator": "<"},
}

// mutate makes a fault at a place. Half of the faults keep to FHIR's shapes, so
// that they are met behind the decoder.
func mutate(at place, places []place, random *rand.Rand) {
	alike := slices.DeleteFunc(slices.Clone(places), func(p place) bool { return p.name != at.name })
	switch random.IntN(8) {
	case 0, 1, 2, 3:
		at.set(alike[random.IntN(len(alike))].get())
	case 4:
		at.remove()
	case 5:
		at.set(copied(oddities[random.IntN(len(oddities))]))
	case 6:
		at.set(places[random.IntN(len(places))].get())
	default:
		list, ok := at.get().([]any)
		switch {
		case !ok:
			at.set([]any{at.get()})
		case len(list) > 1 && random.IntN(2) == 0:
			at.set(list[1:])
		case len(list) > 0:
			at.set(append(list, copied(list[random.IntN(len(list))])))
		}
	}
}
