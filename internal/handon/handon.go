// Package handon hands an answer on to the system that is configured for it: a FHIR record, by a
// transaction, or a receiver of HL7 version 2, by a message over MLLP.
package handon

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/mllp"
)

// An Answer is what is handed on, in the two forms. Handing it on again changes nothing: the
// transaction creates what is not there yet, and the message has the same control id.
type Answer struct {
	Transaction func() []byte // a FHIR Bundle in JSON
	Results     func() []byte // ORU^R01
}

// A Target is where answers go. After an error the answer may be there or not.
type Target interface {
	HandOn(ctx context.Context, a Answer) error
	// Kind is "fhir" or "mllp", for metrics.
	Kind() string
}

// ErrRefused says that the target does not take the answer, and would not take it later either.
var ErrRefused = errors.New("the target refused the answer")

// timeout bounds one attempt.
//
// Source: common practice; senders wait some 30 seconds for an acknowledgement.
const timeout = 20 * time.Second

// Record is a FHIR server.
type Record struct{ client *fhirclient.Client }

// NewRecord returns the record that a client asks.
func NewRecord(client *fhirclient.Client) *Record { return &Record{client} }

// Kind implements Target.
func (r *Record) Kind() string { return "fhir" }

// HandOn posts the transaction. A condition in it that is not met is final: the same transaction never meets it.
func (r *Record) HandOn(ctx context.Context, a Answer) error {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	err := r.client.Store(ctx, a.Transaction())
	if errors.Is(err, fhirclient.ErrRefused) || errors.Is(err, fhirclient.ErrPrecondition) {
		return fmt.Errorf("%w: %w", ErrRefused, err)
	}
	return err
}

// Receiver is a system that takes messages over MLLP.
type Receiver struct{ client *mllp.Client }

// NewReceiver returns the receiver at an address, which is reached by a dialer.
func NewReceiver(address string, dialer mllp.Dialer) *Receiver {
	return &Receiver{mllp.NewClient(address, dialer)}
}

// Kind implements Target.
func (r *Receiver) Kind() string { return "mllp" }

// HandOn sends the results, and waits until they are acknowledged.
//
// Source: HL7 version 2.9, tables 0008: AA and CA accept, AE and CE refuse what was sent,
// AR and CR may pass.
func (r *Receiver) HandOn(ctx context.Context, a Answer) error {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	message := a.Results()
	reply, err := r.client.Send(ctx, message)
	if err != nil {
		return err
	}
	m, err := hl7v2.Parse(reply)
	if err != nil {
		return errors.New("the target's reply is no message")
	}
	receipt, ok := hl7v2.ReadReceipt(m)
	if sent, err := hl7v2.Parse(message); !ok || err != nil || receipt.ID != sent.Header().Field(10).Text(1) {
		return errors.New("the target acknowledged another message")
	}
	switch receipt.Code {
	case hl7v2.Accepted, "CA":
		return nil
	case hl7v2.Failed, "CE":
		return fmt.Errorf("%w: %s", ErrRefused, receipt.Code)
	}
	return errors.New("the target rejected the answer for now")
}
