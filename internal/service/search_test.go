package service

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
)

// searchset is an answer to a search, as a caller reads it.
type searchsetBundle struct {
	ResourceType, Type string
	Total              int
	Link               []struct{ Relation, URL string }
	Entry              []struct {
		FullURL  string
		Resource struct{ ResourceType, ID, URL, Name string }
		Search   struct{ Mode string }
	}
}

func (b searchsetBundle) ids() (ids []string) {
	for _, e := range b.Entry {
		ids = append(ids, e.Resource.ID)
	}
	return ids
}

func (b searchsetBundle) link(relation string) string {
	for _, l := range b.Link {
		if l.Relation == relation {
			return l.URL
		}
	}
	return ""
}

// find searches by GET.
func (h *harness) find(path string) searchsetBundle {
	h.t.Helper()
	return h.found(method(http.MethodGet, path))
}

func (h *harness) found(r *http.Request) (b searchsetBundle) {
	h.t.Helper()
	w := h.do(r)
	if w.Code != http.StatusOK {
		h.t.Fatalf("%s: status %d: %.300s", r.URL, w.Code, w.Body)
	}
	if err := json.Unmarshal(w.Body.Bytes(), &b); err != nil {
		h.t.Fatal(err)
	}
	if b.ResourceType != "Bundle" || b.Type != "searchset" || b.link("self") == "" {
		h.t.Errorf("%s: %s of type %q with links %v, want a searchset that links to itself", r.URL, b.ResourceType, b.Type, b.Link)
	}
	return b
}

// Source: FHIR R4 4.0.1, Search: uri exact, string from its beginning in whatever
// case, token with or without its system, commas for or, repetition for and.
func TestSearchOfDefinitions(t *testing.T) {
	h := start(t)
	const sets = "https://evenreach.example/fhir/ValueSet/"
	tests := []struct {
		name, path string
		want       []string
	}{
		{"by URL", "/fhir/ValueSet?url=" + sets + "side", []string{"side"}},
		{"by another URL", "/fhir/ValueSet?url=" + sets, nil},
		{"by id", "/fhir/ValueSet?_id=side", []string{"side"}},
		{"by one of two ids", "/fhir/ValueSet?_id=side,rule", []string{"rule", "side"}},
		{"by two ids at once", "/fhir/ValueSet?_id=side&_id=rule", nil},
		{"by the beginning of a name", "/fhir/CodeSystem?name=should", []string{"shoulder"}},
		{"by a part of a name", "/fhir/CodeSystem?name=houlder", nil},
		{"by a part of a name, asked for", "/fhir/CodeSystem?name:contains=HOULDER", []string{"shoulder"}},
		{"by the whole name", "/fhir/CodeSystem?name:exact=Shoulder", []string{"shoulder"}},
		{"by the whole name in another case", "/fhir/CodeSystem?name:exact=shoulder", nil},
		{"by title", "/fhir/CodeSystem?title=input+issue", []string{"input-issue"}},
		{"by status", "/fhir/CodeSystem?status=active", []string{"card-override-reason", "card-topic", "input-issue", "shoulder"}},
		{"by status with its system", "/fhir/CodeSystem?status=http://hl7.org/fhir/publication-status%7Cactive", []string{"card-override-reason", "card-topic", "input-issue", "shoulder"}},
		{"by status with another system", "/fhir/CodeSystem?status=http://hl7.org/fhir/other%7Cactive", nil},
		{"by another status", "/fhir/CodeSystem?status=draft", nil},
		{"by another version", "/fhir/CodeSystem?version=0.0.1", nil},
		{"examples by id", "/fhir/Bundle?_id=example-request", []string{"example-request"}},
		{"an escaped comma", `/fhir/ValueSet?_id=side%5C,rule`, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := h.find(tt.path)
			if !slices.Equal(b.ids(), tt.want) || b.Total != len(tt.want) {
				t.Errorf("found %q, total %d, want %q", b.ids(), b.Total, tt.want)
			}
			for _, e := range b.Entry {
				if want := "http://example.com" + fhirBase + "/" + e.Resource.ResourceType + "/" + e.Resource.ID; e.FullURL != want || e.Search.Mode != "match" {
					t.Errorf("fullUrl %q and mode %q, want %q and match", e.FullURL, e.Search.Mode, want)
				}
			}
		})
	}
}

