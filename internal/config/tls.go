package config

import "evenreach.example/internal/auth"

// TLS is the configuration of TLS as it was written.
type TLS struct {
	Certificate string `name:"tls-cert" env:"EVENREACH_TLS_CERT" placeholder:"FILE" help:"The certificate of gRPC and REST, in PEM with its chain; it may be replaced at any time (no TLS)."`
	Key         string `name:"tls-key" env:"EVENREACH_TLS_KEY" placeholder:"FILE" help:"Its key, in PEM."`
	ClientCA    string `name:"tls-client-ca" env:"EVENREACH_TLS_CLIENT_CA" placeholder:"FILE" help:"The authorities, in PEM, of one of which callers must have a certificate (none is asked for)."`
}

// resolve reads the certificate; nil for none.
func (t TLS) resolve(r *resolver) *auth.Certificates {
	switch {
	case t == TLS{}:
		return nil
	case t.Certificate == "":
		r.report("tls-cert", "found none; expected a file beside --tls-key or --tls-client-ca")
		return nil
	case t.Key == "":
		r.report("tls-key", "found none; expected a file beside --tls-cert")
		return nil
	}
	certificates, err := auth.ReadCertificates(auth.Files{Certificate: t.Certificate, Key: t.Key, ClientCA: t.ClientCA})
	if err != nil {
		r.report("tls-cert", "%v", err)
	}
	return certificates
}
