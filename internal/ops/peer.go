package ops

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"net"
)

// PeerLog says how the log names the address that a request came from. It may be that
// of a person's workstation, and so is personal data; who looks for an intruder needs
// it all the same.
type PeerLog string

// The ways to name an address.
const (
	// PeerRefused shows the address of callers who are not let in, and a pseudonym of
	// the others, whom their client id names.
	PeerRefused PeerLog = "refused"
	// PeerAddress shows every address.
	PeerAddress PeerLog = "address"
	// PeerPseudonym shows a pseudonym of every address.
	PeerPseudonym PeerLog = "pseudonym"
	// PeerNone shows nothing.
	PeerNone PeerLog = "none"
)

// PeerLogs lists the ways, the usual one first.
var PeerLogs = []PeerLog{PeerRefused, PeerAddress, PeerPseudonym, PeerNone}

// peers names addresses.
type peers struct {
	way PeerLog
	key []byte // of the pseudonyms, drawn anew by each process: nobody can compute them
}

func newPeers(way PeerLog) peers {
	key := make([]byte, sha256.Size)
	_, _ = rand.Read(key) // it never fails
	return peers{way, key}
}

// name is what the log calls the address of a call; empty for nothing.
func (p peers) name(c *Call) string {
	host, _, err := net.SplitHostPort(c.Peer)
	switch {
	case err != nil || p.way == PeerNone || p.way == "":
		return ""
	case p.way == PeerAddress, p.way == PeerRefused && c.Denied != "":
		return host
	}
	sum := hmac.New(sha256.New, p.key)
	sum.Write([]byte(host))
	return "pseudonym-" + hex.EncodeToString(sum.Sum(nil)[:6])
}
