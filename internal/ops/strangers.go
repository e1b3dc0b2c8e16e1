package ops

import (
	"cmp"
	"context"
	"log"
	"log/slog"
	"maps"
	"net"
	"slices"
	"strings"
	"sync"
	"time"
)

// What callers without a token can write into the log. Ours: enough to see each of them
// in quiet times, and with all the others at most a tenth of what waits to be written
// (maxWaiting), so that no flood of theirs drops the lines of who is let in.
const (
	strangerLines = 50               // at once, and
	strangerEvery = time.Second / 10 // one more after each such time
	// strangerSums is how many kinds of strangers are told apart when there are more,
	// and sumEvery how often their numbers are written.
	strangerSums = 50
	sumEvery     = 10 * time.Second
)

// stranger is who was refused, and why.
type stranger struct{ peer, client, denied, operation string }

// strangers keeps the lines of callers who are not let in from filling the log: beyond
// a rate they are added up, and the sums are written. Nothing is lost but the time of
// the single request.
type strangers struct {
	log *slog.Logger

	mu      sync.Mutex
	left    int
	since   time.Time // when left was last raised
	sums    map[stranger]int
	waiting *time.Timer // for the next writing of the sums; nil for none
}

// take reports whether a stranger may have a line of its own, or adds it to the sums.
func (s *strangers) take(who stranger, now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if more := int(now.Sub(s.since) / strangerEvery); more > 0 {
		s.left, s.since = min(s.left+more, strangerLines), now
	}
	if s.left > 0 {
		s.left--
		return true
	}
	if s.sums == nil {
		s.sums = map[stranger]int{}
		s.waiting = time.AfterFunc(sumEvery, s.write)
	}
	if _, known := s.sums[who]; !known && len(s.sums) >= strangerSums {
		who = stranger{peer: "others"}
	}
	s.sums[who]++
	return false
}

// write writes the sums, the greatest first.
func (s *strangers) write() {
	s.mu.Lock()
	sums := s.sums
	if s.waiting != nil {
		s.waiting.Stop()
	}
	s.sums, s.waiting = nil, nil
	s.mu.Unlock()
	order := slices.SortedFunc(maps.Keys(sums), func(a, b stranger) int {
		return cmp.Or(cmp.Compare(sums[b], sums[a]), cmp.Compare(a.peer, b.peer), cmp.Compare(a.client, b.client),
			cmp.Compare(a.denied, b.denied), cmp.Compare(a.operation, b.operation))
	})
	for _, who := range order {
		attrs := append([]slog.Attr{slog.Int("requests", sums[who])}, who.attrs()...)
		s.log.LogAttrs(context.Background(), slog.LevelInfo, "requests summed", attrs...)
	}
}

// attrs are what the log says of a stranger.
func (w stranger) attrs() (attrs []slog.Attr) {
	for _, pair := range [][2]string{{"peer", w.peer}, {"client_id", w.client}, {"denied", w.denied}, {"operation", w.operation}} {
		if pair[1] != "" {
			attrs = append(attrs, slog.String(pair[0], pair[1]))
		}
	}
	return attrs
}

// ServerLog is the log of an HTTP server. It writes of connections that were never a
// request, such as a handshake that failed: the addresses in it are those of strangers.
func (w *Watch) ServerLog() *log.Logger { return log.New(serverLog{w}, "", 0) }

type serverLog struct{ watch *Watch }

// Write writes a line, without an address that the log is not to show.
//
// Source of the form: net/http, "http: TLS handshake error from ADDRESS: REASON".
func (l serverLog) Write(line []byte) (int, error) {
	text, where := strings.TrimSpace(string(line)), ""
	if before, rest, ok := strings.Cut(text, " from "); ok {
		var reason string
		where, reason, _ = strings.Cut(rest, ": ")
		text = before + ": " + reason
		if host, _, err := net.SplitHostPort(where); err == nil {
			text = strings.ReplaceAll(text, host, "(address)")
		}
	}
	who := stranger{peer: l.watch.peers.name(&Call{Peer: where, Denied: "connection"}), denied: "connection"}
	if l.watch.strangers.take(who, time.Now()) {
		l.watch.log.LogAttrs(context.Background(), slog.LevelWarn, text, who.attrs()...)
	}
	return len(line), nil
}
