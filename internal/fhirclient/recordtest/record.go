// Package recordtest is an invented record for tests: a FHIR server in memory with searches in pages and transactions,
// and a token server of SMART Backend Services before it.
package recordtest

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// A Resource is a FHIR resource as JSON.
type Resource = map[string]any

// A Record is a FHIR server. Its fields are to be set before it is asked.
type Record struct {
	URL      string // the base address
	PageSize int    // entries a page
	// Before sees each request first, and reports true if it answered. Nil for nothing.
	Before func(w http.ResponseWriter, r *http.Request) bool
	// Tokens is the token server; nil to let in everybody.
	Tokens *Tokens

	mu       sync.Mutex
	files    map[string]*file // by address, such as Patient/1
	asked    map[string]int   // by method and path
	searches map[string][]string
	next     int
}

type file struct {
	content Resource
	version int
}

// New starts a record, which ends with the test.
func New(t testing.TB) *Record {
	r := &Record{PageSize: 3, files: map[string]*file{}, asked: map[string]int{}, searches: map[string][]string{}}
	server := httptest.NewServer(r)
	t.Cleanup(server.Close)
	r.URL = server.URL + "/fhir"
	return r
}

// Put stores a resource and returns its address.
func (r *Record) Put(resource Resource) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.put(resource)
}

func (r *Record) put(resource Resource) string {
	id, _ := resource["id"].(string)
	if id == "" {
		r.next++
		id = "stored-" + strconv.Itoa(r.next)
	}
	at := resource["resourceType"].(string) + "/" + id
	version := 1
	if known := r.files[at]; known != nil {
		version = known.version + 1
	}
	content := maps.Clone(resource)
	content["id"] = id
	content["meta"] = Resource{"versionId": strconv.Itoa(version)}
	r.files[at] = &file{content, version}
	return at
}

// Of are the resources of a type, by address.
func (r *Record) Of(typeName string) map[string]Resource {
	r.mu.Lock()
	defer r.mu.Unlock()
	all := map[string]Resource{}
	for at, f := range r.files {
		if strings.HasPrefix(at, typeName+"/") {
			all[at] = maps.Clone(f.content)
		}
	}
	return all
}

// Asked is how often an address was asked: a method and a path below the base.
func (r *Record) Asked(what string) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.asked[what]
}

// ServeHTTP answers.
func (r *Record) ServeHTTP(w http.ResponseWriter, q *http.Request) {
	path := strings.TrimPrefix(strings.TrimPrefix(q.URL.Path, "/fhir"), "/")
	r.mu.Lock()
	r.asked[q.Method+" "+path]++
	r.mu.Unlock()
	if r.Tokens != nil && !r.Tokens.Accepts(q.Header.Get("Authorization")) {
		w.WriteHeader(http.StatusUnauthorized)
		return
	}
	if r.Before != nil && r.Before(w, q) {
		return
	}
	w.Header().Set("Content-Type", "application/fhir+json")
	r.mu.Lock()
	defer r.mu.Unlock()
	switch typeName, search := strings.CutSuffix(path, "/_search"); {
	case q.Method == http.MethodPost && search:
		_ = q.ParseForm() // what is malformed finds nothing
		r.search(w, typeName, q)
	case q.Method == http.MethodGet && path == "":
		r.page(w, q.URL.Query().Get("_getpages"), q.URL.Query().Get("_from"))
	case q.Method == http.MethodPost && path == "":
		r.transact(w, q)
	case q.Method == http.MethodGet:
		r.read(w, path)
	default:
		w.WriteHeader(http.StatusNotFound)
	}
}

func (r *Record) read(w http.ResponseWriter, path string) {
	known := r.files[path]
	if known == nil {
		w.WriteHeader(http.StatusNotFound)
		return
	}
	answer(w, known.content)
}

// search finds by patient, _id, code and identifier, and gives the first page.
func (r *Record) search(w http.ResponseWriter, typeName string, q *http.Request) {
	r.next++
	key := "s" + strconv.Itoa(r.next)
	r.searches[key] = []string{}
	for _, at := range slices.Sorted(maps.Keys(r.files)) {
		if strings.HasPrefix(at, typeName+"/") && matches(r.files[at].content, q) {
			r.searches[key] = append(r.searches[key], at)
		}
	}
	r.page(w, key, "0")
}

