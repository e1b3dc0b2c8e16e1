package intake

import (
	"slices"
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// entry is one resource of what was sent, and where it stands.
type entry struct {
	bundle   string // FHIRPath of the Bundle that holds it
	index    int
	fullURL  string
	base     string // URL of the server against which relative references are resolved
	storedAt string // where a record stored it, "" if that is not known
	resource fhir.Resource
	common   *fhir.Common // nil for a type that is not read
}

func newEntry(bundle string, index int, fullURL string, resource fhir.Resource) entry {
	return entry{bundle: bundle, index: index, fullURL: fullURL, base: baseOf(fullURL), resource: resource, common: fhir.CommonOf(resource)}
}

// path is the FHIRPath of the resource.
func (e *entry) path() string { return string(e.appendPath(nil)) }

func (e *entry) appendPath(b []byte) []byte {
	b = append(append(b, e.bundle...), ".entry["...)
	return append(strconv.AppendInt(b, int64(e.index), 10), "].resource"...)
}

// pathBase is the base of the paths of issues about the resource itself.
func (e *entry) pathBase() pathBase { return pathBase{entry: e, component: noComponent} }

// id is the logical id, "" if there is none.
func (e *entry) id() string {
	if e.common != nil {
		return e.common.ID
	}
	return idOf(e.resource)
}

func idOf(resource fhir.Resource) string {
	if common := fhir.CommonOf(resource); common != nil {
		return common.ID
	}
	if other, ok := resource.(*fhir.Other); ok {
		return other.ID
	}
	return ""
}

// maxNesting is how deep Bundles are opened: the answer to a batch holds
// answers to searches, and nothing useful lies deeper.
const maxNesting = 3

// deleting is the HTTP verb of an entry that deletes a resource.
const deleting = "DELETE"

// flatten lists the resources of a Bundle of any type. The Bundles inside, as
// in the answer to a batch of searches, are opened. What the Bundle itself says
// was deleted is dropped.
func (r *reader) flatten(b *fhir.Bundle) []entry {
	c := collector{deleted: map[string]bool{}, passOver: r.skipType}
	c.collect(b, r.root, 1)
	r.missing = append(r.missing, c.missing()...)
	r.dropMalformed(c.malformed)
	r.lostEntries = append(r.lostEntries, c.tooDeep...)
	if len(c.deleted) == 0 {
		return c.entries
	}
	kept := c.entries[:0]
	for _, e := range c.entries {
		if c.deleted[e.fullURL] || c.deleted[e.resource.Type()+"/"+e.id()] {
			r.warn(e.pathBase(), "", fault.StatusRetracted, "the Bundle says that this resource was deleted; not used", "")
			continue
		}
		kept = append(kept, e)
	}
	return kept
}

// collector gathers the entries of nested Bundles.
type collector struct {
	entries []entry
	pages   []page

	malformed []malformed
	tooDeep   []*entry        // Bundles that are not opened
	failed    []fault.Issue   // issues that report parts of the record as missing
	deleted   map[string]bool // addresses of the entries that delete a resource
	passOver  func(typeName string)
}

func (c *collector) collect(b *fhir.Bundle, path string, depth int) {
	c.entries = slices.Grow(c.entries, len(b.Entry))
	c.page(b, path)
	for i := range b.Entry {
		e := &b.Entry[i]
		c.noteFailure(b, e, path, i)
		switch resource := e.Resource.(type) {
		case nil:
			if lacksResource(e) {
				dropped := newEntry(path, i, e.FullURL, nil)
				c.malformed = append(c.malformed, malformed{lacking(indexed(path+".entry", i)), &dropped})
				continue
			}
			c.delete(e)
		case *fhir.Malformed:
			dropped := newEntry(path, i, e.FullURL, resource.Read)
			c.malformed = append(c.malformed, malformed{resource.Issues, &dropped})
		case *fhir.Bundle:
			if depth == maxNesting {
				c.passOver(resource.Type())
				tooDeep := newEntry(path, i, e.FullURL, resource)
				c.tooDeep = append(c.tooDeep, &tooDeep)
				continue
			}
			c.collect(resource, indexed(path+".entry", i)+".resource", depth+1)
		default:
			c.entries = append(c.entries, newEntry(path, i, e.FullURL, resource))
		}
	}
}

// lacksResource reports whether an entry holds nothing of what an entry is for. A program
// that leaves out what it cannot write sends such entries.
//
// Source: FHIR R4 4.0.1, the invariant bdl-5.
func lacksResource(e *fhir.Entry) bool {
	return e.Resource == nil && e.Request == nil && e.Response == nil
}

// lacking are the issues of an entry that lacks its resource.
func lacking(path string) []fault.Issue {
	return []fault.Issue{{
		Severity: fault.Error, Kind: fault.RequiredMissing, Path: path + ".resource",
		Detail: "found an entry without a resource; expected one, or a request or response (bdl-5)",
	}}
}

// delete notes the addresses of an entry that deletes a resource.
func (c *collector) delete(e *fhir.Entry) {
	if e.Request == nil || e.Request.Method != deleting {
		return
	}
	for _, address := range [...]string{e.FullURL, e.Request.URL} {
		if address != "" {
			c.deleted[address] = true
		}
	}
}
