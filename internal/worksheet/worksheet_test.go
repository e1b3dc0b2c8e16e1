package worksheet

import (
	"io/fs"
	"net/http"
	"net/http/httptest"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// teapot stands for everything else that is served.
var teapot = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) })

// measures are the outcome measures of an invented protocol.
func measures() []protocol.OutcomeMeasure {
	return []protocol.OutcomeMeasure{{
		ID: "arm-comfort", Codes: []protocol.Code{{System: "https://clinic.example/codes", Code: "arm-comfort"}},
		Title: map[string]string{"en": "arm comfort score", "de": "Armkomfort-Wert"},
		Scale: protocol.Scale{Unit: "{points}", Maximum: exact.Int(100), Better: protocol.Higher},
	}}
}

func get(t *testing.T, method, target string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	Page{Measures: measures}.Before(teapot).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), method, target, http.NoBody))
	return w
}

func TestAddresses(t *testing.T) {
	tests := []struct {
		name, method, target string
		want                 int
	}{
		{"the page", http.MethodGet, "/worksheet/", http.StatusOK},
		{"its head", http.MethodHead, "/worksheet/", http.StatusOK},
		{"without the stroke", http.MethodGet, "/worksheet", http.StatusMovedPermanently},
		{"a module", http.MethodGet, "/worksheet/main.js", http.StatusOK},
		{"the measures of the protocol", http.MethodGet, "/worksheet/measures.json", http.StatusOK},
		{"nothing there", http.MethodGet, "/worksheet/other.js", http.StatusNotFound},
		{"the folder itself", http.MethodGet, "/worksheet/.", http.StatusNotFound},
		{"outside the folder", http.MethodGet, "/worksheet/../worksheet.go", http.StatusNotFound},
		{"outside by an absolute path", http.MethodGet, "/worksheet//etc/passwd", http.StatusNotFound},
		{"another method", http.MethodPost, "/worksheet/", http.StatusMethodNotAllowed},
		{"another address", http.MethodPost, "/fhir/$assess-shoulder", http.StatusTeapot},
		{"an address that begins alike", http.MethodGet, "/worksheets", http.StatusTeapot},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := get(t, tt.method, tt.target).Code; got != tt.want {
				t.Errorf("%s %s = %d, want %d", tt.method, tt.target, got, tt.want)
			}
		})
	}
}

// TestMeasures: the page learns the rows of the protocol that is loaded now, and no
// others.
func TestMeasures(t *testing.T) {
	response := get(t, http.MethodGet, Path+"/measures.json")
	if got := response.Header().Get("Content-Type"); got != "application/json" {
		t.Errorf("Content-Type %q", got)
	}
	if got := response.Header().Get("Cache-Control"); got != "no-store" {
		t.Errorf("Cache-Control %q: a protocol that was loaded anew would not be seen", got)
	}
	for _, want := range []string{
		`"id":"arm-comfort"`, `"codes":[{"system":"https://clinic.example/codes","code":"arm-comfort"}]`,
		`"title":{"de":"Armkomfort-Wert","en":"arm comfort score"}`, `"unit":"{points}","minimum":0,"maximum":100,"better":"higher"`,
	} {
		if !strings.Contains(response.Body.String(), want) {
			t.Errorf("%s lacks %s", response.Body, want)
		}
	}
	w := httptest.NewRecorder()
	none := Page{Measures: func() []protocol.OutcomeMeasure { return nil }}.Before(teapot)
	none.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, Path+"/measures.json", http.NoBody))
	if got := w.Body.String(); got != "[]" {
		t.Errorf("without measures %q, want []", got)
	}
}

// assets are the embedded files by name, with their text.
func assets(t *testing.T) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := fs.WalkDir(embedded, "page", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := fs.ReadFile(embedded, name)
		files[strings.TrimPrefix(name, "page/")] = string(content)
		return err
	})
	if err != nil || len(files) == 0 {
		t.Fatalf("no embedded files: %v", err)
	}
	return files
}

