package cdshooks

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/go-json-experiment/json/jsontext"
	"golang.org/x/sync/errgroup"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhirclient"
)

// A Fetcher asks the FHIR servers of callers for what they did not send.
type Fetcher struct {
	servers map[string]bool
	client  *http.Client
}

// fetchTimeout bounds all that is asked for one call.
//
// Source: ours; CDS Hooks 2.0 asks for an answer on the order of 500 ms.
const fetchTimeout = 3 * time.Second

// ErrDenied is a server that the operator has not allowed. It is not contacted.
var ErrDenied = errors.New("this FHIR server is not one that may be asked")

var errFetch = errors.New("the FHIR server did not answer with a resource")

// NewFetcher returns a Fetcher for servers by their base addresses, which are asked by a transport. An
// address that a call names is only compared with these. No redirect is followed, and the transport should use
// no proxy of the environment, so that nothing else is ever contacted.
func NewFetcher(servers []string, transport http.RoundTripper) *Fetcher {
	f := &Fetcher{servers: map[string]bool{}, client: fhirclient.Direct(transport)}
	for _, base := range servers {
		f.servers[strings.TrimSuffix(base, "/")] = true
	}
	return f
}

// Fetch asks for what is missing and adds it to the prefetch of the call. What could not be had stays
// missing; the error says why.
func (f *Fetcher) Fetch(ctx context.Context, q *Request, missing map[string]string) error {
	base := strings.TrimSuffix(q.FHIRServer, "/")
	if len(missing) == 0 || base == "" || q.Authorization == nil {
		return nil
	}
	if !f.servers[base] {
		return ErrDenied
	}
	ctx, cancel := context.WithTimeout(ctx, fetchTimeout)
	defer cancel()
	type found struct {
		key  string
		text jsontext.Value
	}
	results := make(chan found, len(missing))
	var group errgroup.Group
	for key, query := range missing {
		group.Go(func() error {
			text, err := f.get(ctx, base+"/"+escape(query), q.Authorization.AccessToken)
			if err == nil {
				results <- found{key, text}
			}
			return err
		})
	}
	err := group.Wait()
	close(results)
	if q.Prefetch == nil {
		q.Prefetch = map[string]jsontext.Value{}
	}
	for one := range results {
		q.Prefetch[one.key] = one.text
	}
	return err
}

// escape escapes what a query of ours has that an address must not have.
func escape(query string) string { return strings.ReplaceAll(query, "|", "%7C") }

// get asks for one resource.
func (f *Fetcher) get(ctx context.Context, address, token string) (jsontext.Value, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, errFetch
	}
	request.Header.Set("Accept", "application/fhir+json")
	request.Header.Set("Authorization", "Bearer "+token)
	response, err := f.client.Do(request)
	if err != nil {
		return nil, errFetch
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return nil, errFetch
	}
	limit := int64(fhir.DefaultLimits.Bytes)
	text, err := io.ReadAll(io.LimitReader(response.Body, limit+1))
	if err != nil || int64(len(text)) > limit || !jsontext.Value(text).IsValid() {
		return nil, errFetch
	}
	return text, nil
}
