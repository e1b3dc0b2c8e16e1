package service

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenreach.example/internal/worksheet"
)

// launchable is a service that a record may launch the page of.
func launchable(t *testing.T) (*harness, http.Handler) {
	t.Helper()
	h := guarded(t)
	h.server.ServeLaunch(worksheet.Launch{Client: "worksheet", Issuers: []string{"https://record.example/fhir"}, Origins: []string{"https://record.example"}})
	handler, err := h.server.Handler()
	if err != nil {
		t.Fatal(err)
	}
	return h, handler
}

// TestLaunchReadsWhatIsRead: the page searches for the measurements that an assessment is made
// of and for earlier results, and finds out without a token; neither the patient's launch nor
// the code of a sign-in comes into the log.
func TestLaunchReadsWhatIsRead(t *testing.T) {
	h, handler := launchable(t)
	for _, path := range []string{"/worksheet/launch.html?iss=https://record.example/fhir&launch=patient-17", "/worksheet/?code=secret-code&state=secret-state"} {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, http.NoBody))
		if w.Code != http.StatusOK {
			t.Errorf("GET %s = %d", path, w.Code)
		}
	}
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/worksheet/launch.json", http.NoBody))
	var told struct{ Searches []worksheet.Search }
	if err := json.Unmarshal(w.Body.Bytes(), &told); w.Code != http.StatusOK || err != nil {
		t.Fatalf("status %d, %v", w.Code, err)
	}
	found := map[string]string{}
	for _, s := range told.Searches {
		found[s.Type] += s.Parameters["code"] + s.Parameters["identifier"] + " "
	}
	for typeName, want := range map[string]string{
		"Observation": "|isometric-external-rotation-strength", "Procedure": "http://snomed.info/sct|56060000", "Condition": " ", "Encounter": " ",
		"CarePlan": " ", "Goal": " ", "DiagnosticReport": "https://evenreach.example/fhir/sid/result|", "DetectedIssue": "https://evenreach.example/fhir/sid/result|",
	} {
		if !strings.Contains(found[typeName], want) {
			t.Errorf("%s is searched by %q, want %q", typeName, found[typeName], want)
		}
	}
	log := h.log.String()
	for _, secret := range []string{"patient-17", "secret-code", "secret-state", "record.example"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %s: %s", secret, log)
		}
	}
	if !strings.Contains(log, `"operation":"/worksheet/launch.json"`) {
		t.Errorf("the log does not name the launch: %s", log)
	}
}
