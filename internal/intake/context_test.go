package intake

import (
	"context"
	"errors"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// endsAfter is a context that ends after it was looked at a number of times.
type endsAfter struct {
	context.Context
	looks *int
}

func (c endsAfter) Err() error {
	if *c.looks--; *c.looks < 0 {
		return context.DeadlineExceeded
	}
	return nil
}

func TestReadingEndsWithItsContext(t *testing.T) {
	many := make([]fhir.Resource, 10*contextCheckInterval)
	for i := range many {
		many[i] = strengthOf("")
	}
	in := Input{Bundle: bundle(many...), Involved: shoulder.Right}
	for _, looks := range []int{0, 1, 5, 9} {
		reading, err := ReadContext(endsAfter{t.Context(), &looks}, in)
		if reading != nil || !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("after %d looks: %v, %v, want the error of the context alone", looks, reading, err)
		}
	}
	none := 0
	if _, err := ReadContext(endsAfter{t.Context(), &none}, Input{Bundle: bundle(strengthOf("")), Involved: shoulder.Right}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a single resource: %v, want the error of the context", err)
	}
	enough := 1000
	if _, err := ReadContext(endsAfter{t.Context(), &enough}, in); err != nil {
		t.Errorf("a context that does not end: %v", err)
	}
}
