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
	byID    map[logicalID]*entry // an entry is nil where two servers use the same id; the map is nil where no index of ids is needed
	repeats bool                 // two entries may be versions of one resource
}

// basedReference is a reference and the base URL to which it is relative.
type basedReference struct{ reference, base string }

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

// urlHoldsID reports whether the fullUrl is that of the resource on a server and so ends
// in its id, as it mostly does. Where this holds for all entries no index of the ids is
// needed: every reference has a base, and the same id twice is the same URL twice or that
// of another server.
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

// referenceTarget is what a reference points at: a key that is equal for all references to
// it, and its resource type if that is known.
type referenceTarget struct {
	key      string
	typeName string
}

// cachedTarget is a target with the tail of its key, Type/id without the base of the
// server.
type cachedTarget struct {
	referenceTarget
	tail string
}

// target is what a reference to the entry points at.
func (e *entry) target() referenceTarget {
	t := referenceTarget{cmp.Or(e.storedAt, e.fullURL), e.resource.Type()}
	if t.key == "" && e.id() != "" {
		t.key = t.typeName + "/" + e.id()
	}
	return t
}

// resolve follows a literal reference, absolute, relative or urn, that stands
// in an entry of the server with the base.
//
// Source: FHIR R4 4.0.1, Bundle, resolving references in bundles.
func (d *directory) resolve(reference, base string) referenceTarget {
	reference = lexical.WithoutVersion(reference)
	if e := d.byURL[reference]; e != nil {
		return e.target()
	}
	stated, typeName, id, ok := lexical.SplitReference(reference)
	if !ok {
		return referenceTarget{key: reference}
	}
	if stated != "" {
		base = stated
	} else {
		reference = base + reference
	}
	if e := d.byURL[reference]; e != nil {
		return e.target()
	}
	if e := d.byID[logicalID{typeName, id}]; e != nil && (base == "" || !isHTTP(e.fullURL)) {
		return e.target()
	}
	return referenceTarget{reference, typeName}
}

// resolve is directory.resolve for a reference in an entry, with a cache.
func (r *reader) resolve(known *textCache[basedReference, cachedTarget], reference string, from *entry) cachedTarget {
	at := basedReference{reference, from.base}
	t, ok := known.get(at)
	if !ok {
		t.referenceTarget = r.directory.resolve(reference, from.base)
		t.tail = tail(t.key)
		known.put(at, t)
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

// reference is a reference to the entry. It is empty for one that has neither address nor
// identifier.
func (e *entry) reference() fhir.Reference {
	if t := e.target(); t.key != "" {
		return fhir.Reference{Reference: t.key}
	}
	if id := firstIdentifier(e.common.Identifier); id.Value != "" {
		return fhir.Reference{Identifier: &id}
	}
	return fhir.Reference{}
}

// firstIdentifier is the first in alphabetical order, which does not depend on the
// sender's order. It is zero if there is none.
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

// typeOf is the type of the resource that a reference points at: that of the resource if
// it was sent, else the one in the reference. It is empty if neither is known, and for a
// contained resource that is missing.
func (r *reader) typeOf(known *textCache[basedReference, cachedTarget], ref *fhir.Reference, from *entry) string {
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
