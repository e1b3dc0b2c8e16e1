package intake

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// directory finds the entry that a reference points at.
type directory struct {
	byURL   map[string]*entry
	byID    map[logicalID]*entry // nil where two servers use the same id; empty where no id is needed
	repeats bool                 // two entries may be versions of one resource
}

// located is a reference and the base of the server that it is relative to.
type located struct{ reference, base string }

type logicalID struct{ typeName, id string }

func newDirectory(entries []entry) directory {
	d := directory{byURL: make(map[string]*entry, len(entries))}
	d.repeats = anyIdentifierTwice(entries)
	needsIDs := false
	for i := range entries {
		e := &entries[i]
		d.addURL(e)
		needsIDs = needsIDs || !e.urlHoldsID()
	}
	if needsIDs {
		d.byID = make(map[logicalID]*entry, len(entries))
		for i := range entries {
			d.addID(&entries[i])
		}
	}
	return d
}

// urlHoldsID reports whether the fullUrl is that of the resource on a server, as
// it mostly is. Where this holds for all entries their ids tell nothing more: no
// reference is without a base, and the same id twice is the same URL twice, or
// another server's.
func (e *entry) urlHoldsID() bool {
	typeName, id, _ := strings.Cut(e.fullURL[len(e.base):], "/")
	return isHTTP(e.fullURL) && id != "" && id == e.id() && typeName == e.resource.Type()
}

func (d *directory) addURL(e *entry) {
	if e.fullURL == "" {
		return
	}
	before := len(d.byURL)
	d.byURL[e.fullURL] = e
	d.repeats = d.repeats || e.common != nil && len(d.byURL) == before
}

func (d *directory) addID(e *entry) {
	if e.id() == "" {
		return
	}
	id := logicalID{e.resource.Type(), e.id()}
	other, taken := d.byID[id]
	if !taken {
		d.byID[id] = e
		return
	}
	d.byID[id] = nil
	d.repeats = d.repeats || e.common != nil && (other == nil || !onTwoServers(e.fullURL, other.fullURL))
}

// thing is what a reference points at: a key that is the same however it is
// pointed at, and its resource type if that is known.
type thing struct {
	key      string
	typeName string
}

// target is a thing with the tail of its key, which is the same whatever the base
// of the server.
type target struct {
	thing
	tail string
}

// thing is what a reference to the entry points at.
func (e *entry) thing() thing {
	t := thing{cmp.Or(e.located, e.fullURL), e.resource.Type()}
	if t.key == "" && e.id() != "" {
		t.key = t.typeName + "/" + e.id()
	}
	return t
}

// resolve follows a literal reference, absolute, relative or urn, that stands
// in an entry of the server with the base.
//
// Source: FHIR R4 4.0.1, Bundle, resolving references in bundles.
func (d *directory) resolve(reference, base string) thing {
	reference = lexical.WithoutVersion(reference)
	if e := d.byURL[reference]; e != nil {
		return e.thing()
	}
	stated, typeName, id, ok := lexical.SplitReference(reference)
	if !ok {
		return thing{key: reference}
	}
	if stated != "" {
		base = stated
	} else {
		reference = base + reference
	}
	if e := d.byURL[reference]; e != nil {
		return e.thing()
	}
	if e := d.byID[logicalID{typeName, id}]; e != nil && (base == "" || !isHTTP(e.fullURL)) {
		return e.thing()
	}
	return thing{reference, typeName}
}

// resolve follows a reference in an entry, as directory.resolve does, and
// remembers where it led.
func (r *reader) resolve(known *memory[located, target], reference string, from *entry) target {
	at := located{reference, from.base}
	t, ok := known.recall(at)
	if !ok {
		t.thing = r.directory.resolve(reference, from.base)
		t.tail = tail(t.key)
		known.keep(at, t)
	}
	return t
}

// baseOf is the base of the server of a RESTful reference, empty if it has none.
func baseOf(reference string) string {
	base, _, _, _ := lexical.SplitReference(reference)
	return base
}

// tail is the Type/id of a RESTful reference, and any other one unchanged.
func tail(reference string) string {
	return reference[len(baseOf(reference)):]
}

// reference is how to point at an entry. It is empty for one that has neither
// address nor identifier.
func (e *entry) reference() fhir.Reference {
	if t := e.thing(); t.key != "" {
		return fhir.Reference{Reference: t.key}
	}
	if id := firstIdentifier(e.common.Identifier); id.Value != "" {
		return fhir.Reference{Identifier: &id}
	}
	return fhir.Reference{}
}

// firstIdentifier is the first in alphabetical order, so that the sender's
// order plays no part. It is zero if there is none.
func firstIdentifier(identifiers []fhir.Identifier) (first fhir.Identifier) {
	for _, id := range identifiers {
		if id.Value != "" && (first.Value == "" || compareIdentifiers(id, first) < 0) {
			first = id
		}
	}
	return first
}

func compareIdentifiers(a, b fhir.Identifier) int {
	return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Value, b.Value))
}

// isContained reports whether a reference means a contained resource, such as
// "#p1".
func isContained(reference string) bool { return strings.HasPrefix(reference, "#") }

// containedResource finds a contained resource by its reference.
func (e *entry) containedResource(reference string) fhir.Resource {
	if e.common == nil {
		return nil
	}
	for _, resource := range e.common.Contained {
		if id := idOf(resource); id != "" && id == reference[1:] {
			return resource
		}
	}
	return nil
}

// typeOf is the type of the resource that a reference points at, as it is there,
// else as the reference says. It is empty if neither tells, and for a contained
// resource that is not there.
func (r *reader) typeOf(known *memory[located, target], ref *fhir.Reference, from *entry) string {
	switch {
	case isContained(ref.Reference):
		if resource := from.containedResource(ref.Reference); resource != nil {
			return resource.Type()
		}
		return ""
	case ref.Reference != "":
		return cmp.Or(r.resolve(known, ref.Reference, from).typeName, ref.TypeName)
	case ref.Identifier != nil && ref.Identifier.Value != "":
		return ref.TypeName
	}
	return ""
}

// sortedReferences sorts references and drops repeated and empty ones.
func sortedReferences(references []fhir.Reference) []fhir.Reference {
	byText := make(map[string]fhir.Reference, len(references))
	for _, r := range references {
		text := r.Reference
		if r.Identifier != nil {
			text += "|" + r.Identifier.System + "|" + r.Identifier.Value
		}
		if _, known := byText[text]; text != "" && !known {
			byText[text] = r
		}
	}
	sorted := references[:0]
	for _, text := range slices.Sorted(maps.Keys(byText)) {
		sorted = append(sorted, byText[text])
	}
	return sorted
}
