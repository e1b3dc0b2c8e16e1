package service

import (
	"context"
	"sync"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// reply is what an answer is encoded into. It is used again once the answer is
// written, or copied into its message: a new one for each answer would be a
// third of all the memory that a request allocates.
type reply struct{ bytes []byte }

type replyKey struct{}

var replies = sync.Pool{New: func() any { return new(reply) }}

// release gives the memory back. Nothing may use the answer after it.
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
