package fhirclient

import (
	"context"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// idForm is the form of a logical id.
//
// Source: FHIR R4 4.0.1, data type id.
var idForm = regexp.MustCompile(`^[A-Za-z0-9\-.]{1,64}$`)

// IsID reports whether a text can be the id of a resource.
func IsID(text string) bool {
	return idForm.MatchString(text) && strings.Trim(text, ".") != "" // an address of dots is another one
}

const (
	// maxPages bounds the pages of one search.
	//
	// Source: ours: 20,000 entries at 50 a page.
	maxPages = 400
	// pageSize is how many entries are asked for a page; a record may give fewer.
	pageSize = "200"
	// searches is how many searches for one patient run at a time.
	//
	// Source: ours: a record has other work.
	searches = 3
)

// A Search asks for what a patient has of a type.
type Search struct {
	Type       string
	Parameters url.Values // beside the patient
}

// Searches ask for what an assessment is made of: measurements by their codes, what was done and is wrong, and the
// results of earlier answers, which are to be updated.
func Searches(measurements, repairs []fhir.Coding) []Search {
	ours := url.Values{"identifier": {fhir.SystemResult + "|"}}
	return []Search{
		{"Observation", url.Values{"code": {tokens(measurements)}}},
		{"Observation", ours},
		{"Condition", nil},
		{"Procedure", url.Values{"code": {tokens(repairs)}}},
		{"Encounter", nil},
		{"CarePlan", nil},
		{"Goal", nil},
		{"DiagnosticReport", ours},
		{"DetectedIssue", ours},
	}
}

// of is the form of the search for a patient.
func (s Search) of(patient string) url.Values {
	form := url.Values{"patient": {patient}, "_count": {pageSize}}
	maps.Copy(form, s.Parameters)
	return form
}

// has reports whether a page has a resource of a type, malformed or not.
func has(pages []fhir.Entry, typeName string) bool {
	return slices.ContainsFunc(pages, func(page fhir.Entry) bool {
		return slices.ContainsFunc(page.Resource.(*fhir.Bundle).Entry, func(e fhir.Entry) bool {
			return e.Resource != nil && e.Resource.Type() == typeName
		})
	})
}

// tokens are codes as the value of a search parameter.
func tokens(codes []fhir.Coding) string {
	all := make([]string, len(codes))
	for i, c := range codes {
		all[i] = c.System + "|" + c.Code
	}
	return strings.Join(all, ",")
}

// Patient is what the record has of a patient: a collection of the Patient and of the pages of each search, as they
// came. Either all pages are there, or there is an error.
func (c *Client) Patient(ctx context.Context, id string, asked []Search) (*fhir.Bundle, error) {
	if !IsID(id) {
		return nil, ErrNotFound
	}
	left := new(atomic.Int64)
	left.Store(maxBytes)
	patient, err := c.search(ctx, "Patient", url.Values{"_id": {id}}, left)
	if err != nil {
		return nil, err
	}
	if !has(patient, "Patient") {
		return nil, ErrNotFound
	}
	found := make([][]fhir.Entry, len(asked))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(searches)
	for i, search := range asked {
		group.Go(func() (err error) {
			found[i], err = c.search(ctx, search.Type, search.of(id), left)
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	all := &fhir.Bundle{BundleType: "collection", Entry: append(patient, slices.Concat(found...)...)}
	if entries(all) > fhir.DefaultLimits.Entries {
		return nil, ErrTooLarge
	}
	return all, nil
}

// entries is how many entries Bundles have, those of their pages included.
func entries(b *fhir.Bundle) int {
	n := len(b.Entry)
	for i := range b.Entry {
		if page, ok := b.Entry[i].Resource.(*fhir.Bundle); ok {
			n += len(page.Entry)
		}
	}
	return n
}

// search follows a search to its last page. It is sent as a form, so that neither its length nor the patient's id
// stands in an address.
func (c *Client) search(ctx context.Context, typeName string, form url.Values, left *atomic.Int64) (pages []fhir.Entry, err error) {
	address := c.base + "/" + typeName + "/_search"
	asked := exchange{kind: "search", method: http.MethodPost, url: address, contentType: "application/x-www-form-urlencoded", body: []byte(form.Encode())}
	for {
		page, next, err := c.page(ctx, asked, left)
		if err != nil {
			return nil, err
		}
		page.Link = []fhir.Link{{Relation: "self", URL: asked.url}}
		pages = append(pages, fhir.Entry{Resource: page})
		if next == "" {
			return pages, nil
		}
		if len(pages) == maxPages {
			return nil, ErrTooLarge
		}
		page.Link = append(page.Link, fhir.Link{Relation: "next", URL: next})
		asked = exchange{kind: "search", method: http.MethodGet, url: next}
	}
}

// page asks for one page, and says where the next one is; empty if there is none.
func (c *Client) page(ctx context.Context, asked exchange, left *atomic.Int64) (page *fhir.Bundle, next string, err error) {
	asked.limit = left.Load()
	text, err := c.do(ctx, asked)
	if err != nil {
		return nil, "", notThere(err, asked.method == http.MethodGet)
	}
	if page, err = pageOf(text, left); err != nil {
		return nil, "", err
	}
	c.complete(page)
	next, err = c.next(page, asked.url)
	return page, next, err
}

// errPageGone is a page that the record keeps no longer. It may pass: the search can be made anew.
var errPageGone = errors.New("a page of the record is there no more")

// notThere takes a search that the record does not have for a refusal: a patient without results is an empty page. A
// later page may only have been given up.
func notThere(err error, later bool) error {
	switch {
	case !errors.Is(err, ErrNotFound):
		return err
	case later:
		return errPageGone
	}
	return ErrRefused
}

// pageOf reads a page.
func pageOf(text []byte, left *atomic.Int64) (*fhir.Bundle, error) {
	resource, err := decode(text, left)
	if err != nil {
		return nil, err
	}
	page, ok := resource.(*fhir.Bundle)
	if !ok || page.BundleType != "searchset" {
		return nil, errNoFHIR
	}
	return page, nil
}

// complete gives every entry the address that it has in the record, where the record left it out.
func (c *Client) complete(page *fhir.Bundle) {
	for i := range page.Entry {
		e := &page.Entry[i]
		if common := fhir.CommonOf(e.Resource); e.FullURL == "" && common != nil && common.ID != "" {
			e.FullURL = c.base + "/" + e.Resource.Type() + "/" + common.ID
		}
	}
}

// next is the address of the next page, empty if there is none. It must be one of the record.
func (c *Client) next(page *fhir.Bundle, of string) (string, error) {
	for _, link := range page.Link {
		if link.Relation != "next" || link.URL == "" {
			continue
		}
		from, err := url.Parse(of)
		if err != nil {
			return "", ErrForeign
		}
		next, err := from.Parse(link.URL)
		if err != nil || !c.isOwn(next) {
			return "", ErrForeign
		}
		return next.String(), nil
	}
	return "", nil
}

// isOwn reports whether an address is the record's base or below it.
func (c *Client) isOwn(u *url.URL) bool {
	base, err := url.Parse(c.base)
	if err != nil || u.Scheme != base.Scheme || u.Host != base.Host || u.User != nil {
		return false
	}
	below, ok := strings.CutPrefix(u.Path, base.Path)
	return ok && (below == "" || below[0] == '/') && !strings.Contains(below, "..")
}

// errNoFHIR is an answer that is none. It may pass: a proxy before the record may have written it.
var errNoFHIR = errors.New("the record did not answer with FHIR R4 JSON")

// decode reads a resource, of which malformed entries are kept as such, and takes its length from what may still be
// read.
func decode(text []byte, left *atomic.Int64) (fhir.Resource, error) {
	if left.Add(-int64(len(text))) < 0 {
		return nil, ErrTooLarge
	}
	resource, err := fhirjson.DecodeInput(text, fhir.DefaultLimits)
	if refused, ok := errors.AsType[*fault.Errors](err); ok && refused.Kind() == fault.TooLong {
		return nil, ErrTooLarge
	}
	if err != nil {
		return nil, errNoFHIR
	}
	return resource, nil
}
