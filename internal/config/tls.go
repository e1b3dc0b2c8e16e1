package config

import (
	"maps"
	"slices"

	"evenreach.example/internal/auth"
)

// TLS is the configuration of TLS as it was written.
type TLS struct {
	Certificate   string `name:"tls-cert" env:"EVENREACH_TLS_CERT" placeholder:"FILE" help:"The certificate of gRPC and REST, in PEM with its chain; it may be replaced at any time (no TLS)."`
	Key           string `name:"tls-key" env:"EVENREACH_TLS_KEY" placeholder:"FILE" help:"Its key, in PEM."`
	InsecureNoTLS string `name:"insecure-no-tls" alone:"true" env:"EVENREACH_INSECURE_NO_TLS" help:"Serve without TLS on other interfaces than the loopback, where a proxy or mesh before the service sees to it: tokens and patients' data are sent as they are."`
	ClientCA      string `name:"tls-client-ca" env:"EVENREACH_TLS_CLIENT_CA" placeholder:"FILE" help:"The authorities, in PEM, of one of which callers must have a certificate (none is asked for)."`
}

// resolve reads the certificate; nil for none. The addresses are those that callers reach, by
// their options.
func (t TLS) resolve(r *resolver, addresses map[string]string) *auth.Certificates {
	open := r.boolean("insecure-no-tls", t.InsecureNoTLS)
	t.InsecureNoTLS = ""
	switch {
	case t == TLS{}:
		if !open {
			t.refuseOpen(r, addresses)
		}
		return nil
	case open:
		r.report("insecure-no-tls", "found --tls-cert as well; expected one of the two")
		return nil
	case t.Certificate == "":
		r.report("tls-cert", "found none; expected a file beside --tls-key or --tls-client-ca")
		return nil
	case t.Key == "":
		r.report("tls-key", "found none; expected a file beside --tls-cert")
		return nil
	}
	return r.certificates(t)
}

// refuseOpen reports addresses that others reach and that have no TLS.
func (t TLS) refuseOpen(r *resolver, addresses map[string]string) {
	for _, option := range slices.Sorted(maps.Keys(addresses)) {
		if address := addresses[option]; !isLoopback(address) {
			r.report("tls-cert", "found none, and --%s %q, which others reach; expected a certificate, an address of the loopback interface, "+
				"or --insecure-no-tls where a proxy or mesh sees to TLS", option, address)
		}
	}
}

func (r *resolver) certificates(t TLS) *auth.Certificates {
	certificates, err := auth.ReadCertificates(auth.Files{Certificate: t.Certificate, Key: t.Key, ClientCA: t.ClientCA})
	if err != nil {
		r.report("tls-cert", "%v", err)
	}
	return certificates
}
