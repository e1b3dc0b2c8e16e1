// Package tenant says which tenant a caller belongs to, where one process serves several clinics
// that must know nothing of each other. It reads the file that names them.
package tenant

// A Caller is what rules look at. What is not known is empty.
type Caller struct {
	Issuer      string // the claim iss of the token
	Client      string // the id of the client that the issuer gave the token to
	Certificate string // the subject of the client's certificate, as RFC 4514 writes it
}

// A Tenant is a clinic as the file describes it.
type Tenant struct {
	// Name is a label of metrics and of the log: lower-case letters, digits and hyphens.
	Name    string `json:"name"`
	Callers []Rule `json:"callers,omitempty"`
	// Protocol and CodeMap are files, from the folder of the tenants file; empty for those of
	// the whole process.
	Protocol string `json:"protocol,omitempty"`
	CodeMap  string `json:"codeMap,omitempty"`
	// Language and ForceUnit are those of callers who prefer no other; empty for those of the
	// whole process.
	Language  string `json:"language,omitempty"`
	ForceUnit string `json:"forceUnit,omitempty"`
	// AuditLabel is what the audit trail calls the tenant. Load fills it in.
	AuditLabel string `json:"auditLabel,omitempty"`
}

// A Rule names callers: those who have all that it states.
type Rule struct {
	Issuer      string `json:"issuer,omitempty"`
	Client      string `json:"client,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

func (r Rule) matches(c Caller) bool {
	return fits(r.Issuer, c.Issuer) && fits(r.Client, c.Client) && fits(r.Certificate, c.Certificate)
}

func fits(stated, found string) bool { return stated == "" || stated == found }

// overlaps reports whether some caller may match both rules: unless they state different values of
// one thing.
func (r Rule) overlaps(other Rule) bool {
	return agree(r.Issuer, other.Issuer) && agree(r.Client, other.Client) && agree(r.Certificate, other.Certificate)
}

func agree(a, b string) bool { return a == "" || b == "" || a == b }

// A Directory is a tenants file that was checked: no caller matches two of its rules.
type Directory struct {
	// Default is the tenant of callers whom no rule names; empty to refuse them.
	Default string `json:"default,omitempty"`
	// Messages is whose the MLLP listener and the target of messages are; empty for nobody's.
	Messages string `json:"messages,omitempty"`
	// Record is whose the configured record is; empty for nobody's.
	Record  string   `json:"record,omitempty"`
	Tenants []Tenant `json:"tenants"`
}

// Of is the name of the tenant that a caller belongs to; empty for none.
func (d *Directory) Of(c Caller) string {
	for i := range d.Tenants {
		for _, rule := range d.Tenants[i].Callers {
			if rule.matches(c) {
				return d.Tenants[i].Name
			}
		}
	}
	return d.Default
}
