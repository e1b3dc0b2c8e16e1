// Package fhirproto converts the FHIR R4 wire model from the messages of
// github.com/google/fhir/go, and writes it as their bytes.
package fhirproto

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/slab"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
)

// Read converts a Bundle of protocol buffers to the wire model, with the meaning
// that fhirjson.Decode gives to the same Bundle in JSON, within fhir.DefaultLimits.
// The strings of the result are shared with b.
//
// Two things differ from fhirjson.Decode. Only what the wire model holds is looked
// at; of a Parameters resource, as of types that are not read, only type and id.
// And a message without content counts as an absent element.
//
// The error is always *fault.Errors and lists what the protocol buffers can
// say and FHIR cannot: an empty text, a decimal that is none, a code or a time
// outside its domain, an element without a required part.
func Read(b *bcrpb.Bundle) (*fhir.Bundle, error) { return read(b, false) }

// ReadInput is Read for what is to be understood as far as it goes: an entry that is
// not FHIR R4 becomes *fhir.Malformed, and the others are read.
func ReadInput(b *bcrpb.Bundle) (*fhir.Bundle, error) { return read(b, true) }

func read(b *bcrpb.Bundle, tolerant bool) (*fhir.Bundle, error) {
	if b == nil {
		return nil, fault.Refuse(fault.RequiredMissing, "Bundle", "found no Bundle; expected one")
	}
	r := &reader{tolerant: tolerant}
	r.enter("Bundle", single)
	bundle := new(fhir.Bundle)
	r.bundle(b, bundle)
	if len(r.issues) > 0 {
		return nil, &fault.Errors{Issues: r.issues}
	}
	return bundle, nil
}

// reader converts one Bundle. Its methods are named after what they read; of an
// absent element there is nothing to read.
type reader struct {
	trail
	tolerant bool // an entry that is wrong is dropped alone
	count    int  // entries seen, those of nested Bundles included
	zones    zoneCache
	referred struct{ id, text string } // the Patient of the latest reference
	slabs    slabs
	texts    slab.Slab[string]
	contents slab.Slab[fhir.Resource] // of what contains resources
}

// beforeBundle counts the entries, and reports whether they are few enough.
func (r *reader) beforeBundle(p *bcrpb.Bundle) bool {
	if r.count += len(p.Entry); r.count > fhir.DefaultLimits.Entries {
		r.report(fault.TooLong, "entry", "found more than "+strconv.Itoa(fhir.DefaultLimits.Entries)+" entries; expected at most that many")
		return false
	}
	return true
}

// optional reads an element that occurs at most once.
func optional[P, T any](r *reader, from *slab.Slab[T], name string, p *P, read func(*reader, *P, *T)) *T {
	if p == nil {
		return nil
	}
	t := from.One()
	inline(r, name, p, t, read)
	return t
}

// inline is optional for an element that the wire model holds by value.
func inline[P, T any](r *reader, name string, p *P, t *T, read func(*reader, *P, *T)) {
	if p == nil {
		return
	}
	if r.enter(name, single) {
		read(r, p, t)
	}
	r.leave()
}

// repeated reads an element that occurs any number of times.
func repeated[P, T any](r *reader, from *slab.Slab[T], name string, ps []*P, read func(*reader, *P, *T)) []T {
	if len(ps) == 0 {
		return nil
	}
	ts := from.Take(len(ps))
	for i, p := range ps {
		switch {
		case !r.enter(name, i):
		case p == nil:
			r.report(fault.Structure, "", "found nothing; expected an element")
		default:
			read(r, p, &ts[i])
		}
		r.leave()
	}
	return ts
}
