package ops

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
)

// However many clients there are, and whatever they are called, the series are few.
func TestSeriesOfClientsAreBounded(t *testing.T) {
	registry := prometheus.NewRegistry()
	watch := NewWatch(NewMetrics(registry, "test", nil), slog.New(slog.DiscardHandler))
	for _, client := range append([]string{strings.Repeat("é", 1000), "\xff", ""}, many(200)...) {
		_, call := watch.Begin(context.Background(), HTTP, "id", "route")
		call.Client = client
		watch.EndHTTP(call, http.MethodPost, http.StatusOK)
	}
	_, call := watch.Begin(context.Background(), HTTP, "id", "route")
	call.Client, call.Denied = "refused", "scope"
	watch.EndHTTP(call, http.MethodPost, http.StatusForbidden)
	_, text := get(t, Admin(registry, NewHealth()), "/metrics")
	if got := strings.Count(text, "evenreach_client_requests_total{"); got != maxClients+1 {
		t.Errorf("%d series, want %d and other", got, maxClients)
	}
	if strings.Contains(text, `client="refused"`) || !strings.Contains(text, fmt.Sprintf(`evenreach_client_requests_total{client="other",tenant=""} %d`, 202-maxClients)) {
		t.Error("a client that was not let in has a series, or the others are not counted together")
	}
}

func many(n int) (names []string) {
	for i := range n {
		names = append(names, fmt.Sprint("client-", i))
	}
	return names
}
