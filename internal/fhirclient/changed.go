package fhirclient

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"evenreach.example/internal/fhir"
)

// belonging is what is read of a resource of any type to learn whose it is.
type belonging struct {
	Type    string          `json:"resourceType"`
	Subject json.RawMessage `json:"subject"`
	Patient json.RawMessage `json:"patient"`
	Entry   []struct {
		Resource *belonging `json:"resource"`
	} `json:"entry"`
}

// patient is the id of the patient whose a resource is, empty if it does not tell.
func (c *Client) patient(b *belonging) string {
	for _, element := range []json.RawMessage{b.Patient, b.Subject} {
		var of struct {
			Reference string `json:"reference"`
		}
		if json.Unmarshal(element, &of) != nil {
			continue // of another shape
		}
		reference := strings.TrimPrefix(of.Reference, c.base+"/")
		id, ok := strings.CutPrefix(reference, "Patient/")
		if id, _, _ = strings.Cut(id, "/_history/"); ok && IsID(id) {
			return id
		}
	}
	return ""
}

// PatientOf is the id of the patient whose a resource is, by its address below the base, such as Observation/1. Of one
// that was deleted the record is asked for the version before. It is empty if the record does not tell.
func (c *Client) PatientOf(ctx context.Context, address string) (string, error) {
	b, err := c.belonging(ctx, address)
	if errors.Is(err, ErrNotFound) {
		b, err = c.belonging(ctx, address+"/_history?_count=2")
	}
	if errors.Is(err, ErrNotFound) || errors.Is(err, ErrRefused) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	id := c.patient(b)
	for _, e := range b.Entry {
		if id == "" && e.Resource != nil {
			id = c.patient(e.Resource)
		}
	}
	return id, nil
}

func (c *Client) belonging(ctx context.Context, address string) (*belonging, error) {
	text, err := c.do(ctx, exchange{kind: "read", method: http.MethodGet, url: c.base + "/" + address, limit: maxBytes})
	if err != nil {
		return nil, err
	}
	b := new(belonging)
	if json.Unmarshal(text, b) != nil {
		return nil, errNoFHIR
	}
	return b, nil
}

// ChangedSince are the patients of whom something that an assessment is made of was changed since a time, each once.
func (c *Client) ChangedSince(ctx context.Context, since time.Time, measurements, repairs []fhir.Coding) (patients []string, err error) {
	left := new(atomic.Int64)
	left.Store(maxBytes)
	updated := "ge" + since.UTC().Format(time.RFC3339)
	for _, s := range []Search{
		{"Observation", url.Values{"code": {tokens(measurements)}}}, {"Procedure", url.Values{"code": {tokens(repairs)}}}, {"Condition", url.Values{}},
	} {
		s.Parameters.Set("_lastUpdated", updated)
		s.Parameters.Set("_count", pageSize)
		pages, err := c.search(ctx, s.Type, s.Parameters, left)
		if err != nil {
			return nil, err
		}
		patients = c.subjects(pages, patients)
	}
	slices.Sort(patients)
	return slices.Compact(patients), nil
}

// subjects adds the patients of what was found.
func (c *Client) subjects(pages []fhir.Entry, patients []string) []string {
	for i := range pages {
		page := pages[i].Resource.(*fhir.Bundle)
		for k := range page.Entry {
			resource := page.Entry[k].Resource
			if malformed, ok := resource.(*fhir.Malformed); ok {
				resource = malformed.Read
			}
			if subject := fhir.SubjectOf(resource); subject != nil {
				id, ok := strings.CutPrefix(strings.TrimPrefix(subject.Reference, c.base+"/"), "Patient/")
				if ok && IsID(id) {
					patients = append(patients, id)
				}
			}
		}
	}
	return patients
}
