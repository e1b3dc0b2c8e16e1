package service

import (
	"net/http"

	"evenreach.example/internal/auth"
)

// smartPath is where clients of SMART look for the token endpoint, below the FHIR base.
//
// Source: SMART App Launch 2, conformance: .well-known/smart-configuration.
const smartPath = ".well-known/smart-configuration"

// smartConfiguration says where a client gets a token, and for what.
//
// Source: the same, metadata; for the two algorithms, client authentication by asymmetric keys.
type smartConfiguration struct {
	TokenEndpoint        string   `json:"token_endpoint"`
	GrantTypes           []string `json:"grant_types_supported"`
	ClientAuthentication []string `json:"token_endpoint_auth_methods_supported"`
	ClientAlgorithms     []string `json:"token_endpoint_auth_signing_alg_values_supported"`
	Scopes               []string `json:"scopes_supported"`
	ChallengeMethods     []string `json:"code_challenge_methods_supported"`
	Capabilities         []string `json:"capabilities"`
}

// readSMART answers with the configuration of SMART.
func (s *Server) readSMART(w http.ResponseWriter, r *http.Request) {
	if err := writeJSON(w, smartConfiguration{
		TokenEndpoint:        s.config.TokenEndpoint,
		GrantTypes:           []string{"client_credentials"},
		ClientAuthentication: []string{"private_key_jwt"},
		ClientAlgorithms:     []string{"RS384", "ES384"},
		Scopes:               []string{auth.Required},
		ChallengeMethods:     []string{"S256"},
		Capabilities:         []string{"client-confidential-asymmetric", "permission-v2"},
	}); err != nil {
		s.writeRefusal(w, r, err)
	}
}

// security are the codes of how callers prove who they are. SMART is claimed only where its
// clients can find out the rest.
func (s *Server) security() []string {
	if _, open := s.callers.(auth.Anyone); open {
		return nil
	}
	if s.config.TokenEndpoint == "" {
		return []string{"OAuth"}
	}
	return []string{"OAuth", "SMART-on-FHIR"}
}
