package worksheet

import (
	"encoding/json"
	"net/http"
	"strings"

	"evenreach.example/internal/ops"
)

// Launch says which health records may launch the page, by SMART App Launch 2. There is no
// secret in it: the page is a public client, and reads it.
type Launch struct {
	// Client is the id by which the records know the page.
	Client string `json:"client"`
	// Issuers are the base addresses of the records.
	Issuers []string `json:"issuers"`
	// Origins are those of the records and of their authorization servers: whom the page may ask.
	Origins []string `json:"origins"`
	// Scopes are asked for, separated by spaces, beside that of the launch itself.
	Scopes string `json:"scopes"`
	// Searches says what is read of a patient.
	Searches func() []Search `json:"-"`
}

// A Search asks a record for what it has of the patient of a type.
type Search struct {
	Type string `json:"type"`
	// Parameters stand beside the patient.
	Parameters map[string]string `json:"parameters"`
}

// launchPath is where the page reads the configuration; entryPath is where a record launches it.
const (
	launchPath = "launch.json"
	entryPath  = "launch.html"
)

// policy lets the page load what is embedded here and ask the service that served it, and the
// records that may launch it, and nothing else.
//
// Source: W3C, Content Security Policy Level 3.
func (l *Launch) policy() string {
	asked := "'self'"
	if l != nil {
		asked = strings.Join(append([]string{asked}, l.Origins...), " ")
	}
	return "default-src 'none'; script-src 'self'; style-src 'self'; connect-src " + asked + "; img-src 'self' data:; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}

// serves reports whether a file of the page is there: that of the entry only where a record may launch the page.
func (l *Launch) serves(name string) bool { return l != nil || name != entryPath }

// write answers with the configuration.
func (l *Launch) write(w http.ResponseWriter, r *http.Request) {
	ops.CallFrom(r.Context()).Aside(Path + "/" + launchPath)
	text, err := json.Marshal(struct {
		*Launch
		Searches []Search `json:"searches"`
	}{l, l.Searches()})
	if err != nil {
		http.Error(w, "the configuration cannot be written", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text) // a caller that hung up needs no answer
}
