//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

const operation = "/fhir/$assess-shoulder"

// caller asks once. An error of type again says that asking again may help.
type caller func(ctx context.Context, body []byte) ([]byte, error)

// again is a failure of the way, not of the request.
type again struct{ reason string }

func (a again) Error() string { return a.reason }

// restCaller asks by REST over connections of its own.
func restCaller(t *testing.T, address string) caller {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{}}
	t.Cleanup(client.CloseIdleConnections)
	return func(ctx context.Context, body []byte) ([]byte, error) {
		request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+address+operation, bytes.NewReader(body))
		if err != nil {
			return nil, err
		}
		request.Header.Set("Content-Type", "application/fhir+json")
		answer, err := client.Do(request)
		if err != nil {
			return nil, again{"REST: no answer"}
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		switch {
		case err != nil:
			return nil, again{"REST: half an answer"}
		case answer.StatusCode == http.StatusBadGateway || answer.StatusCode == http.StatusServiceUnavailable || answer.StatusCode == http.StatusGatewayTimeout:
			return nil, again{fmt.Sprintf("REST: %d", answer.StatusCode)}
		case answer.StatusCode != http.StatusOK:
			return nil, fmt.Errorf("status %d: %.300s", answer.StatusCode, text)
		}
		return text, nil
	}
}

// grpcCaller asks by gRPC over a connection of its own.
func grpcCaller(t *testing.T, address string) caller {
	t.Helper()
	connection, err := grpc.NewClient(address, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = connection.Close() })
	client := evenreachv1.NewAssessmentServiceClient(connection)
	return func(ctx context.Context, body []byte) ([]byte, error) {
		answer, err := client.AssessJSON(ctx, &httpbody.HttpBody{Data: body})
		if err == nil {
			return answer.GetData(), nil
		}
		if of := status.Convert(err); len(of.Details()) == 0 || of.Code() == codes.Unavailable {
			return nil, again{"gRPC: " + of.Code().String()} // the service's own refusals have details
		}
		return nil, err
	}
}

// insistent asks until it is answered, and returns the failures before that.
func insistent(ctx context.Context, ask caller, body []byte) (answer []byte, failures []string, err error) {
	for wait := 5 * time.Millisecond; ; wait = min(2*wait, 200*time.Millisecond) {
		answer, err = ask(ctx, body)
		failure, temporary := errors.AsType[again](err)
		if !temporary {
			return answer, failures, err
		}
		failures = append(failures, failure.reason)
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return nil, failures, ctx.Err()
		}
	}
}
