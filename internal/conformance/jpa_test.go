//go:build record

package conformance

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// recordServer runs HAPI FHIR's record server, empty, until the test ends, and
// returns a client of it.
func recordServer(t *testing.T) store {
	t.Helper()
	if _, err := exec.LookPath("mvn"); err != nil {
		t.Fatal("Maven is not installed: ", err)
	}
	var problems bytes.Buffer
	command := exec.Command("mvn", "--batch-mode", "--quiet", "--file", "jpa", "-Dbuilt="+t.TempDir(), "compile", "exec:java")
	command.Env = append(os.Environ(), "MAVEN_OPTS=-XX:TieredStopAtLevel=1 -XX:+UseSerialGC") // starts in half the time
	command.Stderr = &problems
	alive, err := command.StdinPipe() // its end is what stops the server
	if err != nil {
		t.Fatal(err)
	}
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = alive.Close()
		_ = command.Wait() // it was told to stop
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, address, served := strings.Cut(lines.Text(), "http://"); served {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return store{t, "http://" + address}
		}
	}
	t.Fatalf("the record does not start: %.2000s", problems.String())
	return store{}
}

// resource is a FHIR resource, or an element of one, as JSON.
type resource = map[string]any

// store is a FHIR server by its base address.
type store struct {
	t    *testing.T
	base string
}

var patient = &http.Client{Timeout: 3 * time.Minute}

// call sends a request, whose path may be a whole address, and returns the
// status and the resource of the answer.
func (s store) call(method, path string, body any, headers ...string) (int, resource) {
	s.t.Helper()
	if !strings.HasPrefix(path, "http") {
		path = s.base + "/" + path
	}
	var sent bytes.Buffer
	if body != nil {
		if err := json.NewEncoder(&sent).Encode(body); err != nil {
			s.t.Fatal(err)
		}
	}
	request, err := http.NewRequestWithContext(s.t.Context(), method, path, &sent)
	if err != nil {
		s.t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	for i := 0; i < len(headers); i += 2 {
		request.Header.Set(headers[i], headers[i+1])
	}
	response, err := patient.Do(request)
	if err != nil {
		s.t.Fatal(err)
	}
	defer func() { _ = response.Body.Close() }()
	var answer resource
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		s.t.Fatalf("%s %s: HTTP %d: %v", method, path, response.StatusCode, err)
	}
	return response.StatusCode, answer
}

// done is call for what must succeed.
func (s store) done(method, path string, body any, headers ...string) resource {
	s.t.Helper()
	status, answer := s.call(method, path, body, headers...)
	if status/100 != 2 {
		s.t.Fatalf("%s %s: HTTP %d: %.1000s", method, path, status, asText(answer))
	}
	return answer
}

// search returns what a search finds, of all its pages.
func (s store) search(kind string, parameters ...string) (found []resource) {
	s.t.Helper()
	for next := query(kind, parameters...); next != ""; {
		var page []resource
		page, next = s.page(next)
		found = append(found, page...)
	}
	return found
}

// page returns one page of what a search finds, and where the next one is.
func (s store) page(address string) (found []resource, next string) {
	s.t.Helper()
	page := s.done("GET", address, nil)
	for _, e := range list(page["entry"]) {
		found = append(found, e["resource"].(resource))
	}
	for _, link := range list(page["link"]) {
		if link["relation"] == "next" {
			next = link["url"].(string)
		}
	}
	return found, next
}

// query is a search by pairs of a parameter and its value.
func query(kind string, parameters ...string) string {
	values := url.Values{}
	for i := 0; i < len(parameters); i += 2 {
		values.Add(parameters[i], parameters[i+1])
	}
	return kind + "?" + values.Encode()
}

// count is how many resources of a type there are.
func (s store) count(kind string) float64 {
	s.t.Helper()
	return s.done("GET", kind+"?_summary=count", nil)["total"].(float64)
}

// update stores a changed resource if nobody else has changed it.
func (s store) update(r resource) resource {
	s.t.Helper()
	version := r["meta"].(resource)["versionId"].(string)
	return s.done("PUT", addressOf(r), r, "If-Match", `W/"`+version+`"`)
}

func addressOf(r resource) string { return r["resourceType"].(string) + "/" + r["id"].(string) }

// list is an array of elements, or nothing.
func list(value any) (elements []resource) {
	all, _ := value.([]any)
	for _, e := range all {
		elements = append(elements, e.(resource))
	}
	return elements
}

func asText(value any) string {
	text, _ := json.Marshal(value)
	return string(text)
}
