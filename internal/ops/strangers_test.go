package ops

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/protocol"
)

// line is a line of the log, as an operator reads it.
type line struct {
	Msg, Peer, Denied, Operation string
	Client                       string `json:"client_id"`
	Requests                     int
}

// lines reads a log.
func lines(t *testing.T, log *bytes.Buffer) (all []line) {
	t.Helper()
	for text := range bytes.Lines(log.Bytes()) {
		var l line
		if err := json.Unmarshal(text, &l); err != nil {
			t.Fatal(err)
		}
		all = append(all, l)
	}
	return all
}

// watchingPeers is a Watch and its log.
func watchingPeers(way PeerLog) (*Watch, *bytes.Buffer) {
	var log bytes.Buffer
	w := NewWatch(NewMetrics(prometheus.NewRegistry(), "test", []*protocol.Protocol{protocol.Default()}), NewLogger(&log, 0))
	w.LogPeers(way)
	return w, &log
}

// call records a request.
func call(w *Watch, change func(*Call)) {
	_, c := w.Begin(context.Background(), HTTP, "id", "route")
	change(c)
	w.EndHTTP(c, http.MethodPost, http.StatusOK)
}

// However many strangers there are, the log has a line of each caller who was let in,
// few of theirs, and the number of all.
func TestAFloodOfStrangersDoesNotFillTheLog(t *testing.T) {
	const flood = 20_000
	w, log := watchingPeers(PeerRefused)
	for n := range flood {
		call(w, func(c *Call) {
			c.Denied, c.Peer = "no-token", "203.0.113."+string(rune('1'+n%9))+":4000"
			if n%3 == 0 {
				c.Denied, c.Client = "scope", "record"
			}
		})
		if n%1000 == 0 {
			call(w, func(c *Call) { c.Client, c.Peer = "record", "198.51.100.1:5000" })
		}
	}
	w.Close()
	single, summed, admitted, rows := 0, 0, 0, 0
	for _, l := range lines(t, log) {
		switch {
		case l.Requests > 0:
			summed += l.Requests
			rows++
			if l.Denied == "scope" && l.Client != "record" || !strings.HasPrefix(l.Peer, "203.0.113.") {
				t.Errorf("a sum of %+v, want the client and the address", l)
			}
		case l.Denied != "":
			single++
		case l.Client == "record":
			admitted++
		}
	}
	if single+summed != flood || admitted != flood/1000 {
		t.Errorf("%d single and %d summed lines of %d strangers, %d of %d callers who were let in", single, summed, flood, admitted, flood/1000)
	}
	if single > 1000 || rows > 18 {
		t.Errorf("%d lines and %d sums of strangers, want few", single, rows)
	}
}

// Strangers of ever new addresses are added up among others.
func TestStrangersOfManyAddresses(t *testing.T) {
	w, log := watchingPeers(PeerRefused)
	for n := range 5000 {
		call(w, func(c *Call) {
			c.Denied, c.Peer = "no-token", "10.0."+string(rune('0'+n%10))+"."+strings.Repeat("1", 1+n%3)+":"+"1"
			c.Operation = strings.Repeat("x", n%100)
		})
	}
	w.Close()
	rows, all := 0, 0
	for _, l := range lines(t, log) {
		if l.Requests > 0 {
			rows++
		}
		all += max(l.Requests, 1)
	}
	if rows > strangerSums+1 || all != 5000 {
		t.Errorf("%d sums of %d requests, want at most %d of 5000", rows, all, strangerSums+1)
	}
}

func TestHowPeersAreNamed(t *testing.T) {
	const address = "192.0.2.7"
	admitted := func(c *Call) { c.Client, c.Peer = "record", address+":4000" }
	refused := func(c *Call) { c.Denied, c.Peer = "no-token", address+":4001" }
	tests := []struct {
		way               PeerLog
		admitted, refused string // address, pseudonym or empty
	}{
		{PeerRefused, "pseudonym", "address"},
		{PeerAddress, "address", "address"},
		{PeerPseudonym, "pseudonym", "pseudonym"},
		{PeerNone, "", ""},
	}
	for _, tt := range tests {
		t.Run(string(tt.way), func(t *testing.T) {
			w, log := watchingPeers(tt.way)
			call(w, admitted)
			call(w, refused)
			w.ServerLog().Print("http: TLS handshake error from " + address + ":4002: read tcp " + address + ":4002: reset")
			got := lines(t, log)
			for i, want := range []string{tt.admitted, tt.refused, tt.refused} {
				kind := got[i].Peer
				switch {
				case kind == address:
					kind = "address"
				case strings.HasPrefix(kind, "pseudonym-"):
					kind = "pseudonym"
				}
				if kind != want {
					t.Errorf("line %d names %q, want %q", i, got[i].Peer, want)
				}
			}
			if tt.refused != "address" && strings.Contains(log.String(), address) {
				t.Errorf("the log shows the address: %s", log)
			}
		})
	}
}

// A pseudonym is that of one address within a process, and nobody can compute it.
func TestPseudonyms(t *testing.T) {
	one, other := newPeers(PeerPseudonym), newPeers(PeerPseudonym)
	at := func(address string) *Call { return &Call{Peer: address} }
	if one.name(at("192.0.2.7:1")) != one.name(at("192.0.2.7:2")) {
		t.Error("two connections of one address have two pseudonyms")
	}
	if one.name(at("192.0.2.7:1")) == one.name(at("192.0.2.8:1")) {
		t.Error("two addresses have one pseudonym")
	}
	if one.name(at("192.0.2.7:1")) == other.name(at("192.0.2.7:1")) {
		t.Error("two processes give the same pseudonym")
	}
}
