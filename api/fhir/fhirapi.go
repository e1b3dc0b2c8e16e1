// Package fhirapi is what Evenreach publishes about itself in FHIR R4: its
// operation, code systems, value sets, profiles, protocol and examples, and the
// CapabilityStatement of a running service. All of it is written from the Go
// definitions that the service computes with, so that the two cannot drift
// apart. The JSON files beside this package are the same resources for people
// to read; a test holds them against what is served.
package fhirapi

import (
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"slices"
	"sync"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
)

// Version is the version of the published artefacts. A change of meaning needs
// a new one.
const Version = "2.0.0"

// published is the day of this version.
const published = "2026-11-28"

// A Resource is one published resource.
type Resource struct {
	Type string
	ID   string
	// JSON is compact FHIR JSON in UTF-8. It is not to be changed.
	JSON []byte
}

// ETag is a weak entity tag, which changes with the content and not with its
// layout.
//
// Source: FHIR R4 4.0.1, RESTful API, versions; RFC 9110, section 8.8.3.
func (r Resource) ETag() string {
	sum := sha256.Sum256(r.JSON)
	return `W/"` + hex.EncodeToString(sum[:16]) + `"`
}

// A Library is everything that one service publishes. It is read-only and may
// be used by many goroutines.
type Library struct {
	resources []Resource
	byName    map[string]Resource // such as CodeSystem/shoulder
	indices   map[string]*indexed // by the same names
}

// New returns the library of a service that decides by the given protocols. Of
// two with the same id the first one is published.
func New(protocols []*protocol.Protocol) *Library {
	l := &Library{byName: map[string]Resource{}, indices: map[string]*indexed{}}
	l.add(fixed()...)
	for _, p := range protocols {
		l.add(protocolResources(p)...)
	}
	for _, name := range slices.Sorted(maps.Keys(l.byName)) {
		l.resources = append(l.resources, l.byName[name])
	}
	return l
}

func (l *Library) add(resources ...Resource) {
	for _, r := range resources {
		if name := r.Type + "/" + r.ID; l.byName[name].JSON == nil {
			l.byName[name], l.indices[name] = r, index(r)
		}
	}
}

// fixed are the resources that do not depend on a protocol. Writing them takes
// some milliseconds.
var fixed = sync.OnceValue(func() []Resource {
	all := append(operations(), siteCodesExample())
	all = append(all, codeSystems()...)
	all = append(all, valueSets()...)
	all = append(all, profiles()...)
	return append(all, examples()...)
})

// Resources lists all, by type and id. The list is not to be changed.
func (l *Library) Resources() []Resource { return l.resources }

// Lookup finds the resource of a type with an id, as in
// GET [base]/CodeSystem/shoulder.
func (l *Library) Lookup(typeName, id string) (Resource, bool) {
	r, ok := l.byName[typeName+"/"+id]
	return r, ok
}

// types are the resource types of the library, in order.
func (l *Library) types() []string {
	var all []string
	for _, r := range l.resources {
		all = append(all, r.Type)
	}
	return slices.Compact(all)
}

// resource writes a resource of ours.
func resource(typeName, id string, content any) Resource {
	text, err := json.Marshal(content, json.Deterministic(true))
	if err != nil {
		panic("fhirapi: " + typeName + "/" + id + ": " + err.Error())
	}
	return Resource{Type: typeName, ID: id, JSON: text}
}

// canonical is the canonical URL of a resource of ours.
func canonical(typeName, id string) string { return fhir.CanonicalBase + "/" + typeName + "/" + id }
