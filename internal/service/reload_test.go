package service

import (
	"net/http"
	"strings"
	"sync"
	"testing"

	"evenreach.example/internal/protocol"
)

// Requests are answered while protocols are replaced, each by one of them, and what is published is
// of those that decide.
func TestLoadWhileRequestsAreAnswered(t *testing.T) {
	own, err := protocol.Load([]byte(`{"id":"harbour-clinic","version":"2","symmetry":{"even":{"comparison":">=","value":95,"unit":"%","source":"invented"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	h := start(t)
	standard := protocol.Default()
	var group sync.WaitGroup
	done := make(chan struct{})
	group.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-done:
				return
			default:
			}
			h.server.Load(Content{Protocols: Protocols{Protocols{own, standard}[i%2]}})
		}
	})
	for range 20 {
		w := h.do(request(text(t, good())))
		ours, theirs := strings.Contains(w.Body.String(), "harbour-clinic"), strings.Contains(w.Body.String(), standard.ID)
		if w.Code != http.StatusOK || ours == theirs {
			t.Errorf("HTTP %d by the clinic's protocol: %v, by the built-in one: %v; want one of them", w.Code, ours, theirs)
		}
	}
	close(done)
	group.Wait()
	h.server.Load(Content{Protocols: Protocols{own}})
	if plan := h.find("/fhir/PlanDefinition?_count=50"); len(plan.Entry) == 0 {
		t.Error("no PlanDefinition is published")
	}
	if w := h.do(request(text(t, good()))); !strings.Contains(w.Body.String(), "harbour-clinic") {
		t.Error("the last protocol does not decide")
	}
	if got := h.scrape(); strings.Count(got, "evenreach_protocol_info{") != 1 || !strings.Contains(got, `id="harbour-clinic",version="2"} 1`) {
		t.Errorf("/metrics does not tell of the one that decides")
	}
}
