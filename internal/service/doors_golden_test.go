package service

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhirclient/recordtest"
)

// at lets the service believe that it is this day.
func (h *harness) at(year int, month time.Month, day int) {
	h.pipeline().Now = func() time.Time { return time.Date(year, month, day, 12, 0, 0, 0, time.UTC) }
}

// The golden file was reviewed: it holds the numbers of the message, and what its README says should follow.
func TestSampleOfAMessageOfFHIR(t *testing.T) {
	const folder = "../../testdata/process-message"
	sent, err := os.ReadFile(filepath.Join(folder, "message.json"))
	if err != nil {
		t.Fatal(err)
	}
	h := start(t)
	h.at(2026, 4, 10)
	w := h.send("POST", processMessage, string(sent))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d: %.600s", w.Code, w.Body)
	}
	golden(t, filepath.Join(folder, "golden.json"), headed(t, w.Body.Bytes()))
}

// headed is a message with its header, of whose other resources only the type and the conclusion are left: they are those
// that the Bundle alone is answered with.
func headed(t *testing.T, answer []byte) []byte {
	t.Helper()
	var b object
	if err := json.Unmarshal(answer, &b); err != nil {
		t.Fatal(err)
	}
	for i, e := range b["entry"].([]any) {
		if whole := e.(object)["resource"].(object); i > 0 {
			left := object{"resourceType": whole["resourceType"]}
			if conclusion := whole["conclusion"]; conclusion != nil {
				left["conclusion"] = conclusion
			}
			e.(object)["resource"] = left
		}
	}
	return fhirjson.Indent([]byte(text(t, b)))
}

// The golden file was reviewed: what the record is asked, and what it is sent after each visit.
func TestSampleOfTheRecordAsASource(t *testing.T) {
	const folder = "../../testdata/record"
	record := recordtest.New(t)
	seen := &conversation{t: t}
	record.Before = seen.note
	h := start(t)
	h.asking(record)
	h.at(2026, 4, 10)
	var written bytes.Buffer
	for _, visit := range []string{"first-visit", "second-visit"} {
		for _, one := range readEntries(t, filepath.Join(folder, visit+".json")) {
			record.Put(one)
		}
		w := h.send("POST", "/fhir/Patient/demo-31/$store-assessment?output=living-transaction", "")
		if w.Code != http.StatusOK {
			t.Fatalf("status %d: %.600s", w.Code, w.Body)
		}
		fmt.Fprintf(&written, "After the %s\n\n%s\n%s\n\n", strings.ReplaceAll(visit, "-", " "), seen.end(), conclusion(t, w.Body.Bytes()))
	}
	golden(t, filepath.Join(folder, "golden.txt"), written.Bytes())
}

func readEntries(t *testing.T, file string) (resources []object) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var b struct{ Entry []struct{ Resource object } }
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	for _, e := range b.Entry {
		resources = append(resources, e.Resource)
	}
	return resources
}

// conversation is what a record was asked and sent.
type conversation struct {
	t       *testing.T
	mu      sync.Mutex
	asked   []string // several at a time, so that their order is none
	entries []string
}

func (c *conversation) note(_ http.ResponseWriter, r *http.Request) bool {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		c.t.Error(err)
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	c.mu.Lock()
	defer c.mu.Unlock()
	path := strings.TrimPrefix(r.URL.RequestURI(), "/fhir")
	switch {
	case r.Method == http.MethodPost && path == "":
		c.transaction(body)
	case r.Method == http.MethodPost:
		form := string(body)
		if at := strings.Index(form, "code="); at >= 0 && strings.Contains(form[at:], "%2C") { // the published code system lists them
			form = form[:at] + "code=" + fmt.Sprint(strings.Count(form[at:], "%2C")+1) + " codes" + form[at+strings.IndexByte(form[at:]+"&", '&'):]
		}
		c.asked = append(c.asked, "POST "+path+" "+form)
	default:
		c.asked = append(c.asked, r.Method+" the next page")
	}
	return false
}

// transaction notes each entry: what is done, on which condition, and to what.
func (c *conversation) transaction(body []byte) {
	var b struct {
		Entry []struct {
			Request  struct{ Method, URL, IfNoneExist, IfMatch string }
			Resource struct {
				ResourceType, Status, LifecycleStatus, Intent string
				Code                                          struct{ Coding []struct{ Code string } }
			}
		}
	}
	if err := json.Unmarshal(body, &b); err != nil {
		c.t.Error(err)
	}
	for _, e := range b.Entry {
		line := e.Request.Method + " " + e.Request.URL
		for _, word := range []string{e.Resource.Status, e.Resource.LifecycleStatus, e.Resource.Intent} {
			if word != "" {
				line += " " + word
			}
		}
		for _, one := range e.Resource.Code.Coding {
			line += " " + one.Code
		}
		if e.Request.IfNoneExist != "" {
			line += ", if there is none"
		}
		if e.Request.IfMatch != "" {
			line += ", if it is still " + e.Request.IfMatch
		}
		c.entries = append(c.entries, line)
	}
}

// end is the text of what was asked and sent since the last one.
func (c *conversation) end() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	slices.Sort(c.asked)
	text := "asked:\n  " + strings.Join(c.asked, "\n  ") + "\nsent:\n  " + strings.Join(c.entries, "\n  ") + "\n"
	c.asked, c.entries = nil, nil
	return text
}
