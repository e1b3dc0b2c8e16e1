//go:build conformance

package conformance

import (
	"bytes"
	"encoding/json"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
)

// mutants is how many faulty requests are made of each scenario.
const mutants = 60

// Whatever is wrong with a request, the service answers: with a resource that
// is valid, or with a refusal that says what is wrong.
func TestFaultyRequests(t *testing.T) {
	url := served(t) + "/$assess-shoulder"
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
			body := mutant(t, text, random)
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

// mutant changes one to three places of a JSON text.
func mutant(t *testing.T, text []byte, random *rand.Rand) []byte {
	t.Helper()
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	var root any
	if err := decoder.Decode(&root); err != nil {
		t.Fatal(err)
	}
	for range 1 + random.IntN(3) {
		places := placesIn(root)
		mutate(places[random.IntN(len(places))], places, random)
	}
	body, err := json.Marshal(root)
	if err != nil {
		t.Fatal(err)
	}
	return body
}

// place is a member of an object or, without a name, an element of an array.
type place struct {
	name   string
	get    func() any
	set    func(any)
	remove func()
}

// copied is a value of its own, so that no value comes to hold itself.
func copied(node any) any {
	switch v := node.(type) {
	case map[string]any:
		all := make(map[string]any, len(v))
		for name, item := range v {
			all[name] = copied(item)
		}
		return all
	case []any:
		all := make([]any, len(v))
		for i, item := range v {
			all[i] = copied(item)
		}
		return all
	}
	return node
}

// placesIn are all places in a value, in an order that is always the same.
func placesIn(node any) (all []place) {
	switch v := node.(type) {
	case map[string]any:
		names := make([]string, 0, len(v))
		for name := range v {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			all = append(all, place{name, func() any { return copied(v[name]) }, func(x any) { v[name] = x }, func() { delete(v, name) }})
			all = append(all, placesIn(v[name])...)
		}
	case []any:
		for i := range v {
			all = append(all, place{"", func() any { return copied(v[i]) }, func(x any) { v[i] = x }, func() { v[i] = map[string]any{} }})
			all = append(all, placesIn(v[i])...)
		}
	}
	return all
}

// oddities are values that a reader may stumble over.
var oddities = []any{
	nil, "", true, 0, -1, json.Number("1e400"), json.Number("1e-300"), json.Number("0.10"), json.Number("999999999999999999999"),
	"x", "\u0000", "<script>alert(1)</script>", strings.Repeat("a", 10_000), "2026-02-30", "9999-12-31T23:59:59Z", "0001-01-01",
	"Patient/other", "#nowhere", "urn:uuid:00000000-0000-0000-0000-000000000000", "entered-in-error",
	[]any{}, map[string]any{}, []any{nil}, map[string]any{"reference": "Patient/other"}, map[string]any{"value": -3, "comparator": "<"},
}

// mutate makes a fault at a place. Half of the faults keep to FHIR's shapes, so
// that they are met behind the decoder.
func mutate(at place, places []place, random *rand.Rand) {
	alike := slices.DeleteFunc(slices.Clone(places), func(p place) bool { return p.name != at.name })
	switch random.IntN(8) {
	case 0, 1, 2, 3:
		at.set(alike[random.IntN(len(alike))].get())
	case 4:
		at.remove()
	case 5:
		at.set(copied(oddities[random.IntN(len(oddities))]))
	case 6:
		at.set(places[random.IntN(len(places))].get())
	default:
		list, ok := at.get().([]any)
		switch {
		case !ok:
			at.set([]any{at.get()})
		case len(list) > 1 && random.IntN(2) == 0:
			at.set(list[1:])
		case len(list) > 0:
			at.set(append(list, copied(list[random.IntN(len(list))])))
		}
	}
}