// Every published resource is found by a search of its type, page by page, and is the
// one that is read by its address.
func TestSearchFindsAllThatIsPublished(t *testing.T) {
	h := start(t)
	var want, got []string
	for _, r := range h.server.libraryOf(t.Context()).Resources() {
		want = append(want, r.Type+"/"+r.ID)
	}
	for _, typeName := range []string{"ActivityDefinition", "Bundle", "CodeSystem", "ConceptMap", "OperationDefinition", "PlanDefinition", "Questionnaire", "StructureDefinition", "ValueSet"} {
		for next := "/fhir/" + typeName + "?_count=7"; next != ""; {
			b := h.find(next)
			if len(b.Entry) > 7 || len(b.Entry) == 0 && b.Total > 0 {
				t.Fatalf("%s: %d of %d on a page, want at most 7 and no empty page", next, len(b.Entry), b.Total)
			}
			for _, e := range b.Entry {
				got = append(got, e.Resource.ResourceType+"/"+e.Resource.ID)
			}
			next = strings.TrimPrefix(b.link("next"), "http://example.com")
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestSearchPages(t *testing.T) {
	h := start(t)
	if b := h.find("/fhir/ValueSet"); len(b.Entry) != usualPage || b.Total <= usualPage || b.link("next") == "" {
		t.Errorf("%d of %d, next %q, want a usual page and a next one", len(b.Entry), b.Total, b.link("next"))
	}
	if b := h.find("/fhir/ValueSet?_summary=count"); len(b.Entry) != 0 || b.Total <= usualPage || b.link("next") != "" {
		t.Errorf("%d of %d, want the number alone", len(b.Entry), b.Total)
	}
	if b := h.find("/fhir/ValueSet?_count=0"); len(b.Entry) != 0 || b.Total <= usualPage || b.link("next") != "" {
		t.Errorf("%d of %d, want the number alone (FHIR R4: _count=0 is as _summary=count)", len(b.Entry), b.Total)
	}
	if b := h.find("/fhir/ValueSet?_offset=1000000000000000000"); len(b.Entry) != 0 || b.link("next") != "" {
		t.Errorf("%d beyond the end, want none", len(b.Entry))
	}
	if b := h.find("/fhir/StructureDefinition?_count=100000"); len(b.Entry) > longestPage {
		t.Errorf("%d on a page, want at most %d", len(b.Entry), longestPage)
	}
}

// The link to a page has what was searched for, and where it begins unless that is the beginning.
func TestLinksOfPages(t *testing.T) {
	h := start(t)
	for path, want := range map[string]string{
		"/fhir/ValueSet":                    "/fhir/ValueSet",
		"/fhir/ValueSet?_offset=0":          "/fhir/ValueSet",
		"/fhir/ValueSet?_offset=1":          "/fhir/ValueSet?_offset=1",
		"/fhir/ValueSet?_count=2&_offset=0": "/fhir/ValueSet?_count=2",
	} {
		if got := strings.TrimPrefix(h.find(path).link("self"), "http://example.com"); got != want {
			t.Errorf("%s links to itself by %s, want %s", path, got, want)
		}
	}
}

// Source: FHIR R4 4.0.1, Search, escaping: a backslash before a comma makes it a part of the value.
func TestAlternativesOfAValue(t *testing.T) {
	for value, want := range map[string][]string{
		"a": {"a"}, "a,b": {"a", "b"}, `a\,b`: {"a,b"}, `a\,b,c`: {"a,b", "c"}, `a\\,b`: {`a\`, "b"}, `a\`: {`a\`}, "": {""}, ",": {"", ""}, `\,`: {","},
	} {
		if got := alternatives(value); !slices.Equal(got, want) {
			t.Errorf("%q has the alternatives %q, want %q", value, got, want)
		}
	}
}

func TestSearchByPost(t *testing.T) {
	h := start(t)
	post := func(query, body string) *http.Request {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/fhir/ValueSet/_search"+query, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return r
	}
	if b := h.found(post("", url.Values{"url": {"https://evenreach.example/fhir/ValueSet/side"}}.Encode())); !slices.Equal(b.ids(), []string{"side"}) {
		t.Errorf("found %q, want side", b.ids())
	}
	if b := h.found(post("?_id=side", "_id=rule")); len(b.Entry) != 0 {
		t.Errorf("found %q, want none, for address and body both count", b.ids())
	}
	for name, tt := range map[string]struct {
		r      *http.Request
		status int
	}{
		"nothing":   {httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/", http.NoBody), http.StatusOK},
		"no type":   {httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/", strings.NewReader("_id=side")), http.StatusUnsupportedMediaType},
		"JSON":      {request(`{}`), http.StatusUnsupportedMediaType},
		"malformed": {post("", "url=%zz"), http.StatusBadRequest},
		"too long":  {post("", "url="+strings.Repeat("x", maxSearch)), http.StatusRequestEntityTooLarge},
	} {
		tt.r.URL.Path = "/fhir/ValueSet/_search"
		if w := h.do(tt.r); w.Code != tt.status {
			t.Errorf("%s: status %d, want %d: %.200s", name, w.Code, tt.status, w.Body)
		}
	}
}

// A parameter that has no effect is refused, or left out of the link to the search
// where the caller says so.
//
// Source: FHIR R4 4.0.1, Search, handling errors.
func TestUnknownSearchParameters(t *testing.T) {
	h := start(t)
	for _, query := range []string{"colour=red", "name:missing=true", "url:exact=x", "_sort=name", "_count=many", "_count=-1", "_offset=x", "_summary=short"} {
		w := h.do(method(http.MethodGet, "/fhir/ValueSet?"+query))
		if w.Code != http.StatusBadRequest || len(outcomeOf(t, w.Body.Bytes())) != 1 {
			t.Errorf("%s: status %d, want 400 with one issue: %.200s", query, w.Code, w.Body)
		}
	}
	r := method(http.MethodGet, "/fhir/ValueSet?colour=red&_id=side")
	r.Header.Set("Prefer", "handling=lenient")
	if b := h.found(r); !slices.Equal(b.ids(), []string{"side"}) || strings.Contains(b.link("self"), "colour") {
		t.Errorf("found %q by %q, want side, and no word of the colour", b.ids(), b.link("self"))
	}
}

// The statement lists the searches, and each of them works.
func TestStatedSearchesWork(t *testing.T) {
	h := start(t)
	var statement struct {
		REST []struct {
			Resource []struct {
				Type        string
				Interaction []struct{ Code string }
				SearchParam []struct{ Name, Type string }
			}
		}
	}
	if err := json.Unmarshal(h.do(method(http.MethodGet, "/fhir/metadata")).Body.Bytes(), &statement); err != nil {
		t.Fatal(err)
	}
	searches := 0
	for _, r := range statement.REST[0].Resource {
		if len(r.Interaction) == 0 { // a type with operations alone
			continue
		}
		for _, p := range r.SearchParam {
			h.find(fmt.Sprintf("/fhir/%s?%s=x", r.Type, p.Name))
			searches++
		}
		if !slices.ContainsFunc(r.Interaction, func(i struct{ Code string }) bool { return i.Code == "search-type" }) {
			t.Errorf("%s: no search-type among the interactions", r.Type)
		}
	}
	if searches == 0 {
		t.Error("no search is stated")
	}
}

// Many strangers who read slowly must not make the service hold what they ask for.
func TestSearchIsWrittenPieceByPiece(t *testing.T) {
	h := start(t)
	w := &longestWrite{header: http.Header{}}
	h.handler.ServeHTTP(w, method(http.MethodGet, "/fhir/StructureDefinition?_count=50"))
	longest := 0
	for _, r := range h.server.libraryOf(t.Context()).Resources() {
		longest = max(longest, len(r.JSON))
	}
	if w.all < 3*longest || w.longest > longest {
		t.Errorf("%d bytes, at most %d at a time, want pieces of at most a resource, which has %d", w.all, w.longest, longest)
	}
}

// longestWrite notes how much is written at a time.
type longestWrite struct {
	header       http.Header
	all, longest int
}

func (w *longestWrite) Header() http.Header { return w.header }
func (w *longestWrite) WriteHeader(int)     {}
func (w *longestWrite) Write(p []byte) (int, error) {
	w.all, w.longest = w.all+len(p), max(w.longest, len(p))
	return len(p), nil
}
