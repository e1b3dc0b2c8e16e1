package fhirapi

import (
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/protocol"
)

// citations are all sources of a protocol, each once, with the values that are
// taken from it.
func citations(p *protocol.Protocol) (all []relatedArtifact) {
	text, err := p.Text()
	if err != nil {
		panic("fhirapi: protocol " + p.ID + ": " + err.Error())
	}
	places := map[string]int{}
	walkSources("", text, func(value, source string) {
		if i, known := places[source]; known {
			all[i].Display += "; " + value
			return
		}
		places[source] = len(all)
		a := cite(source)
		a.Display = value
		all = append(all, a)
	})
	return all
}

// walkSources calls found for each object of a protocol's JSON that names its
// source, with its place and value such as "symmetry.even >= 90 %", by place.
func walkSources(path string, text raw, found func(value, source string)) {
	var object map[string]raw
	if json.Unmarshal(text, &object) != nil {
		return // a plain value
	}
	if source, ok := object["source"]; ok {
		found(strings.Join(append([]string{path}, parts(object, "comparison", "value", "low", "high", "unit", "text")...), " "), plain(source))
		return
	}
	for _, name := range slices.Sorted(maps.Keys(object)) {
		walkSources(strings.TrimPrefix(path+"."+name, "."), object[name], found)
	}
}

// parts are the members of an object that are there, as text.
func parts(object map[string]raw, names ...string) (all []string) {
	for _, n := range names {
		if v, ok := object[n]; ok {
			all = append(all, plain(v))
		}
	}
	return all
}

// plain is a JSON string without its quotes, or a number as it stands.
func plain(v raw) string {
	var s string
	if json.Unmarshal(v, &s) == nil {
		return s
	}
	return string(v)
}
