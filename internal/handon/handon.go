// Package handon hands an answer on to the system that is configured for it: a FHIR record, by a
// transaction, or a receiver of HL7 version 2, by a message over MLLP.
package handon

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

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

// ErrRefused is an answer that the target does not take, whenever it is sent.
var ErrRefused = errors.New("the target refused the answer")

// timeout bounds one attempt.
//
// Source: common practice; senders wait some 30 seconds for an acknowledgement.
const timeout = 20 * time.Second

// maxAnswer bounds what is read of a record's answer, in bytes; what matters is its status.
const maxAnswer = 64 << 10

// Record is a FHIR server.
type Record struct {
	base      string
	tokenFile string // read for each answer, because tokens are renewed; empty for none
	client    *http.Client
}

// NewRecord returns the record with a base address, which is asked by a transport. Redirects are not
// followed: an answer about a patient goes to the configured address and no other.
func NewRecord(base, tokenFile string, transport http.RoundTripper) *Record {
	return &Record{base: base, tokenFile: tokenFile, client: &http.Client{
		Transport:     transport,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// Kind implements Target.
func (r *Record) Kind() string { return "fhir" }

// HandOn posts the transaction.
func (r *Record) HandOn(ctx context.Context, a Answer) error {
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, r.base, bytes.NewReader(a.Transaction()))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/fhir+json; charset=utf-8")
	request.Header.Set("Accept", "application/fhir+json")
	request.Header.Set("Prefer", "return=minimal")
	if r.tokenFile != "" {
		token, err := os.ReadFile(r.tokenFile)
		if err != nil {
			return err
		}
		request.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(token)))
	}
	response, err := r.client.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	_, _ = io.Copy(io.Discard, io.LimitReader(response.Body, maxAnswer)) // so that the connection can be used again
	return judge(response.StatusCode)
}

// judge says what a status means for the answer: a refusal of what was sent is final, everything else
// may pass.
func judge(status int) error {
	switch status {
	case http.StatusOK, http.StatusCreated:
		return nil
	case http.StatusBadRequest, http.StatusNotFound, http.StatusPreconditionFailed, http.StatusUnprocessableEntity, http.StatusRequestEntityTooLarge:
		return fmt.Errorf("%w: status %d", ErrRefused, status)
	}
	return fmt.Errorf("the target answered with status %d; expected 200", status)
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