func matches(resource Resource, q *http.Request) bool {
	if id := q.PostForm.Get("_id"); id != "" && resource["id"] != id {
		return false
	}
	if patient := q.PostForm.Get("patient"); patient != "" && subjectOf(resource) != "Patient/"+patient {
		return false
	}
	if codes := q.PostForm.Get("code"); codes != "" && !slices.ContainsFunc(strings.Split(codes, ","), func(c string) bool { return slices.Contains(codesOf(resource), c) }) {
		return false
	}
	system, _, _ := strings.Cut(q.PostForm.Get("identifier"), "|")
	return system == "" || slices.ContainsFunc(list(resource["identifier"]), func(i Resource) bool { return i["system"] == system })
}

func subjectOf(resource Resource) any {
	for _, name := range []string{"subject", "patient"} {
		if subject, ok := resource[name].(Resource); ok {
			return subject["reference"]
		}
	}
	return nil
}

func codesOf(resource Resource) (codes []string) {
	code, _ := resource["code"].(Resource)
	for _, c := range list(code["coding"]) {
		codes = append(codes, fmt.Sprint(c["system"], "|", c["code"]))
	}
	return codes
}

func list(value any) (all []Resource) {
	items, _ := value.([]any)
	for _, i := range items {
		all = append(all, i.(Resource))
	}
	return all
}

// page gives a page of a search.
func (r *Record) page(w http.ResponseWriter, key, from string) {
	found, known := r.searches[key]
	start, err := strconv.Atoi(from)
	if !known || err != nil || start > len(found) {
		w.WriteHeader(http.StatusGone)
		return
	}
	end := min(start+r.PageSize, len(found))
	page := Resource{"resourceType": "Bundle", "type": "searchset", "total": len(found)}
	var entries []any
	for _, at := range found[start:end] {
		entries = append(entries, Resource{"fullUrl": r.URL + "/" + at, "resource": r.files[at].content, "search": Resource{"mode": "match"}})
	}
	if len(entries) > 0 {
		page["entry"] = entries
	}
	if end < len(found) {
		page["link"] = []any{Resource{"relation": "next", "url": fmt.Sprintf("%s?_getpages=%s&_from=%d", r.URL, key, end)}}
	}
	answer(w, page)
}

// transact does all of a transaction, or nothing.
func (r *Record) transact(w http.ResponseWriter, q *http.Request) {
	var bundle Resource
	if json.NewDecoder(q.Body).Decode(&bundle) != nil || bundle["type"] != "transaction" {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	entries := list(bundle["entry"])
	for _, e := range entries {
		request := e["request"].(Resource)
		if match, ok := request["ifMatch"].(string); ok {
			known := r.files[request["url"].(string)]
			if known == nil || match != fmt.Sprintf(`W/"%d"`, known.version) {
				w.WriteHeader(http.StatusPreconditionFailed)
				return
			}
		}
	}
	for _, e := range entries {
		request, resource := e["request"].(Resource), e["resource"].(Resource)
		if unless, ok := request["ifNoneExist"].(string); ok && r.has(resource["resourceType"].(string), unless) {
			continue
		}
		r.put(resource)
	}
	answer(w, Resource{"resourceType": "Bundle", "type": "transaction-response"})
}

// has reports whether a resource has an identifier, as ifNoneExist names it, or a tag.
func (r *Record) has(typeName, condition string) bool {
	name, value, _ := strings.Cut(condition, "=")
	for at, f := range r.files {
		if !strings.HasPrefix(at, typeName+"/") {
			continue
		}
		if name == "identifier" && slices.ContainsFunc(list(f.content["identifier"]), func(i Resource) bool { return fmt.Sprint(i["system"], "|", i["value"]) == value }) {
			return true
		}
	}
	return false
}

func answer(w http.ResponseWriter, body any) {
	_ = json.NewEncoder(w).Encode(body) // a caller that is gone needs no answer
}
