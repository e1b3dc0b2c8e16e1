// Package fhirproto reads and writes the FHIR R4 wire model as protocol buffers: the
// messages of github.com/google/fhir/go, of which it makes none.
package fhirproto

import (
	"hash/maphash"
	"reflect"
	"slices"
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/slab"
)

// Read reads the bytes of a google.fhir.r4.core.Bundle, with the meaning that
// fhirjson.Decode gives to the same Bundle in JSON, within fhir.DefaultLimits.
// Of a Bundle in several parts, as a field may come, they are given in order. What is
// read keeps nothing of the bytes.
//
// Three things differ from fhirjson.Decode. Only what the wire model holds is looked
// at: the rest is passed over as unknown fields are, and of a Parameters resource, as
// of types that are not read, only type and id are read. A message without content
// counts as an absent element. And the order of the problems is that of the elements
// in FHIR, whatever the order of the fields.
//
// The error is always *fault.Errors. It says that the bytes are no protocol buffers,
// or lists what these can say and FHIR cannot: an empty text, a decimal that is none, a
// code or a time outside its domain, an element without a required part.
func Read(parts ...[]byte) (*fhir.Bundle, error) { return read(parts, false) }

// ReadInput is Read for what is to be understood as far as it goes: an entry that is
// not FHIR R4 becomes *fhir.Malformed, and the others are read.
func ReadInput(parts ...[]byte) (*fhir.Bundle, error) { return read(parts, true) }

func read(parts [][]byte, tolerant bool) (*fhir.Bundle, error) {
	if len(parts) == 0 {
		return nil, fault.Refuse(fault.RequiredMissing, "Bundle", "found no Bundle; expected one")
	}
	data := parts[0]
	if len(parts) > 1 {
		data = slices.Concat(parts...)
	}
	r := &reader{tolerant: tolerant, seed: maphash.MakeSeed()}
	r.enter("Bundle", single)
	bundle := new(fhir.Bundle)
	r.bundle(data, bundle)
	if r.malformed != nil {
		return nil, &fault.Errors{Issues: []fault.Issue{*r.malformed}}
	}
	if len(r.issues) > 0 {
		return nil, &fault.Errors{Issues: r.issues}
	}
	return bundle, nil
}

// reader reads one Bundle. Its methods are named after what they read; of an absent
// element there is nothing to read.
type reader struct {
	trail
	malformed *fault.Issue // why the bytes are no protocol buffers; nil as long as they are
	tolerant  bool         // an entry that is wrong is dropped alone
	count     int          // entries seen, those of nested Bundles included
	taken     int          // bytes that the elements of lists take
	zones     zoneCache
	slabs     slabs
	seen      seen
	seed      maphash.Seed // of the digests of what was seen
	texts     slab.Texts
	lists     slab.Slab[string]
	contents  slab.Slab[fhir.Resource] // of what contains resources
}

// beforeBundle counts the entries, and reports whether they are few enough.
func (r *reader) beforeBundle(entry *field) bool {
	if r.count += entry.count; r.count > fhir.DefaultLimits.Entries {
		r.report(fault.TooLong, "entry", "found more than "+strconv.Itoa(fhir.DefaultLimits.Entries)+" entries; expected at most that many")
		return false
	}
	return true
}

// optional reads an element that occurs at most once.
func optional[T any](r *reader, from *slab.Slab[T], name string, f *field, read func(*reader, message, *T)) *T {
	if f.count == 0 {
		return nil
	}
	t := from.One()
	inline(r, name, f, t, read)
	return t
}

// inline is optional for an element that the wire model holds by value.
func inline[T any](r *reader, name string, f *field, t *T, read func(*reader, message, *T)) {
	if f.count == 0 {
		return
	}
	if r.enter(name, single) {
		read(r, f.whole(), t)
	}
	r.leave()
}

// repeated reads an element that occurs any number of times.
func repeated[T any](r *reader, from *slab.Slab[T], name string, f *field, read func(*reader, message, *T)) []T {
	if f.count == 0 || !takes[T](r, name, f.count) {
		return nil
	}
	ts := from.Take(f.count)[:0]
	for m := range f.each() {
		if r.isFull() { // nothing that follows could be told
			break
		}
		ts = append(ts, *new(T))
		if i := len(ts) - 1; r.enter(name, i) {
			read(r, m, &ts[i])
		}
		r.leave()
	}
	return ts
}

// takes counts the memory of the elements of a list, before any of it is taken: of
// elements without content eight megabytes hold four million. It reports whether there is
// room for them.
func takes[T any](r *reader, name string, count int) bool {
	before := r.taken
	r.taken += count * int(reflect.TypeFor[T]().Size())
	if limit := fhir.DefaultLimits.Lists; r.taken > limit {
		if before <= limit {
			r.report(fault.TooLong, name, "found more elements of lists than fit into "+strconv.Itoa(limit>>20)+" MiB of memory; expected at most that many")
		}
		return false
	}
	return true
}
