package service

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/cdshooks"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/tenant"
	"evenreach.example/internal/wording"
)

// The callers of two clinics, and one of neither, by the tokens that they show. Both clinics call their client alike.
type clinicTokens struct{}

const (
	harbourToken  = "Bearer harbour"
	hillToken     = "Bearer hill"
	strangerToken = "Bearer stranger"
)

func (clinicTokens) Authenticate(_ context.Context, shown auth.Credentials) (auth.Caller, error) {
	name, ok := strings.CutPrefix(strings.Join(shown.Authorization, ","), "Bearer ")
	if !ok {
		return auth.Caller{}, auth.RefuseTenant()
	}
	return auth.Caller{Issuer: "https://id." + name + ".example", Client: "record", MayStore: true}, nil
}

// clinicHooks are they by CDS Hooks.
type clinicHooks struct{}

func (clinicHooks) Authenticate(ctx context.Context, authorization []string, _ string) (auth.Caller, error) {
	return clinicTokens{}.Authenticate(ctx, auth.Credentials{Authorization: authorization})
}

const twoTenants = `
messages: harbour
record: harbour
tenants:
  - {name: harbour, callers: [{issuer: https://id.harbour.example}], auditLabel: Harbour Clinic}
  - {name: hill, callers: [{issuer: https://id.hill.example}]}
`

