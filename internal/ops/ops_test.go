package ops

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/health/grpc_health_v1"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// get asks the admin port.
func get(t *testing.T, h http.Handler, path string) (int, string) {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil))
	return w.Code, w.Body.String()
}

func watching() (*Watch, *prometheus.Registry, *bytes.Buffer) {
	registry, log := prometheus.NewRegistry(), &bytes.Buffer{}
	metrics := NewMetrics(registry, "1.2.3", []*protocol.Protocol{protocol.Default()})
	return NewWatch(metrics, NewLogger(log, slog.LevelInfo)), registry, log
}

func TestReadinessFollowsTheDrainAndLivenessDoesNot(t *testing.T) {
	const service = "some.Service"
	h := NewHealth(service)
	admin := Admin(prometheus.NewRegistry(), h)
	steps := []struct {
		name   string
		do     func()
		ready  int
		status grpc_health_v1.HealthCheckResponse_ServingStatus
	}{
		{"before serving", func() {}, 503, grpc_health_v1.HealthCheckResponse_NOT_SERVING},
		{"serving", func() { h.Serve(true) }, 200, grpc_health_v1.HealthCheckResponse_SERVING},
		{"nobody can be let in", func() { h.Serve(false) }, 503, grpc_health_v1.HealthCheckResponse_NOT_SERVING},
		{"serving again", func() { h.Serve(true) }, 200, grpc_health_v1.HealthCheckResponse_SERVING},
		{"draining", h.Drain, 503, grpc_health_v1.HealthCheckResponse_NOT_SERVING},
		{"no way back", func() { h.Serve(true) }, 503, grpc_health_v1.HealthCheckResponse_NOT_SERVING},
	}
	for _, step := range steps {
		step.do()
		if code, _ := get(t, admin, "/readyz"); code != step.ready {
			t.Errorf("%s: /readyz says %d, want %d", step.name, code, step.ready)
		}
		if code, _ := get(t, admin, "/livez"); code != 200 {
			t.Errorf("%s: /livez says %d, want 200: the kubelet would kill it", step.name, code)
		}
		for _, name := range []string{"", service} {
			answer, err := h.GRPC().Check(context.Background(), &grpc_health_v1.HealthCheckRequest{Service: name})
			if err != nil || answer.GetStatus() != step.status {
				t.Errorf("%s: health of %q is %v, %v, want %v", step.name, name, answer.GetStatus(), err, step.status)
			}
		}
	}
}

func TestAdminHasNothingElse(t *testing.T) {
	admin := Admin(prometheus.NewRegistry(), NewHealth())
	for _, path := range []string{"/", "/debug/pprof/", "/metrics/x"} {
		if code, _ := get(t, admin, path); code != http.StatusNotFound {
			t.Errorf("%s says %d, want 404", path, code)
		}
	}
}

