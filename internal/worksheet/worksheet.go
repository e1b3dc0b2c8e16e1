// Package worksheet is the page on which a therapist enters a re-check and
// reads the answer. The page builds the FHIR Bundle in the browser and asks the
// service like any other caller; nothing is stored on either side.
package worksheet

import (
	"embed"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"evenreach.example/internal/ops"
)

//go:embed page
var embedded embed.FS

// Path is where the page is; what belongs to it is below.
const Path = "/worksheet"

// policy lets the page load what is embedded here and ask the service that
// served it, and nothing else.
//
// Source: W3C, Content Security Policy Level 3.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// mediaTypes are those of the files of the page, by extension. The machine's
// own table is not asked: it differs from machine to machine.
var mediaTypes = map[string]string{
	".html": "text/html; charset=utf-8",
	".css":  "text/css; charset=utf-8",
	".js":   "text/javascript; charset=utf-8",
}

// Before answers requests below Path with the page, and leaves all others to
// next. The page needs no credentials: there is nothing of a patient in it.
func Before(measures Measures, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, below := strings.CutPrefix(r.URL.Path, Path+"/")
		if !below && r.URL.Path != Path {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Aside(Path)
		if !below {
			http.Redirect(w, r, Path+"/", http.StatusMovedPermanently)
			return
		}
		measures.serve(w, r, name)
	})
}

func (m Measures) serve(w http.ResponseWriter, r *http.Request, name string) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "found another method; expected GET", http.StatusMethodNotAllowed)
		return
	}
	if name == "" {
		name = "index.html"
	}
	secure(w.Header())
	if name == measuresFile {
		m.serveMeasures(w)
		return
	}
	content, err := fs.ReadFile(embedded, path.Join("page", name))
	mediaType, known := mediaTypes[path.Ext(name)]
	if err != nil || !known || !fs.ValidPath(name) {
		http.Error(w, "there is nothing at this address; expected "+Path+"/", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", mediaType)
	_, _ = w.Write(content) // a caller that hung up needs no answer
}

// secure keeps an answer from being framed, kept or read as something else.
func secure(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store") // what is typed into it must not come back
}