// ownProtocol is a protocol with its own id.
func ownProtocol(t testing.TB, id string) *protocol.Protocol {
	t.Helper()
	p, err := protocol.Load([]byte(`{"id":"` + id + `","version":"1","symmetry":{"even":{"comparison":">=","value":95,"unit":"%","source":"invented"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// harbourCodes are the codes of the clinic at the harbour.
func harbourCodes(t testing.TB) *intake.CodeMap {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(messages2, "local-codes-in-pounds", "codemap.json"))
	if err != nil {
		t.Fatal(err)
	}
	codes, err := intake.ReadCodeMap(data)
	if err != nil {
		t.Fatal(err)
	}
	return codes
}

// twoClinics are two tenants with nothing in common.
func twoClinics(t testing.TB, file string) Content {
	t.Helper()
	directory, err := tenant.Load([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	return Content{Protocols: Protocols{protocol.Default()}, Tenants: &Tenants{Directory: directory, All: map[string]Tenant{
		"harbour": {AuditLabel: "Harbour Clinic", Protocols: Protocols{ownProtocol(t, "harbour-clinic"), protocol.Default()}, Codes: harbourCodes(t), Words: wording.For("de").InForce(wording.KilogramForce)},
		"hill":    {AuditLabel: "hill", Protocols: Protocols{ownProtocol(t, "hill-clinic"), protocol.Default()}, Words: wording.For("fr").InForce(wording.PoundForce)},
	}}}
}

// startTenants starts a service of two clinics.
func startTenants(t *testing.T, c Config) *harness {
	t.Helper()
	c.MaxConcurrent = 8
	h := startWith(t, c, func(*ops.AuthMetrics, *slog.Logger) Authenticator { return clinicTokens{} })
	h.server.LoadFirst(twoClinics(t, twoTenants))
	h.renew()
	return h
}

// renew makes the handler anew, after a door was opened.
func (h *harness) renew() {
	h.t.Helper()
	var err error
	if h.handler, err = h.server.Handler(); err != nil {
		h.t.Fatal(err)
	}
}

// marks are words of an answer by which clinics are told apart.
var marks = map[string][]string{
	harbourToken: {"harbour-clinic", "kgf", "Schulter"},
	hillToken:    {"hill-clinic", "lbf", "épaule"},
}

// isOf wants an answer to be of one clinic, without a word of the other.
func isOf(t *testing.T, token, how, body string) {
	t.Helper()
	for of, words := range marks {
		for _, word := range words {
			if got := strings.Contains(body, word); got != (of == token) {
				t.Errorf("%s, %s: the answer has %q: %v, want %v: %.300s", token, how, word, got, of == token, body)
			}
		}
	}
}

// Each clinic gets its own answers by every door, while both ask at a time.
func TestTenantsGetTheirOwnAnswers(t *testing.T) {
	h := startTenants(t, Config{Processors: 8}) // nobody is to wait
	h.server.ServeHooks(Hooks{Clients: clinicHooks{}, Fetcher: cdshooks.NewFetcher(nil, http.DefaultTransport)})
	h.server.ServeV2(V2{})
	h.renew()
	client := h.dial()
	doors := map[string]func(token string) string{
		"REST": func(token string) string {
			return h.send("POST", operationPath, text(t, good()), "Authorization", token).Body.String()
		},
		"gRPC": func(token string) string {
			ctx := metadata.AppendToOutgoingContext(t.Context(), "authorization", token)
			answer, err := client.Assess(ctx, &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))})
			if err != nil {
				t.Error(err)
			}
			return bytesOf(t, answer)
		},
		"stream": func(token string) string {
			stream, err := client.AssessStream(metadata.AppendToOutgoingContext(t.Context(), "authorization", token))
			if err == nil {
				err = stream.Send(&evenreachv1.AssessStreamRequest{Request: &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}})
			}
			if err != nil {
				t.Error(err)
				return ""
			}
			_ = stream.CloseSend()
			answer, err := stream.Recv()
			if err != nil {
				t.Error(err)
			}
			return bytesOf(t, answer)
		},
		"batch": func(token string) string {
			b := object{"resourceType": "Bundle", "type": "batch", "entry": []any{object{"resource": good(), "request": object{"method": "POST", "url": "$assess-shoulder"}}}}
			return h.send("POST", "/fhir", text(t, b), "Authorization", token).Body.String()
		},
		"message": func(token string) string {
			return h.send("POST", processMessage, text(t, fhirMessage("m1", "e1")), "Authorization", token).Body.String()
		},
	}
	var group sync.WaitGroup
	for token := range marks {
		group.Go(func() {
			for range 3 {
				for how, ask := range doors {
					isOf(t, token, how, ask(token))
				}
			}
		})
	}
	group.Wait()

	for token, title := range map[string]string{harbourToken: "Schulter", hillToken: "épaule"} {
		cards := h.hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(measuredPrefetch())), "Authorization", token).Body.String()
		results := postMessage(h, []byte(small("1")), "Authorization", token).Body.String()
		for how, body := range map[string]string{"cards": cards, "version 2": results} {
			if !strings.Contains(body, title) {
				t.Errorf("%s, %s: the answer is not in the clinic's language: %.300s", token, how, body)
			}
		}
	}
}

func bytesOf(t *testing.T, m proto.Message) string {
	t.Helper()
	data, err := proto.Marshal(m)
	if err != nil {
		t.Error(err)
	}
	return string(data)
}

// A clinic's own codes are read for it alone.
func TestCodesOfOneTenantMeanNothingToAnother(t *testing.T) {
	h := startTenants(t, Config{})
	local := func(id, code string, value float64) object {
		o := strength(id, right, value, put("code", concept("https://clinic.example/old", code)), noSide)
		delete(o, "component")
		return o
	}
	body := text(t, bundle(patient("p1"), condition(), local("o1", "ER0R", 80), local("o2", "ER0L", 100)))
	if w := h.send("POST", operationPath, body, "Authorization", harbourToken); w.Code != http.StatusOK {
		t.Errorf("to whom the codes are: HTTP %d: %.300s", w.Code, w.Body)
	}
	if w := h.send("POST", operationPath, body, "Authorization", hillToken); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("to whom they are not: HTTP %d, want 422: %.300s", w.Code, w.Body)
	}
}

// What is published is the caller's clinic's, and to who shows no token what is common to all.
func TestTenantsDoNotSeeEachOthersProtocols(t *testing.T) {
	h := startTenants(t, Config{})
	for token, sees := range map[string]map[string]int{
		harbourToken: {"harbour-clinic": 200, "hill-clinic": 404, "evenreach-default": 200},
		hillToken:    {"harbour-clinic": 404, "hill-clinic": 200, "evenreach-default": 200},
		"":           {"harbour-clinic": 401, "hill-clinic": 401, "evenreach-default": 200},
	} {
		headers := []string{"Authorization", token}
		if token == "" {
			headers = nil
		}
		all := h.send("GET", "/fhir/PlanDefinition?_count=50", "", headers...)
		if vary := all.Header().Values("Vary"); !slices.Contains(vary, "Authorization") {
			t.Errorf("%q: a cache is not told that the answer is the caller's: Vary %q", token, vary)
		}
		for id, want := range sees {
			if token == "" && want == 401 {
				want = 403 // of clinicTokens, for who shows nothing
			}
			if w := h.send("GET", "/fhir/PlanDefinition/"+id, "", headers...); w.Code != want {
				t.Errorf("%q: PlanDefinition/%s: HTTP %d, want %d", token, id, w.Code, want)
			}
			if got := strings.Contains(all.Body.String(), `"id":"`+id+`"`); got != (want == 200) {
				t.Errorf("%q: the search finds %s: %v", token, id, got)
			}
			if token == "" {
				continue
			}
			b := object{"resourceType": "Bundle", "type": "batch", "entry": []any{object{"request": object{"method": "GET", "url": "PlanDefinition/" + id}}}}
			if w := h.send("POST", "/fhir", text(t, b), headers...); strings.Contains(w.Body.String(), `"200 OK"`) != (want == 200) {
				t.Errorf("%q: in a batch PlanDefinition/%s: %.200s", token, id, w.Body)
			}
		}
	}
	if w := h.send("GET", "/fhir/metadata", "", "Authorization", strangerToken); w.Code != http.StatusForbidden {
		t.Errorf("a stranger's token: HTTP %d, want 403", w.Code)
	}
}

// Nothing that a caller sends but its token chooses a clinic.
func TestNothingButTheTokenChoosesATenant(t *testing.T) {
	h := startTenants(t, Config{})
	for name, c := range map[string]struct {
		path, body string
		headers    []string
	}{
		"protocol by name":           {operationPath + "?protocol=hill-clinic", text(t, good()), nil},
		"protocol by name, in JSON":  {operationPath, text(t, parameters(object{"name": "bundle", "resource": good()}, parameter("protocol", "valueString", "hill-clinic|1"))), nil},
		"a parameter tenant":         {operationPath + "?tenant=hill", text(t, good()), nil},
		"$apply of another's plan":   {"/fhir/PlanDefinition/hill-clinic/$apply", text(t, parameters(parameter("subject", "valueString", "Patient/p1"), object{"name": "data", "resource": good()})), nil},
		"two tokens":                 {operationPath, text(t, good()), []string{"Authorization", hillToken}},
		"another path":               {"/hill" + operationPath, text(t, good()), nil},
		"headers of proxies (below)": {operationPath, text(t, good()), []string{"X-Tenant", "hill", "X-Forwarded-Host", "hill.example", "X-Scope-OrgID", "hill", "Host", "hill.example"}},
	} {
		r := request(c.body, append([]string{"Authorization", harbourToken}, c.headers...)...)
		r.URL.Path, r.URL.RawQuery, _ = strings.Cut(c.path, "?")
		if name == "two tokens" {
			r.Header["Authorization"] = []string{harbourToken, hillToken}
		}
		w := h.do(r)
		if strings.HasSuffix(name, "(below)") {
			isOf(t, harbourToken, name, w.Body.String())
			continue
		}
		if w.Code < 400 || w.Code >= 500 || strings.Contains(w.Body.String(), "hill-clinic|1,") {
			t.Errorf("%s: HTTP %d, want a refusal: %.300s", name, w.Code, w.Body)
		}
	}
	w := h.send("POST", operationPath+"?protocol=none", text(t, good()), "Authorization", harbourToken)
	if body := w.Body.String(); !strings.Contains(body, "harbour-clinic|1") || strings.Contains(body, "hill-clinic") {
		t.Errorf("the refusal of an unknown protocol names others than the clinic's own: %s", body)
	}
}

// A caller of no tenant is refused by every door, unless one is named for such callers.
func TestCallersOfNoTenant(t *testing.T) {
	h := startTenants(t, Config{})
	h.server.ServeHooks(Hooks{Clients: clinicHooks{}, Fetcher: cdshooks.NewFetcher(nil, http.DefaultTransport)})
	h.renew()
	w := h.send("POST", operationPath, text(t, good()), "Authorization", strangerToken)
	if issues := outcomeOf(t, w.Body.Bytes()); w.Code != http.StatusForbidden || issues[0].kind() != "forbidden" || !strings.Contains(issues[0].Details.Text, "belongs to no tenant") {
		t.Errorf("HTTP %d, %+v; want 403 and the reason", w.Code, issues)
	}
	if w := h.hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(measuredPrefetch())), "Authorization", strangerToken); w.Code != http.StatusForbidden {
		t.Errorf("by CDS Hooks HTTP %d, want 403", w.Code)
	}
	client := h.dial()
	ctx := metadata.AppendToOutgoingContext(t.Context(), "authorization", strangerToken)
	if _, err := client.Assess(ctx, &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}); status.Code(err) != codes.PermissionDenied {
		t.Errorf("by gRPC %v, want PermissionDenied", err)
	}
	if stream, err := client.AssessStream(ctx); err == nil {
		if _, err = stream.Recv(); status.Code(err) != codes.PermissionDenied {
			t.Errorf("by a stream %v, want PermissionDenied", err)
		}
	}
	if got := h.log.String(); !strings.Contains(got, `"denied":"tenant"`) {
		t.Error("the log does not say why")
	}
	if got, want := h.scrape(), `evenreach_token_refusals_total{reason="tenant"} 4`; !strings.Contains(got, want) { // one by each door
		t.Errorf("the metrics do not say %s", want)
	}
	h.server.Load(twoClinics(t, "default: hill\n"+twoTenants))
	if w := h.send("POST", operationPath, text(t, good()), "Authorization", strangerToken); w.Code != http.StatusOK {
		t.Errorf("with a default tenant HTTP %d, want 200", w.Code)
	} else {
		isOf(t, hillToken, "default", w.Body.String())
	}
}

// A stream that was opened before is held against the tenants that there are now.
func TestStreamFollowsTenants(t *testing.T) {
	h := startTenants(t, Config{})
	stream, err := h.dial().AssessStream(metadata.AppendToOutgoingContext(t.Context(), "authorization", hillToken))
	if err != nil {
		t.Fatal(err)
	}
	ask := func() *evenreachv1.AssessStreamResponse {
		t.Helper()
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}}); err != nil {
			t.Fatal(err)
		}
		answer, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		return answer
	}
	isOf(t, hillToken, "stream", bytesOf(t, ask()))
	h.server.Load(twoClinics(t, strings.ReplaceAll(twoTenants, "https://id.hill.example", "https://id.valley.example")))
	if got := ask().GetRefused(); got == nil || codes.Code(got.GetCode()) != codes.PermissionDenied {
		t.Errorf("after its tenant had lost it the caller got %v, want PermissionDenied", got)
	}
	if err := stream.CloseSend(); err != nil {
		t.Error(err)
	}
	if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
		t.Errorf("the stream ends with %v", err)
	}
}

// The same id of a message or an envelope from two clinics is two messages.
func TestMessagesOfTenantsAreApart(t *testing.T) {
	h := startTenants(t, Config{})
	took := &target{}
	h.server.ServeV2(V2{Target: took})
	h.renew()
	for i, token := range []string{harbourToken, hillToken} {
		if w := h.send("POST", processMessage, text(t, fhirMessage(fmt.Sprint("m", i), "e1")), "Authorization", token); w.Code != http.StatusOK {
			t.Errorf("another message of %s in an envelope of the same name: HTTP %d: %.300s", token, w.Code, w.Body)
		}
	}
	if w := h.send("POST", processMessage, text(t, fhirMessage("m2", "e1")), "Authorization", hillToken); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("another message of one clinic in its own envelope: HTTP %d, want 422", w.Code)
	}

	// Of version 2 the target is the harbour's; what the hill sends is answered, and never comes there.
	other := strings.Replace(small("1"), "|80|", "|90|", 1)
	if w := postMessage(h, []byte(small("1")), "Authorization", harbourToken); receiptOf(t, w).Code != "AA" {
		t.Errorf("HTTP %d: %s", w.Code, w.Body)
	}
	if w := postMessage(h, []byte(other), "Authorization", hillToken); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "ORU^R01") {
		t.Errorf("the same control id from another clinic: HTTP %d: %.300s", w.Code, w.Body)
	}
	if w := postMessage(h, []byte(other), "Authorization", harbourToken); w.Code == http.StatusOK {
		t.Errorf("another message of one clinic under its own control id: HTTP %d", w.Code)
	}
	if len(took.taken) != 1 {
		t.Errorf("%d answers came to the harbour's target, want 1", len(took.taken))
	}
	// Over MLLP every message is the owner's.
	reply := string(h.server.handleMLLP(t.Context(), []byte(small("2"))))
	if !strings.Contains(reply, "MSA|AA|2") || len(took.taken) != 2 || !strings.Contains(string(took.taken[1].Transaction()), "harbour-clinic") {
		t.Errorf("over MLLP %q, %d answers handed on", reply, len(took.taken))
	}
	h.server.Load(twoClinics(t, strings.Replace(twoTenants, "messages: harbour", "", 1)))
	if reply := string(h.server.handleMLLP(t.Context(), []byte(small("3")))); !strings.Contains(reply, "MSA|AE") {
		t.Errorf("over MLLP without an owner %q, want a refusal", reply)
	}
}

// The configured record is one clinic's: for the others it is not there.
func TestRecordOfOneTenant(t *testing.T) {
	h := startTenants(t, Config{})
	record := measuredIn(t, "p1")
	h.asking(record)
	for token, want := range map[string]int{harbourToken: http.StatusOK, hillToken: http.StatusNotFound} {
		if w := h.send("GET", "/fhir/Patient/p1/$assess-shoulder", "", "Authorization", token); w.Code != want {
			t.Errorf("%s: HTTP %d, want %d: %.300s", token, w.Code, want, w.Body)
		}
		statement := h.send("GET", "/fhir/metadata", "", "Authorization", token).Body.String()
		if got := strings.Contains(statement, "store-assessment"); got != (want == http.StatusOK) {
			t.Errorf("%s: the CapabilityStatement offers to store: %v", token, got)
		}
	}
	if w := h.send("POST", "/fhir/Patient/p1/$store-assessment", "", "Authorization", hillToken); w.Code != http.StatusNotFound {
		t.Errorf("stored for another clinic: HTTP %d", w.Code)
	}
	if statement := h.send("GET", "/fhir/metadata", "").Body.String(); strings.Contains(statement, "store-assessment") {
		t.Error("who shows no token is told of the record")
	}
}

// What one clinic's client takes is not taken from another's of the same id.
func TestSharesOfTenantsAreApart(t *testing.T) {
	h := startTenants(t, Config{Fairness: Fairness{Rate: 0.001, Burst: 1}})
	want := map[string][]int{harbourToken: {200, 429}, hillToken: {200, 429}}
	for _, token := range []string{harbourToken, hillToken} {
		for _, code := range want[token] {
			if w := h.send("POST", operationPath, text(t, good()), "Authorization", token); w.Code != code {
				t.Errorf("%s: HTTP %d, want %d", token, w.Code, code)
			}
		}
	}
}

// Log, metrics and audit trail name the clinic as it is configured, and nothing of who is none.
func TestTenantsAreObserved(t *testing.T) {
	written := &file{}
	trail := audit.New(audit.Config{To: written, Patients: audit.Pseudonym, Key: []byte(strings.Repeat("k", 32))}, "test", prometheus.NewRegistry())
	t.Cleanup(trail.Close)
	h := startTenants(t, Config{Trail: trail})
	var names []string
	for _, token := range []string{harbourToken, hillToken, strangerToken} {
		h.send("POST", operationPath, text(t, good()), "Authorization", token)
	}
	h.send("POST", operationPath, "{", "Authorization", hillToken)
	for _, line := range written.lines() {
		e := readEvent(t, line)
		names = append(names, e.Source.Site)
		for _, entity := range e.Entity {
			if entity.What.Identifier.Value != "" {
				names = append(names, entity.What.Identifier.Value)
			}
		}
	}
	if len(names) != 4 || names[0] != "Harbour Clinic" || names[2] != "hill" || names[1] == names[3] {
		t.Errorf("the trail names %q; want each clinic with a pseudonym of its own for what both call Patient/p1", names)
	}
	if got := h.log.String(); !strings.Contains(got, `"tenant":"harbour"`) || !strings.Contains(got, `"tenant":"hill"`) {
		t.Error("the log does not name the clinics")
	}
	scrape := h.scrape()
	for _, want := range []string{
		`evenreach_tenant_requests_total{tenant="harbour"} 1`, `evenreach_tenant_requests_total{tenant="hill"} 2`,
		`evenreach_tenant_refusals_total{code="syntax",tenant="hill"} 1`, `evenreach_client_requests_total{client="record",tenant="hill"} 2`,
		`id="hill-clinic",tenant="hill",version="1"} 1`,
	} {
		if !strings.Contains(scrape, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
	if strings.Contains(scrape, "stranger") || strings.Contains(scrape, `tenant=""`) {
		t.Error("/metrics names who belongs to no clinic")
	}
	h.server.Load(Content{Protocols: Protocols{protocol.Default()}})
	if strings.Contains(h.scrape(), "evenreach_tenant_requests_total{") {
		t.Error("the series of clinics that are gone go on")
	}
}

// A certificate tells the clinics of one issuer apart, by its subject.
func TestTenantOfACertificate(t *testing.T) {
	h := startTenants(t, Config{})
	h.server.Load(twoClinics(t, "tenants:\n  - {name: harbour, callers: [{certificate: 'CN=engine,O=Harbour'}]}\n  - {name: hill, callers: [{certificate: 'CN=engine,O=Hill'}]}\n"))
	for organisation, want := range map[string]int{"Harbour": http.StatusOK, "Hill": http.StatusOK, "Valley": http.StatusForbidden} {
		r := request(text(t, good()), "Authorization", strangerToken)
		shown := &x509.Certificate{Subject: pkix.Name{CommonName: "engine", Organization: []string{organisation}}}
		r.TLS = &tls.ConnectionState{VerifiedChains: [][]*x509.Certificate{{shown}}}
		w := h.do(r)
		if w.Code != want {
			t.Errorf("%s: HTTP %d, want %d", organisation, w.Code, want)
		}
		if want == http.StatusOK {
			isOf(t, map[string]string{"Harbour": harbourToken, "Hill": hillToken}[organisation], "certificate", w.Body.String())
		}
		r = request(text(t, good()), "Authorization", strangerToken)
		r.TLS = &tls.ConnectionState{PeerCertificates: []*x509.Certificate{shown}}
		if w := h.do(r); w.Code != http.StatusForbidden {
			t.Errorf("%s, not verified: HTTP %d, want 403", organisation, w.Code)
		}
	}
}