func TestMetricsAreOnTheRegistryThatIsServed(t *testing.T) {
	watch, registry, _ := watching()
	_, call := watch.Begin(context.Background(), GRPC, "id", "/some.Service/Method")
	call.Assessed("p|1", someFindings(), 12, []fault.Issue{{Severity: fault.Warning, Kind: fault.UnitAlias}})
	_, during := get(t, Admin(registry, NewHealth()), "/metrics")
	watch.End(call, codes.OK)
	_, after := get(t, Admin(registry, NewHealth()), "/metrics")
	if want := `evenreach_requests_in_flight{door="grpc"} 1`; !strings.Contains(during, want) {
		t.Errorf("while it is answered /metrics does not say %s", want)
	}
	for _, want := range []string{
		`evenreach_requests_in_flight{door="grpc"} 0`,
		`evenreach_assessments_total{status="limited-by-pain"} 1`,
		`evenreach_red_flags_total{code="pain-surge"} 1`,
		`evenreach_red_flags_total{code="range-loss"} 0`, // it was examined
		`evenreach_red_flags_total{code="cannot-lift"} 0`,
		`evenreach_doubts_total{code="trials-disagree"} 1`, // an assessment, of whose tests two are in doubt
		`evenreach_doubts_total{code="comparison-side-declined"} 0`,
		`evenreach_assessments_total{status="strengthening"} 0`,
		`evenreach_input_issues_total{code="unit-alias",severity="warning"} 1`,
		`evenreach_build_info{version="1.2.3"} 1`,
	} {
		if !strings.Contains(after, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
}

// someFindings is an assessment with a red flag that holds, one that was examined,
// and two tests in doubt.
func someFindings() *readiness.Readiness {
	doubt := &measure.DoubtFound{Doubt: measure.TrialsDisagree}
	return &readiness.Readiness{
		Overall: readiness.LimitedByPain,
		Flags:   []redflag.Flag{{Code: redflag.PainSurge}, {Code: redflag.RangeLoss, Examined: &shoulder.Statement{}}},
		Doubts:  []*measure.DoubtFound{doubt, doubt},
	}
}

// The objective's share is asked of these series; see deploy/monitoring/prometheusrule.yaml.
func TestFailuresOfTheServiceAreCountedFromZero(t *testing.T) {
	_, registry, _ := watching()
	_, metrics := get(t, Admin(registry, NewHealth()), "/metrics")
	for _, code := range []string{"internal", "timeout", "unavailable"} {
		if want := `evenreach_refusals_total{code="` + code + `"} 0`; !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s before any request", want)
		}
	}
}

// Each doubt has its place in the list.
func TestEveryDoubtIsCounted(t *testing.T) {
	for i, d := range doubts {
		if int(d) != i {
			t.Errorf("%s stands at %d, want %d", d, i, d)
		}
	}
	if int(measure.ComparisonDeclined)+1 != len(doubts) {
		t.Errorf("%d doubts are counted, want all", len(doubts))
	}
}

func TestInventedMethodsAreOneLabel(t *testing.T) {
	watch, registry, log := watching()
	_, call := watch.Begin(context.Background(), HTTP, "id", "route")
	watch.EndHTTP(call, "JANE-DOE", 405)
	_, metrics := get(t, Admin(registry, NewHealth()), "/metrics")
	if want := `evenreach_http_requests_total{code="405",method="other",operation="route"} 1`; !strings.Contains(metrics, want) {
		t.Errorf("/metrics does not say %s", want)
	}
	if strings.Contains(metrics+log.String(), "JANE") {
		t.Error("an invented method is told")
	}
}

func TestLevelsOfTheLog(t *testing.T) {
	tests := []struct {
		kind fault.Kind
		want string
	}{
		{fault.Internal, "ERROR"},
		{fault.Unavailable, "WARN"},
		{fault.Timeout, "WARN"},
		{fault.Syntax, "INFO"},
	}
	for _, tt := range tests {
		watch, _, log := watching()
		_, call := watch.Begin(context.Background(), HTTP, "id", "route")
		call.Refused(fault.Refuse(tt.kind, "", ""))
		watch.EndHTTP(call, http.MethodPost, 500)
		if !strings.Contains(log.String(), `"level":"`+tt.want+`"`) {
			t.Errorf("a refusal of kind %v is logged as %s, want level %s", tt.kind, log, tt.want)
		}
	}
}

func TestDefectsQuoteNoInput(t *testing.T) {
	watch, _, log := watching()
	ctx, _ := watch.Begin(context.Background(), HTTP, "visit-17", "route")
	watch.Defect(ctx, errors.New("canary"))
	watch.Defect(ctx, &fault.Errors{Issues: []fault.Issue{{Detail: "the encoder failed", Diagnostic: "canary"}}})
	watch.Panicked(ctx, "canary")
	if strings.Contains(log.String(), "canary") {
		t.Errorf("the log quotes what may be input: %s", log)
	}
	for _, want := range []string{"visit-17", "*errors.errorString", "the encoder failed", "TestDefectsQuoteNoInput"} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("the log does not say %s: %s", want, log)
		}
	}
}

func TestRuntimePanicsAreTold(t *testing.T) {
	watch, _, log := watching()
	func() {
		defer func() { watch.Panicked(context.Background(), recover()) }()
		var none []int
		_ = none[len(log.String())]
	}()
	if !strings.Contains(log.String(), "index out of range") {
		t.Errorf("the log does not say what the panic was: %s", log)
	}
}

func TestCallWithoutARequest(t *testing.T) {
	CallFrom(context.Background()).Refused(fault.Refuse(fault.Syntax, "", "")) // nobody hears of it, and nothing breaks
}
