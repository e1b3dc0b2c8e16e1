package service

import (
	"context"
	"sync"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// reply is the buffer that an answer is encoded into. It is reused after the answer was
// written, because it is a third of the memory that a request allocates.
type reply struct{ bytes []byte }

type replyKey struct{}

var replies = sync.Pool{New: func() any { return new(reply) }}

// release returns the buffer to the pool. Nothing may use the answer after it.
func (r *reply) release() {
	if cap(r.bytes) <= maxPooled {
		replies.Put(r)
	}
}

// encode writes a resource into the request's reply, or into memory of its own
// if it has none.
func encode(ctx context.Context, resource fhir.Resource) []byte {
	r, ok := ctx.Value(replyKey{}).(*reply)
	if !ok {
		return fhirjson.Encode(resource)
	}
	r.bytes = fhirjson.AppendResource(r.bytes[:0], resource)
	return r.bytes
}
