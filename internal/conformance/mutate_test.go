//go:build conformance

package conformance

import (
	"bytes"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"testing"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

// mutants is how many faulty requests are made of each scenario.
const mutants = 25

// Whatever is wrong with a request, the service answers: with a resource that
// is valid, or with a refusal that says what is wrong.
func TestFaultyRequests(t *testing.T) {
	url := served(t).FHIR + "/$assess-shoulder"
	client := &http.Client{Timeout: time.Minute}
	google := reader(t)
	answered := map[int]int{}
	for _, file := range scenarios(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		random := rand.New(rand.NewPCG(1, uint64(len(text))))
		for range mutants {
			body, err := fhirtest.Mutant(text, random)
			if err != nil {
				t.Fatal(err)
			}
			status, answer := post(t, client, url, body)
			answered[status]++
			switch {
			case status >= 500 || status < 200 || 300 <= status && status < 400:
				t.Errorf("HTTP %d: %.300s\nto %.2000s", status, answer, body)
			case status >= 400 && !bytes.HasPrefix(answer, []byte(`{"resourceType":"OperationOutcome"`)):
				t.Errorf("HTTP %d without an OperationOutcome: %.300s", status, answer)
			default:
				if _, err := google.UnmarshalR4(answer); err != nil {
					t.Errorf("HTTP %d with an answer that is not valid: %v\nto %.2000s", status, err, body)
				}
			}
		}
	}
	if answered[http.StatusOK] == 0 || len(answered) < 2 {
		t.Errorf("answers by HTTP status: %v; want some of each", answered)
	}
	t.Logf("answers by HTTP status: %v", answered)
}

func post(t *testing.T, client *http.Client, url string, body []byte) (int, []byte) {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	response, err := client.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, answer
}
