package service

import (
	"net/http"
	"slices"
	"strings"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
)

// fhirBase is the path of the FHIR base address.
const fhirBase = "/fhir"

// published serves the conformance resources: GET [base]/metadata, and GET
// [base]/[type]/[id]. They need no token, because a caller learns from them how to get
// one.
func (s *Server) published(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		resource, pattern := s.publishedAt(r)
		if resource.JSON == nil {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Operation = pattern
		wanted, err := negotiate(r)
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		w.Header().Set("Cache-Control", "no-cache") // nothing here is about a patient
		w.Header().Set("ETag", resource.ETag())
		if slices.Contains(strings.Split(strings.ReplaceAll(r.Header.Get("If-None-Match"), " ", ""), ","), resource.ETag()) {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		w.Header().Set("Content-Type", contentType(wanted.mediaType))
		_, _ = w.Write(wanted.layout(resource.JSON)) // a caller that hung up needs no answer
	})
}

// publishedAt is the resource at an address and the pattern of that; the zero
// Resource if nothing is published there.
func (s *Server) publishedAt(r *http.Request) (fhirapi.Resource, string) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		return fhirapi.Resource{}, ""
	}
	path, _ := strings.CutPrefix(r.URL.Path, fhirBase+"/")
	if path == "metadata" {
		return s.library.CapabilityStatement(s.statement(r)), fhirBase + "/metadata"
	}
	typeName, id, _ := strings.Cut(path, "/")
	resource, _ := s.library.Lookup(typeName, id)
	return resource, fhirBase + "/{type}/{id}"
}

// statement is what the service says of itself to a caller.
func (s *Server) statement(r *http.Request) fhirapi.Server {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	server := fhirapi.Server{Version: s.pipeline.Version, Base: scheme + "://" + r.Host + fhirBase}
	if _, open := s.callers.(auth.Anyone); !open {
		server.Security = []string{"OAuth", "SMART-on-FHIR"}
	}
	return server
}
