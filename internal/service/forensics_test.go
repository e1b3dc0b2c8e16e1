package service

import (
	"encoding/json"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth/authtest"
)

// requestLine is a line of the log about a request.
type requestLine struct {
	Msg, Door, Denied, Peer string
	Client                  string `json:"client_id"`
}

// requestLines are the lines about requests so far.
func (h *harness) requestLines() (all []requestLine) {
	h.t.Helper()
	for text := range strings.Lines(h.log.String()) {
		var l requestLine
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			h.t.Fatal(err)
		}
		if l.Msg == "request" {
			all = append(all, l)
		}
	}
	return all
}

// Who was refused, and from where, stands in the log: the client if the issuer vouches
// for it, and not otherwise, for anybody can write a name into a token.
func TestLogTellsWhoWasRefused(t *testing.T) {
	forged := authtest.New(issuerName).With(map[string]any{"client_id": "forged"}).Sign(t)
	tests := []struct {
		name, token, denied, client string
	}{
		{"scope that is too small", authtest.New(issuerName).With(map[string]any{"scope": "system/Patient.rs"}).Sign(t), "scope", authtest.ClientID},
		{"another client", authtest.New(issuerName).With(map[string]any{"client_id": "other"}).Sign(t), "client", "other"},
		{"expired", authtest.New(issuerName).With(map[string]any{"exp": 1}).Sign(t), "expired", authtest.ClientID},
		{"another audience", authtest.New(issuerName).With(map[string]any{"aud": "https://other.example"}).Sign(t), "audience", authtest.ClientID},
		{"signature that does not verify", forged[:len(forged)-8] + "AAAAAAAA", "signature", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := guarded(t)
			r := request(text(t, good()), "Authorization", "Bearer "+tt.token)
			r.RemoteAddr = "203.0.113.9:4000"
			h.do(r)
			got := h.requestLines()
			if len(got) != 1 || got[0].Denied != tt.denied || got[0].Client != tt.client || got[0].Peer != "203.0.113.9" {
				t.Errorf("the log says %+v, want denied %q, client %q and the address", got, tt.denied, tt.client)
			}
		})
	}
}

// Each line of a caller who is let in, by every door, names the peer by a pseudonym.
func TestEveryLineHasAPeer(t *testing.T) {
	h := guarded(t)
	token := authtest.New(issuerName).Sign(t)
	r := request(text(t, good()), "Authorization", "Bearer "+token, "X-Forwarded-For", "198.51.100.7")
	r.RemoteAddr = "203.0.113.9:4000"
	h.do(r)
	conn, err := grpc.NewClient(h.serveGRPC(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	ctx := metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+token)
	if _, err := evenreachv1.NewAssessmentServiceClient(conn).AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(text(t, good()))}); err != nil {
		t.Fatal(err)
	}
	stream, err := evenreachv1.NewAssessmentServiceClient(conn).AssessStream(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{}); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	h.eventually(`evenreach_answer_duration_seconds_count{door="stream"} 1`)
	doors := map[string]bool{}
	for _, l := range h.requestLines() {
		doors[l.Door] = true
		if !strings.HasPrefix(l.Peer, "pseudonym-") {
			t.Errorf("by %s: peer %q, want a pseudonym", l.Door, l.Peer)
		}
	}
	if len(doors) != 3 {
		t.Errorf("lines of the doors %v, want three", doors)
	}
	if log := h.log.String(); strings.Contains(log, "203.0.113.9") || strings.Contains(log, "198.51.100.7") {
		t.Errorf("the log shows an address: %s", log)
	}
}
