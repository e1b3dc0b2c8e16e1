package service

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// fhirBase is the path of the FHIR base address.
const fhirBase = "/fhir"

// A publication is what is published at an address.
type publication struct {
	pattern string // of the address
	methods []string
	serve   http.HandlerFunc
}

// published serves the conformance resources: GET [base]/metadata, GET
// [base]/[type]/[id], and searches of a type, and the configuration of SMART. They need no token, because a caller
// learns from them how to get one.
func (s *Server) published(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r, err := s.recognise(w, r)
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		found, ok := s.publishedAt(r)
		if !ok {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Aside(found.pattern)
		if !slices.Contains(found.methods, r.Method) {
			s.refuseMethod(w, r, found.methods...)
			return
		}
		w.Header().Set("Cache-Control", "no-cache") // nothing here is about a patient
		found.serve(w, r)
	})
}

// recognise finds the tenant of a caller who shows a token, although none is needed: what is published differs
// between tenants, and who shows none sees what is common to all. Where callers are not told apart nothing is looked at.
func (s *Server) recognise(w http.ResponseWriter, r *http.Request) (*http.Request, error) {
	if s.current.Load().tenants == nil || !s.isPublic(r.URL.Path) {
		return r, nil
	}
	w.Header().Add("Vary", "Authorization")
	if len(r.Header.Values("Authorization")) == 0 {
		return r, nil
	}
	ctx, _, err := s.admit(r.Context(), shownBy(r))
	return r.WithContext(ctx), err
}

// isPublic reports whether something may be published at a path.
func (s *Server) isPublic(path string) bool {
	below, ok := strings.CutPrefix(path, fhirBase+"/")
	typeName, id, _ := strings.Cut(below, "/")
	return ok && (below == "metadata" || s.current.Load().common.library.Has(typeName) && !strings.Contains(id, "$"))
}

// publishedAt is what is published at the address of a request, if anything is.
func (s *Server) publishedAt(r *http.Request) (publication, bool) {
	path, below := strings.CutPrefix(r.URL.Path, fhirBase+"/")
	typeName, id, one := strings.Cut(path, "/")
	reading, searching := []string{http.MethodGet, http.MethodHead}, fhirBase+"/{type}"
	switch {
	case !below:
		return publication{}, false
	case path == "metadata":
		return publication{fhirBase + "/metadata", reading, s.readMetadata}, true
	case path == smartPath && s.config.TokenEndpoint != "":
		return publication{fhirBase + "/" + smartPath, reading, s.readSMART}, true
	case !s.libraryOf(r.Context()).Has(typeName):
		return publication{}, false
	case !one:
		return publication{searching, reading, s.searchByGet}, true
	case id == "_search":
		return publication{searching + "/_search", []string{http.MethodPost}, s.searchByPost}, true
	}
	resource, ok := s.libraryOf(r.Context()).Lookup(typeName, id)
	return publication{searching + "/{id}", reading, func(w http.ResponseWriter, r *http.Request) { s.read(w, r, resource) }}, ok
}

// readMetadata answers with the CapabilityStatement, whichever mode is asked for.
//
// Source: FHIR R4 4.0.1, RESTful API, capabilities: servers may ignore mode.
func (s *Server) readMetadata(w http.ResponseWriter, r *http.Request) {
	s.read(w, r, s.libraryOf(r.Context()).CapabilityStatement(s.statement(r)), "mode")
}

// read answers with a published resource. The parameters are those that the address
// may have besides those of every address.
func (s *Server) read(w http.ResponseWriter, r *http.Request, resource fhirapi.Resource, parameters ...string) {
	wanted, values, issues := negotiate(r)
	if err := fault.New(append(issues, unknownNames(values, parameters...)...)); err != nil {
		s.writeRefusal(w, r, err)
		return
	}
	w.Header().Set("ETag", resource.ETag())
	if slices.Contains(strings.Split(strings.ReplaceAll(r.Header.Get("If-None-Match"), " ", ""), ","), resource.ETag()) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.Header().Set("Content-Type", contentType(wanted.mediaType))
	_, _ = w.Write(wanted.layout(resource.JSON)) // a caller that hung up needs no answer
}

// statement is what the service says of itself to a caller.
func (s *Server) statement(r *http.Request) fhirapi.Server {
	return fhirapi.Server{Version: s.pipelineOf(r.Context()).Version, Base: s.base(r), Security: s.security(), Record: s.hasRecord(r.Context()), Offers: s.isOffered}
}

// base is the FHIR base address that a caller uses.
func (s *Server) base(r *http.Request) string {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return cmp.Or(s.config.Base, scheme+"://"+r.Host+fhirBase)
}