func TestEveryFileIsServedUnderThePolicy(t *testing.T) {
	wanted := map[string]string{".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
	for name := range assets(t) {
		response := getLaunched(t, Path+"/"+name, &Launch{})
		if response.Code != http.StatusOK {
			t.Errorf("%s: status %d", name, response.Code)
		}
		if got, want := response.Header().Get("Content-Type"), wanted[path.Ext(name)]; got != want || want == "" {
			t.Errorf("%s: Content-Type %q, want %q", name, got, want)
		}
		if got := response.Header().Get("X-Content-Type-Options"); got != "nosniff" {
			t.Errorf("%s: X-Content-Type-Options %q", name, got)
		}
		directives := strings.Split(response.Header().Get("Content-Security-Policy"), "; ")
		for _, want := range []string{
			"default-src 'none'", "script-src 'self'", "style-src 'self'", "connect-src 'self'",
			"img-src 'self' data:", "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
		} {
			if !slices.Contains(directives, want) {
				t.Errorf("%s: the policy lacks %s", name, want)
			}
		}
	}
}

// identifiers are the addresses that name a system of codes, an identifier or
// a namespace of markup. They are compared, never fetched.
var identifiers = []string{
	fhir.SystemShoulder, fhir.SystemLOINC, fhir.SystemSNOMED, fhir.SystemUCUM, fhir.SystemObservationCategory,
	fhir.SystemConditionClinical, fhir.SystemResult,
	"http://terminology.hl7.org/CodeSystem/v3-ActReason",
	"http://terminology.hl7.org/CodeSystem/condition-ver-status",
	fhir.CanonicalBase + "/sid/worksheet",
	"http://www.w3.org/2000/svg",
}

var (
	address = regexp.MustCompile(`(?:https?:)?//[A-Za-z0-9][^\s'"<>)]*`)
	keeping = regexp.MustCompile(`localStorage|sessionStorage|indexedDB|document\.cookie|serviceWorker|caches\.`)
	inline  = regexp.MustCompile(`(?i)<[^>]+\s(?:style|on[a-z]+)\s*=|<style|<script>|\.innerHTML|\.outerHTML|insertAdjacentHTML|\beval\(|new Function`)
)

func TestFilesAskForNothingOutside(t *testing.T) {
	for name, text := range assets(t) {
		for _, found := range address.FindAllString(text, -1) {
			if !slices.Contains(identifiers, found) {
				t.Errorf("%s holds the address %s", name, found)
			}
		}
	}
}

// kept is what a file keeps with the browser: how the clinic works, and while the reader signs
// in to a record the state and the verifier of that.
var kept = map[string]string{"device.js": "localStorage", "smart.js": "sessionStorage"}

func TestFilesKeepNothingAndRunNothingInline(t *testing.T) {
	for name, text := range assets(t) {
		for _, found := range keeping.FindAllString(text, -1) {
			if kept[name] != found {
				t.Errorf("%s uses %s", name, found)
			}
		}
		if found := inline.FindString(text); found != "" {
			t.Errorf("%s holds %s", name, found)
		}
	}
}

// TestCodes holds the codes of the page against those that the service reads
// and writes.
func TestCodes(t *testing.T) {
	text := assets(t)["codes.js"]
	tests := []struct{ name, want string }{
		{"shoulder", fhir.SystemShoulder},
		{"loinc", fhir.SystemLOINC},
		{"snomed", fhir.SystemSNOMED},
		{"ucum", fhir.SystemUCUM},
		{"uri", fhir.SystemURI},
		{"category", fhir.SystemObservationCategory},
		{"conditionClinical", fhir.SystemConditionClinical},
		{"result", fhir.SystemResult},
		{"externalStrength", fhir.CodeExternalRotationStrength},
		{"internalStrength", fhir.CodeInternalRotationStrength},
		{"abductionStrength", fhir.CodeAbductionStrength},
		{"externalGrade", fhir.CodeExternalRotationGrade},
		{"internalGrade", fhir.CodeInternalRotationGrade},
		{"abductionGrade", fhir.CodeAbductionGrade},
		{"leverArm", fhir.CodeLeverArmLength},
		{"painDuringTest", fhir.CodePainDuringTest},
		{"motion", fhir.CodeMotion},
		{"heldSteady", fhir.CodeArmHeldSteady},
		{"clearance", fhir.CodeResistedClearance},
		{"tearSize", fhir.CodeCuffTearSize},
		{"examined", fhir.CodeExaminedAndCleared},
		{"permittedLoad", fhir.CodePermittedLoad},
		{"confirmed", fhir.CodeMeasurementConfirmed},
		{"armPosition", fhir.CodeArmPosition},
		{"armSupport", fhir.CodeArmSupport},
		{"contraction", fhir.CodeContractionType},
		{"trial", fhir.CodeTrial},
		{"painContext", fhir.CodePainContext},
		{"symmetryIndex", fhir.CodeLimbSymmetryIndex},
		{"examination", plan.AskExamination.String()},
		{"rotation", fhir.CodeRotation},
		{"intervalLow", fhir.CodeIntervalLow},
		{"intervalHigh", fhir.CodeIntervalHigh},
		{"changePrevious", fhir.CodeChangePrevious},
		{"changeBaseline", fhir.CodeChangeBaseline},
		{"flexionActive", fhir.LOINCFlexionActive},
		{"flexionPassive", fhir.LOINCFlexionPassive},
		{"abductionActive", fhir.LOINCAbductionActive},
		{"abductionPassive", fhir.LOINCAbductionPassive},
		{"externalRotationActive", fhir.LOINCExternalRotationActive},
		{"externalRotationPassive", fhir.LOINCExternalRotationPassive},
		{"internalRotationActive", fhir.LOINCInternalRotationActive},
		{"internalRotationPassive", fhir.LOINCInternalRotationPassive},
		{"pain", fhir.LOINCPainVerbalRating},
		{"bodyWeight", fhir.LOINCBodyWeight},
		{"bodyHeight", fhir.LOINCBodyHeight},
		{"rightShoulder", fhir.SNOMEDRightShoulder},
		{"leftShoulder", fhir.SNOMEDLeftShoulder},
		{"externalRotation", fhir.SNOMEDExternalRotation},
		{"handedness", fhir.SNOMEDHandedness},
		{"rightHanded", fhir.SNOMEDRightHanded},
		{"leftHanded", fhir.SNOMEDLeftHanded},
		{"ambidextrous", fhir.SNOMEDAmbidextrous},
		{"cuffRepair", fhir.SNOMEDCuffRepair},
		{"cuffRepairBySuture", fhir.SNOMEDCuffRepairBySuture},
		{"acuteSupraspinatusRepair", fhir.SNOMEDAcuteSupraspinatusRepair},
		{"lateSupraspinatusRepair", fhir.SNOMEDLateSupraspinatusRepair},
		{"cuffAvulsionRepair", fhir.SNOMEDCuffAvulsionRepair},
	}
	for _, tt := range tests {
		if !strings.Contains(text, "  "+tt.name+": '"+tt.want+"',") {
			t.Errorf("codes.js: %s is not %q", tt.name, tt.want)
		}
	}
}

func TestChoices(t *testing.T) {
	files := assets(t)
	for _, position := range shoulder.TrainedPositions {
		if !strings.Contains(files["index.html"], `data-position="`+position.String()+`"`) || !strings.Contains(files["codes.js"], "'"+position.String()+"':") {
			t.Errorf("no trials %s", position)
		}
	}
	choices := []string{
		shoulder.Supported.String(), shoulder.Unsupported.String(), shoulder.Make.String(), shoulder.Break.String(),
		shoulder.Handheld.String(), shoulder.BeltStabilised.String(), shoulder.Isokinetic.String(),
		"N", "kgf", "[lbf_av]", "N.m", "kgf.m", "kgf.cm", "[lbf_av].[in_i]", "[lbf_av].[ft_i]",
	}
	for phase := shoulder.LoadNone; phase <= shoulder.LoadSport; phase++ {
		choices = append(choices, phase.String())
	}
	for _, choice := range choices {
		if !strings.Contains(files["index.html"], `<option value="`+choice+`"`) {
			t.Errorf("%s cannot be chosen", choice)
		}
	}
	for _, context := range []shoulder.PainContext{shoulder.PainAtRest, shoulder.PainDuringResistedTest, shoulder.PainWorst24h} {
		if !strings.Contains(files["index.html"], `name="pain.`+context.String()+`"`) {
			t.Errorf("pain %s cannot be entered", context)
		}
	}
}

// TestMotions holds the motions of the page, the positions in which they are tested, and
// the muscle grades against those of the service.
func TestMotions(t *testing.T) {
	files := assets(t)
	for _, motion := range shoulder.Motions {
		var tested []string
		for _, position := range motion.TestedIn() {
			tested = append(tested, "'"+position.String()+"'")
		}
		if want := "  " + motion.String() + ": [" + strings.Join(tested, ", ") + "],"; !strings.Contains(files["codes.js"], want) {
			t.Errorf("codes.js lacks %s", want)
		}
	}
	for grade := shoulder.Grade0; grade <= shoulder.Grade5; grade++ {
		if !strings.Contains(files["rare.js"], "'"+grade.String()+"'") {
			t.Errorf("rare.js lacks the muscle grade %s", grade)
		}
	}
}

// TestDoubts holds the doubts that the page lets a clinician settle against the
// kinds of issues of the service.
func TestDoubts(t *testing.T) {
	page := assets(t)["problems.js"]
	for _, kind := range []fault.Kind{fault.TrialsDisagree, fault.SidesMayBeSwapped, fault.UnitMayBeWrong} {
		if !strings.Contains(page, "  '"+kind.String()+"': '") {
			t.Errorf("%s cannot be settled", kind)
		}
	}
	for _, kind := range []fault.Kind{fault.ComparisonDeclined, fault.PerformerMissing} {
		if !strings.Contains(page, "'"+kind.String()+"'") {
			t.Errorf("problems.js does not know %s", kind)
		}
	}
}

// TestLabels: an input without a label is silent to a screen reader, and its
// problems need a place.
func TestLabels(t *testing.T) {
	page := assets(t)["index.html"]
	inputs := regexp.MustCompile(`<(?:input|select) id="([^"]+)" name="([^"]+)"[^>]*>`).FindAllStringSubmatch(page, -1)
	if len(inputs) < 15 {
		t.Fatalf("found %d fields", len(inputs))
	}
	for _, input := range inputs {
		if !strings.Contains(page, `<label for="`+input[1]+`"`) && !strings.Contains(input[0], "aria-label=") {
			t.Errorf("%s has no label", input[1])
		}
	}
}
