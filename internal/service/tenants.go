package service

import (
	"slices"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/tenant"
	"evenreach.example/internal/wording"
)

// A Content is what requests are answered by. It is replaced as a whole.
type Content struct {
	// Protocols and Codes are those of everybody, or, where there are tenants, of nobody: what is
	// published to those who show no token.
	Protocols Protocols
	Codes     *intake.CodeMap
	// Tenants tells the callers apart; nil if they all get the same answers.
	Tenants *Tenants
}

// Tenants are the clinics that one process serves.
type Tenants struct {
	Directory *tenant.Directory
	// All has each of its tenants, by name.
	All map[string]Tenant
}

// A Tenant is what the requests of one clinic are answered by.
type Tenant struct {
	AuditLabel string
	Protocols  Protocols
	Codes      *intake.CodeMap
	Words      *wording.Catalogue
}

// served is what the requests of one tenant, or of everybody, are answered by.
type served struct {
	name     string // of the tenant; empty where there are none
	label    string // for the audit trail
	pipeline *Pipeline
	library  *fhirapi.Library
}

// loaded is a Content as requests use it.
type loaded struct {
	common  *served
	tenants *tenant.Directory  // nil if callers are not told apart
	byName  map[string]*served // by the name of the tenant
}

// loadedOf prepares a Content. What it does not say is that of a pipeline.
func loadedOf(c Content, like *Pipeline) *loaded {
	common := *like
	common.Protocols, common.Codes = c.Protocols, c.Codes
	all := &loaded{common: &served{pipeline: &common, library: fhirapi.New(c.Protocols)}}
	if c.Tenants == nil {
		return all
	}
	all.tenants, all.byName = c.Tenants.Directory, map[string]*served{}
	for name, t := range c.Tenants.All {
		own := common
		own.Protocols, own.Codes, own.Words = t.Protocols, t.Codes, t.Words
		all.byName[name] = &served{name, t.AuditLabel, &own, ownLibrary(t.Protocols, c.Protocols, all.common.library)}
	}
	return all
}

// ownLibrary is the library of a tenant's protocols: the common one, if these are the common ones.
func ownLibrary(own, common Protocols, library *fhirapi.Library) *fhirapi.Library {
	if slices.Equal(own, common) {
		return library
	}
	return fhirapi.New(own)
}

// Load answers from now on by another Content. A request that has begun is answered by that from before.
func (s *Server) Load(c Content) {
	s.setContent(c)
	s.watch.Loaded(c.Protocols)
}

// LoadFirst sets the first Content. It is to be called before Handler.
func (s *Server) LoadFirst(c Content) { s.setContent(c) }

func (s *Server) setContent(c Content) {
	s.current.Store(loadedOf(c, s.current.Load().common.pipeline))
	s.watch.Tenants(c.Tenants.defaults())
}

// defaults are the protocols that tenants decide by unless another is asked for.
func (t *Tenants) defaults() map[string]*protocol.Protocol {
	all := map[string]*protocol.Protocol{}
	if t != nil {
		for name, one := range t.All {
			all[name] = one.Protocols[0]
		}
	}
	return all
}
