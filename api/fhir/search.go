package fhirapi

import (
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
)

// A SearchParameter is one by which published resources can be searched.
type SearchParameter struct {
	Name string `json:"name"`
	// Type is token, uri or string.
	Type          string `json:"type"`
	Documentation string `json:"documentation"`

	of     func(*indexed) string // the element that is compared
	system string                // of a token's codes; empty if they have none
}

// idParameter is the one by which every type can be searched.
var idParameter = SearchParameter{
	Name: "_id", Type: "token", Documentation: "The id.",
	of: func(r *indexed) string { return r.ID },
}

// definitionParameters are those of everything but examples.
//
// Source: FHIR R4 4.0.1, the search parameters that definitional resources share.
var definitionParameters = []SearchParameter{
	idParameter,
	{
		Name: "url", Type: "uri", Documentation: "The canonical URL, without a version.",
		of: func(r *indexed) string { return r.URL },
	},
	{
		Name: "name", Type: "string", Documentation: "The beginning of the name for programs, in whatever case; the whole with :exact, a part with :contains.",
		of: func(r *indexed) string { return r.Name },
	},
	{
		Name: "title", Type: "string", Documentation: "The same of the title.",
		of: func(r *indexed) string { return r.Title },
	},
	{
		Name: "version", Type: "token", Documentation: "The version.",
		of: func(r *indexed) string { return r.Version },
	},
	{
		Name: "status", Type: "token", Documentation: "The status; everything here is active.",
		of: func(r *indexed) string { return r.Status }, system: "http://hl7.org/fhir/publication-status",
	},
}

// indexed is a resource with the elements by which it is found.
type indexed struct {
	ID      string `json:"id"`
	URL     string `json:"url"`
	Name    string `json:"name"`
	Title   string `json:"title"`
	Version string `json:"version"`
	Status  string `json:"status"`
}

// index reads the elements by which a resource is found.
func index(r Resource) *indexed {
	found := new(indexed)
	if err := json.Unmarshal(r.JSON, found); err != nil {
		panic("fhirapi: " + r.Type + "/" + r.ID + ": " + err.Error())
	}
	return found
}

// SearchParameters are those of a type.
func SearchParameters(typeName string) []SearchParameter {
	if typeName == "Bundle" {
		return []SearchParameter{idParameter}
	}
	return definitionParameters
}

// A Criterion is one condition of a search.
type Criterion struct {
	Parameter SearchParameter
	// Modifier is exact or contains for a string; empty for none.
	Modifier string
	// Values are those of which the element must match one.
	Values []string
}

// Modifiers are those that a type of search parameter has, besides none.
func (p SearchParameter) Modifiers() []string {
	if p.Type == "string" {
		return []string{"exact", "contains"}
	}
	return nil
}

// Has reports whether resources of a type are published.
func (l *Library) Has(typeName string) bool {
	return slices.ContainsFunc(l.resources, func(r Resource) bool { return r.Type == typeName })
}

// Search finds the resources of a type that meet all criteria, by id.
func (l *Library) Search(typeName string, criteria []Criterion) (found []Resource) {
	for _, r := range l.resources {
		unmet := func(c Criterion) bool { return !c.metBy(l.indices[r.Type+"/"+r.ID]) }
		if r.Type == typeName && !slices.ContainsFunc(criteria, unmet) {
			found = append(found, r)
		}
	}
	return found
}

// metBy reports whether a resource matches one of the values.
func (c *Criterion) metBy(r *indexed) bool {
	element := c.Parameter.of(r)
	return slices.ContainsFunc(c.Values, func(value string) bool { return c.matches(element, value) })
}

// matches compares an element with a value.
//
// Source: FHIR R4 4.0.1, Search: a string matches its beginning in whatever case; a
// token may have its system before a bar.
func (c *Criterion) matches(element, value string) bool {
	switch {
	case c.Parameter.Type == "token":
		system, code, stated := strings.Cut(value, "|")
		if !stated {
			return value == element
		}
		return code == element && (system == "" || system == c.Parameter.system)
	case c.Parameter.Type == "uri" || c.Modifier == "exact":
		return value == element
	case c.Modifier == "contains":
		return strings.Contains(strings.ToLower(element), strings.ToLower(value))
	}
	return strings.HasPrefix(strings.ToLower(element), strings.ToLower(value))
}
