package service

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"sync"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/messaging"
	"evenreach.example/internal/record"
)

// envelopes remember which message came in which envelope: another message in the same one is a mistake of its sender.
// That the same message is answered alike needs no memory.
type envelopes struct {
	mu    sync.Mutex
	ids   map[string]string // of messages, by envelope
	order []string          // the oldest first
}

// note notes an envelope, and reports whether it is new or has this message.
func (e *envelopes) note(envelope, id string) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	if known, ok := e.ids[envelope]; ok {
		return known == id
	}
	if e.ids == nil {
		e.ids = map[string]string{}
	}
	e.ids[envelope] = id
	if e.order = append(e.order, envelope); len(e.order) > maxReceipts {
		delete(e.ids, e.order[0])
		e.order = e.order[1:]
	}
	return true
}

// processMessage answers a message of FHIR by another.
func (s *Server) processMessage(ctx context.Context, call operationCall) ([]byte, error) {
	header, err := messaging.Read(call.body)
	if err != nil {
		return nil, err
	}
	q, err := messageRequest(call.body, header)
	if err != nil {
		return nil, err
	}
	answer, err := s.compute(ctx, q)
	if err != nil {
		return nil, err
	}
	if !s.envelopes.of(s.served(ctx).name).note(header.Envelope, header.ID) {
		return nil, fault.Refuse(fault.Duplicate, "Bundle.identifier", "another message came in this envelope before; expected a new identifier")
	}
	digest := sha256.Sum256(call.body)
	return messaging.Respond(header, digest[:], answer.Bundle, messaging.Sender{Base: cmp.Or(call.base, "urn:evenreach"), Version: s.pipelineOf(ctx).Version})
}

// messageRequest is the request that a message makes: its resources, or its Parameters.
func messageRequest(body []byte, header *messaging.Header) (Request, error) {
	q, err := Decode(body)
	if err != nil {
		return Request{}, err
	}
	if header.Operation {
		p, i := messaging.Parameters(q.Bundle)
		if p == nil {
			return Request{}, fault.Refuse(fault.RequiredMissing, "Bundle.entry", "expected Parameters, which the event asks for")
		}
		place := fmt.Sprintf("Bundle.entry[%d].resource", i)
		q = fromParameters(p)
		q.Size = len(body)
		q.Place = func(path string) string { return messaging.Under(place, path) }
		q.locate(q.Problems)
		if q.Output == record.Check {
			return Request{}, fault.Refuse(fault.BadParameter, place, "output: expected results, because a message is answered by a message")
		}
	}
	q.Output = record.Collection
	return q, nil
}
