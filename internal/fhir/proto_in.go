package fhir

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/slab"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
)

// FromProto converts a Bundle of protocol buffers to the wire model, with the
// meaning that Decode gives to the same Bundle in JSON, within DefaultLimits.
// The strings of the result are shared with b.
//
// Two things differ from Decode. Only what the wire model holds is looked at;
// of a Parameters resource, as of types that are not read, only type and id.
// And a message without content counts as an absent element.
//
// The error is always *fault.Errors and lists what the protocol buffers can
// say and FHIR cannot: an empty text, a decimal that is none, a code or a time
// outside its domain, an element without a required part.
func FromProto(b *bcrpb.Bundle) (*Bundle, error) {
	if b == nil {
		return nil, fault.Refuse(fault.RequiredMissing, "Bundle", "found no Bundle; expected one")
	}
	r := &reader{}
	r.enter("Bundle", single)
	bundle := r.bundle(b)
	if len(r.issues) > 0 {
		return nil, &fault.Errors{Issues: r.issues}
	}
	return bundle, nil
}

// reader converts one Bundle. Its methods are named after what they read; an
// absent element gives the zero value.
type reader struct {
	trail
	count    int // entries seen, those of nested Bundles included
	zones    zoneCache
	referred struct{ id, text string } // the Patient of the latest reference
	slabs
}

func (r *reader) bundle(p *bcrpb.Bundle) *Bundle {
	if r.count += len(p.Entry); r.count > DefaultLimits.Entries {
		r.report(fault.TooLong, "entry", "found more than "+strconv.Itoa(DefaultLimits.Entries)+" entries; expected at most that many")
		return nil
	}
	b := &Bundle{
		ID:         r.id("id", p.Id),
		Meta:       optional(r, &r.metas, "meta", p.Meta, (*reader).meta),
		BundleType: readCode(r, "type", p.Type, bundleTypes),
		Timestamp:  r.instant("timestamp", p.Timestamp),
		Entry:      repeated(r, &r.entries, "entry", p.Entry, (*reader).entry),
	}
	r.require(b.BundleType != "", "type")
	return b
}

func (r *reader) entry(p *bcrpb.Bundle_Entry) Entry {
	return Entry{
		FullURL:  r.uri("fullUrl", p.FullUrl),
		Resource: r.resource("resource", p.Resource),
		Request:  optional(r, &r.requests, "request", p.Request, (*reader).request),
	}
}

func (r *reader) request(p *bcrpb.Bundle_Entry_Request) Request {
	q := Request{
		Method:      readCode(r, "method", p.Method, httpVerbs),
		URL:         r.uri("url", p.Url),
		IfNoneExist: r.str("ifNoneExist", p.IfNoneExist),
	}
	r.require(q.Method != "", "method")
	r.require(q.URL != "", "url")
	return q
}

// optional reads an element that occurs at most once.
func optional[P, T any](r *reader, from *slab.Slab[T], name string, p *P, read func(*reader, *P) T) *T {
	if p == nil {
		return nil
	}
	t := from.One()
	if r.enter(name, single) {
		*t = read(r, p)
	}
	r.leave()
	return t
}

// inline is optional for an element that the wire model holds by value.
func inline[P, T any](r *reader, name string, p *P, read func(*reader, *P) T) (t T) {
	if p == nil {
		return t
	}
	if r.enter(name, single) {
		t = read(r, p)
	}
	r.leave()
	return t
}

// repeated reads an element that occurs any number of times.
func repeated[P, T any](r *reader, from *slab.Slab[T], name string, ps []*P, read func(*reader, *P) T) []T {
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
			ts[i] = read(r, p)
		}
		r.leave()
	}
	return ts
}
