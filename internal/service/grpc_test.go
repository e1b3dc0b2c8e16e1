package service

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	"github.com/google/go-cmp/cmp"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// The server that callers reach refuses a stranger before any of the message has come.
func TestStrangersAreRefusedBeforeTheirMessage(t *testing.T) {
	address := startFor(t, func(m *ops.AuthMetrics, log *slog.Logger) Authenticator {
		return auth.New(auth.Config{}, m, log)
	}).serveGRPC()
	var http2 http.Protocols
	http2.SetUnencryptedHTTP2(true)
	client := &http.Client{Transport: &http.Transport{Protocols: &http2}}
	t.Cleanup(client.CloseIdleConnections)
	for _, method := range evenreachv1.AssessmentService_ServiceDesc.Methods {
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		body, never := io.Pipe()
		defer never.Close()
		r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+address+"/"+evenreachv1.AssessmentService_ServiceDesc.ServiceName+"/"+method.MethodName, body)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/grpc")
		answer, err := client.Do(r)
		if err != nil {
			t.Fatalf("%s: %v, want a refusal though no message was sent", method.MethodName, err)
		}
		_, _ = io.Copy(io.Discard, answer.Body) // the trailers come after it
		_ = answer.Body.Close()
		if got := answer.Trailer.Get("Grpc-Status"); got != "16" { // Unauthenticated
			t.Errorf("%s: status %q, want 16", method.MethodName, got)
		}
	}
}

// message reads JSON into protocol buffers with an independent library.
func message(t testing.TB, text string) *bcrpb.Bundle {
	t.Helper()
	u, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	b, err := u.UnmarshalR4([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b.GetBundle()
}

func TestBothDoorsGiveTheSameAnswer(t *testing.T) {
	h := start(t)
	client := h.dial()
	input := text(t, good(strength("bad", right, 70, noSide)))
	byGRPC, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: message(t, input)})
	if err != nil {
		t.Fatal(err)
	}
	byREST := h.do(request(input))
	if byREST.Code != 200 {
		t.Fatalf("status %d: %s", byREST.Code, byREST.Body)
	}
	if diff := cmp.Diff(message(t, byREST.Body.String()), byGRPC.GetBundle(), protocmp.Transform()); diff != "" {
		t.Errorf("REST and gRPC differ:\n%s", diff)
	}
}

func TestAssessTellsWhatWasLeftOut(t *testing.T) {
	client := start(t).dial()
	answer, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{
		Bundle: message(t, text(t, good(strength("bad", right, 70, noSide)))),
	})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(kinds(answer.GetOutcome()), "side-missing") {
		t.Errorf("issues %v, want side-missing among them", kinds(answer.GetOutcome()))
	}
}

func TestCheckByGRPC(t *testing.T) {
	client := start(t).dial()
	answer, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{
		Bundle: message(t, text(t, good())),
		Output: evenreachv1.Output_OUTPUT_CHECK,
	})
	if err != nil {
		t.Fatal(err)
	}
	if answer.Bundle != nil || len(answer.GetOutcome().GetIssue()) == 0 {
		t.Errorf("got %v, want an OperationOutcome alone", answer)
	}
}

// kinds are the codes of our own of the issues.
func kinds(o *oopb.OperationOutcome) (all []string) {
	for _, i := range o.GetIssue() {
		for _, c := range i.GetDetails().GetCoding() {
			all = append(all, c.GetCode().GetValue())
		}
	}
	return all
}

