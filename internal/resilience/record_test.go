//go:build resilience

package resilience

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// record is the receiving record of the conformance tests.
type record struct {
	base   string
	client *http.Client
}

func startRecord(t *testing.T) *record {
	t.Helper()
	command := exec.CommandContext(context.Background(), "node", "../conformance/serve.mjs")
	command.Stderr = os.Stderr
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = command.Process.Kill()
		_ = command.Wait() // it says that it was killed
	})
	base, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the record did not start; it needs what .ci/run resilience installs: %v", err)
	}
	return &record{strings.TrimSpace(base), &http.Client{Timeout: time.Minute}}
}

// post sends a transaction to the record.
func (r *record) post(ctx context.Context, transaction []byte) error {
	answer, err := r.call(ctx, http.MethodPost, "/", transaction)
	if err != nil {
		return err
	}
	var bundle struct {
		Entry []struct{ Response struct{ Status string } }
	}
	if err := json.Unmarshal(answer, &bundle); err != nil {
		return err
	}
	for _, e := range bundle.Entry {
		if !strings.HasPrefix(e.Response.Status, "2") && !strings.HasPrefix(e.Response.Status, "304") {
			return fmt.Errorf("an entry was answered with %q", e.Response.Status)
		}
	}
	return nil
}

func (r *record) call(ctx context.Context, method, path string, body []byte) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, method, r.base+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	answer, err := r.client.Do(request)
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err == nil && answer.StatusCode != http.StatusOK {
		err = fmt.Errorf("the record answers %s %s with %d: %.300s", method, path, answer.StatusCode, text)
	}
	return text, err
}

// page is how many resources the record is asked for at a time.
const page = 500

// holds are how many resources of a type the record holds, and in how many
// versions.
func (r *record) holds(t *testing.T, resourceType string) (resources, versions int) {
	t.Helper()
	for offset := 0; ; offset += page {
		found := r.ids(t, fmt.Sprintf("/%s?_count=%d&_offset=%d", resourceType, page, offset))
		for _, id := range found {
			versions += len(r.ids(t, fmt.Sprintf("/%s/%s/_history", resourceType, id)))
		}
		resources += len(found)
		if len(found) < page {
			return resources, versions
		}
	}
}

// ids are those of the resources in an answer of the record.
func (r *record) ids(t *testing.T, path string) (ids []string) {
	t.Helper()
	text, err := r.call(t.Context(), http.MethodGet, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	var bundle struct {
		Entry []struct{ Resource struct{ ID string } }
	}
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	for _, e := range bundle.Entry {
		ids = append(ids, e.Resource.ID)
	}
	return ids
}
