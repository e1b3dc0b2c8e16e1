package service

import (
	"context"
	"crypto/sha256"
	"sync"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/hl7v2"
)

// maxReceipts is how many acknowledgements are remembered. After more of them, or a restart, a
// message that is sent again is handed on again, which changes nothing at the target.
//
// Source: ours: a busy interface sends this many in a day.
const maxReceipts = 10_000

// receipts remember how messages were acknowledged, so that one that is sent again is answered
// alike, and two copies that come at a time are handed on once.
type receipts struct {
	mu    sync.Mutex
	byKey map[receiptKey]*receipt
	order []receiptKey // of those that are kept, the oldest first
}

// receiptKey names a message: its sender and its control id.
type receiptKey struct{ application, facility, id string }

func keyOf(m *hl7v2.Message) receiptKey {
	h := m.Header()
	return receiptKey{h.Field(3).Text(1), h.Field(4).Text(1), h.Field(10).Text(1)}
}

// receipt is how one message was acknowledged. It may be read once done is closed.
type receipt struct {
	digest [sha256.Size]byte
	done   chan struct{}
	kept   bool
	reply  []byte
	err    error
}

func newReceipts() *receipts { return &receipts{byKey: map[receiptKey]*receipt{}} }

// once answers a message, if the same was not answered before. An answer that asks to
// send the message again is not kept: the next copy is tried anew.
func (r *receipts) once(ctx context.Context, m *hl7v2.Message, data []byte, answer func() ([]byte, error)) ([]byte, error) {
	key, digest := keyOf(m), sha256.Sum256(data)
	for {
		known, first := r.take(key, digest)
		if first {
			r.settle(key, known, answer)
			return known.reply, known.err
		}
		select {
		case <-known.done:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		if known.kept && known.digest != digest {
			return nil, fault.Refuse(fault.Duplicate, m.Header().At(10), "another message came under this control id before; expected a new one")
		}
		if known.kept {
			return known.reply, known.err
		}
	}
}

// take finds the receipt of a key, or makes one and reports true.
func (r *receipts) take(key receiptKey, digest [sha256.Size]byte) (*receipt, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if known := r.byKey[key]; known != nil {
		return known, false
	}
	fresh := &receipt{digest: digest, done: make(chan struct{})}
	r.byKey[key] = fresh
	return fresh, true
}

// settle answers a message and keeps the receipt, or forgets it.
func (r *receipts) settle(key receiptKey, of *receipt, answer func() ([]byte, error)) {
	defer func() {
		r.mu.Lock()
		defer r.mu.Unlock()
		if of.kept {
			r.keep(key)
		} else {
			delete(r.byKey, key)
		}
		close(of.done)
	}()
	of.err = errPanicked // unless the answer returns
	of.reply, of.err = answer()
	of.kept = of.err == nil || !mayPass(of.err)
}

func (r *receipts) keep(key receiptKey) {
	r.order = append(r.order, key)
	if len(r.order) > maxReceipts {
		delete(r.byKey, r.order[0])
		r.order = r.order[1:]
	}
}

// mayPass reports whether the same message may be accepted later.
func mayPass(err error) bool { return edge[refusalOf(err).Kind()].http >= 500 }
