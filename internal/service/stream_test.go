package service

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/service/encoded"
)

func TestStreamAnswersInOrderAndSurvivesARefusal(t *testing.T) {
	h := start(t)
	client := h.dial()
	stream, err := client.AssessStream(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	sound := &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}
	steps := []struct {
		key     string
		request *evenreachv1.AssessRequest
		code    codes.Code
	}{
		{"first", sound, codes.OK},
		{"two patients", &evenreachv1.AssessRequest{Bundle: message(t, text(t, good(patient("p2"))))}, codes.FailedPrecondition},
		{"no request", nil, codes.InvalidArgument},
		{"last", sound, codes.OK},
	}
	for _, step := range steps {
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Key: step.key, Request: step.request}); err != nil {
			t.Fatal(err)
		}
	}
	if err := stream.CloseSend(); err != nil {
		t.Fatal(err)
	}
	for _, step := range steps {
		answer, err := stream.Recv()
		if err != nil {
			t.Fatalf("%s: %v", step.key, err)
		}
		if answer.GetKey() != step.key {
			t.Fatalf("answer %q, want that to %q", answer.GetKey(), step.key)
		}
		if got := codes.Code(answer.GetRefused().GetCode()); got != step.code {
			t.Errorf("%s: code %v, want %v", step.key, got, step.code)
		}
		if assessed := answer.GetAssessed().GetBundle() != nil; assessed != (step.code == codes.OK) {
			t.Errorf("%s: an assessment came: %v", step.key, assessed)
		}
		if refused := answer.GetRefused(); refused != nil && len(refused.GetOutcome().GetIssue()) == 0 {
			t.Errorf("%s: the refusal has no issue", step.key)
		}
	}
	if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
		t.Errorf("the stream ended with %v, want io.EOF", err)
	}
	for n := range steps {
		if !strings.Contains(h.log.String(), fmt.Sprintf(`.%d"`, n+1)) {
			t.Errorf("no line of the log has the number %d in the stream:\n%s", n+1, h.log)
		}
	}
}

func TestDrainEndsAStream(t *testing.T) {
	h := start(t)
	client := h.dial()
	stream, err := client.AssessStream(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}}); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	h.server.Drain()
	h.server.Drain() // twice is once
	if _, err := stream.Recv(); status.Code(err) != codes.Unavailable {
		t.Errorf("the stream ended with %v, want Unavailable", err)
	}
}

func TestStreamWaitsForRoom(t *testing.T) {
	h := start(t)
	client := h.dial()
	for range cap(h.server.capacity.room) {
		h.server.capacity.room <- struct{}{}
	}
	stream, err := client.AssessStream(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}}); err != nil {
		t.Fatal(err)
	}
	h.server.capacity.room.leave()
	answer, err := stream.Recv()
	if err != nil || answer.GetAssessed() == nil {
		t.Errorf("answer %v, error %v, want an assessment once there is room", answer, err)
	}
}

func TestPanicInAStreamRefusesItsRequestOnly(t *testing.T) {
	h := start(t)
	calls := 0
	h.pipeline().Now = func() time.Time {
		if calls++; calls == 1 {
			panic("canary")
		}
		return today
	}
	client := h.dial()
	stream, err := client.AssessStream(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	sound := &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}
	for range 2 {
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: sound}); err != nil {
			t.Fatal(err)
		}
	}
	answer, err := stream.Recv()
	if err != nil || codes.Code(answer.GetRefused().GetCode()) != codes.Internal {
		t.Fatalf("answer %v, error %v, want a refusal with Internal", answer, err)
	}
	if strings.Contains(answer.String(), "canary") {
		t.Errorf("the answer quotes the panic: %v", answer)
	}
	if answer, err := stream.Recv(); err != nil || answer.GetAssessed() == nil {
		t.Errorf("answer %v, error %v, want an assessment of the second request", answer, err)
	}
}

// brokenStream panics when it is read.
type brokenStream struct {
	assessStream
	ctx context.Context
}

func (s brokenStream) Context() context.Context { return s.ctx }

func (brokenStream) Recv() (*encoded.AssessStreamRequest, error) { panic("canary") }

func TestPanicWhileAStreamIsRead(t *testing.T) {
	h := start(t)
	_, err := h.server.receiveOne(brokenStream{ctx: t.Context()})
	if status.Code(err) != codes.Internal || strings.Contains(err.Error(), "canary") {
		t.Errorf("error %v, want Internal without the panic's text", err)
	}
}