func TestRefusalsByGRPC(t *testing.T) {
	client := start(t).dial()
	sound := message(t, text(t, good()))
	tests := []struct {
		name    string
		request *evenreachv1.AssessRequest
		code    codes.Code
		kinds   []string // all that must be reported
	}{
		{"no Bundle", &evenreachv1.AssessRequest{}, codes.InvalidArgument, []string{"required-missing"}},
		{"empty Bundle", &evenreachv1.AssessRequest{Bundle: message(t, `{"resourceType":"Bundle","type":"collection"}`)}, codes.FailedPrecondition, []string{"nothing-to-assess"}},
		{"two patients", &evenreachv1.AssessRequest{Bundle: message(t, text(t, good(patient("p2"))))}, codes.FailedPrecondition, []string{"several-patients"}},
		{"sides and outputs that are none", &evenreachv1.AssessRequest{Bundle: sound, InvolvedSide: 9, Output: 9}, codes.InvalidArgument, []string{"bad-parameter", "bad-parameter"}},
		{"bad fields and no Bundle", &evenreachv1.AssessRequest{Output: 9}, codes.InvalidArgument, []string{"bad-parameter", "required-missing"}},
		{"a sheet, a language and a unit that are none", &evenreachv1.AssessRequest{Bundle: sound, Sheet: 9, Language: "xx", ForceUnit: "stone"}, codes.InvalidArgument, []string{"bad-parameter", "bad-parameter", "bad-parameter"}},
		{"month as date", &evenreachv1.AssessRequest{Bundle: sound, AsOf: "2026-03"}, codes.InvalidArgument, []string{"bad-parameter"}},
		{"protocol that is not loaded", &evenreachv1.AssessRequest{Bundle: sound, Protocol: "other|1"}, codes.NotFound, []string{"unknown-protocol"}},
		{"protocol and date", &evenreachv1.AssessRequest{Bundle: sound, Protocol: "other", AsOf: "2026"}, codes.InvalidArgument, []string{"unknown-protocol", "bad-parameter"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := client.Assess(context.Background(), tt.request)
			if status.Code(err) != tt.code {
				t.Fatalf("code %v, want %v: %v", status.Code(err), tt.code, err)
			}
			got := kinds(detailOf(t, err))
			for _, want := range tt.kinds {
				i := slices.Index(got, want)
				if i < 0 {
					t.Fatalf("kinds %v, want all of %v", kinds(detailOf(t, err)), tt.kinds)
				}
				got = slices.Delete(got, i, i+1)
			}
		})
	}
}

func TestRequestIDByGRPC(t *testing.T) {
	client := start(t).dial()
	ctx := metadata.AppendToOutgoingContext(context.Background(), requestIDHeader, "visit-17")
	var header metadata.MD
	if _, err := client.Assess(ctx, &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}, grpc.Header(&header)); err != nil {
		t.Fatal(err)
	}
	if got := header.Get(requestIDHeader); len(got) != 1 || got[0] != "visit-17" {
		t.Errorf("request id %v, want that of the caller", got)
	}
}

// Common clients drop a call whose headers are over 8 KiB.
func TestStatusFitsIntoAHeader(t *testing.T) {
	var issues []fault.Issue
	for range 99 {
		issues = append(issues, fault.Issue{Severity: fault.Warning, Kind: fault.SideMissing, Path: "Bundle.entry[17].resource", Detail: strings.Repeat("long ", 40)})
	}
	issues = append(issues, fault.Issue{Severity: fault.Error, Kind: fault.NothingToAssess, Detail: "nothing is left"})
	s := refusalOf(&fault.Errors{Issues: issues}).GRPCStatus()
	if size := proto.Size(s.Proto()) * 4 / 3; size > 8<<10 {
		t.Errorf("the status takes %d bytes in a header, want at most 8 KiB", size)
	}
	got := kinds(detailOf(t, s.Err()))
	if got[0] != "nothing-to-assess" {
		t.Errorf("the first issue is %s, want the error before the warnings", got[0])
	}
	listed := detailOf(t, s.Err()).GetIssue()
	last := listed[len(listed)-1].GetDetails().GetText().GetValue()
	if want := fmt.Sprintf("%d more issues", len(issues)-(len(listed)-1)); !strings.HasPrefix(last, want) {
		t.Errorf("the last issue says %q, want %q", last, want)
	}
}

// A caller is known before anything is read of what it sends.
func TestStrangersMessageIsNotRead(t *testing.T) {
	description := serviceDesc()
	if len(description.Methods) != 2 || len(description.Streams) != 1 {
		t.Fatalf("%d calls and %d streams, want 2 and 1", len(description.Methods), len(description.Streams))
	}
	for _, method := range description.Methods {
		stranger := status.Error(codes.Unauthenticated, "")
		read := func(any) error {
			t.Errorf("%s: the message of a stranger is read", method.MethodName)
			return nil
		}
		refuse := func(context.Context, any, *grpc.UnaryServerInfo, grpc.UnaryHandler) (any, error) {
			return nil, stranger
		}
		if _, err := method.Handler(start(t).server, context.Background(), read, refuse); !errors.Is(err, stranger) {
			t.Errorf("%s: error %v, want that of the interceptor", method.MethodName, err)
		}
	}
}
