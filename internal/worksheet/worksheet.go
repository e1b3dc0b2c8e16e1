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

// mediaTypes are those of the files of the page, by extension. The machine's
// own table is not asked: it differs from machine to machine.
var mediaTypes = map[string]string{
	".html": "text/html; charset=utf-8",
	".css":  "text/css; charset=utf-8",
	".js":   "text/javascript; charset=utf-8",
}

// Page is what the page has from the service.
type Page struct {
	Measures Measures
	Launch   *Launch // which records may launch it; nil for none
}

// Before answers requests below Path with the page, and leaves all others to
// next. The page needs no credentials: there is nothing of a patient in it.
func (p Page) Before(next http.Handler) http.Handler {
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
		p.serve(w, r, name)
	})
}

func (p Page) serve(w http.ResponseWriter, r *http.Request, name string) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "found another method; expected GET", http.StatusMethodNotAllowed)
		return
	}
	protect(w.Header(), p.Launch)
	switch {
	case name == launchPath && p.Launch != nil:
		p.Launch.write(w, r)
	case name == measuresFile:
		p.Measures.write(w)
	default:
		p.file(w, name)
	}
}

// file answers with a file of the page.
func (p Page) file(w http.ResponseWriter, name string) {
	if name == "" {
		name = "index.html"
	}
	content, err := fs.ReadFile(embedded, path.Join("page", name))
	mediaType, known := mediaTypes[path.Ext(name)]
	if err != nil || !known || !fs.ValidPath(name) || !p.Launch.serves(name) {
		http.Error(w, "there is nothing at this address; expected "+Path+"/", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", mediaType)
	_, _ = w.Write(content) // a caller that hung up needs no answer
}

// protect keeps an answer from being framed, kept or read as something else.
func protect(h http.Header, launch *Launch) {
	h.Set("Content-Security-Policy", launch.policy())
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store") // what is typed into it must not come back
}
