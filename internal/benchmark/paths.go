package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os/exec"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/mem"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

const (
	restAddress       = "127.0.0.1:18080"
	grpcAddress       = "127.0.0.1:19090"
	adminAddress      = "127.0.0.1:19464"
	comparatorAddress = "127.0.0.1:18081"
	operation         = "/fhir/$assess-shoulder"
	hook              = "/cds-services/shoulder-recheck"
)

// paths are measured in this order.
func paths(body []byte) []path {
	return []path{
		{"REST, Evenreach", serve, dialREST(restAddress, body)},
		{"gRPC, Evenreach", serve, func() (caller, error) { return dialGRPC(body) }},
		{"CDS Hooks, cards, Evenreach", serve, dialHook(body)},
		{"REST, reads, tokenises and writes as much", serveAs("noop"), dialREST(comparatorAddress, body)},
		{"REST, jsonformat decodes, nothing is computed", serveAs("decode"), dialREST(comparatorAddress, body)},
		{"REST, the same service with jsonformat on both ends", serveAs("jsonformat"), dialREST(comparatorAddress, body)},
	}
}

func serve(ctx context.Context, s settings) *exec.Cmd {
	return exec.CommandContext(ctx, s.binary, "serve", "--insecure-no-auth", "--log-level=error",
		"--http-address="+restAddress, "--grpc-address="+grpcAddress, "--admin-address="+adminAddress)
}

// serveAs serves as a comparator.
func serveAs(role string) func(context.Context, settings) *exec.Cmd {
	return func(ctx context.Context, s settings) *exec.Cmd {
		return exec.CommandContext(ctx, s.self, "-role", role)
	}
}

func dialREST(address string, body []byte) func() (caller, error) {
	return func() (caller, error) {
		client := &http.Client{Transport: &http.Transport{DisableCompression: true}}
		return &restCaller{client, "http://" + address + operation, "application/fhir+json", body}, nil
	}
}

// dialHook calls patient-view with the resources of a Bundle as prefetch.
func dialHook(body []byte) func() (caller, error) {
	return func() (caller, error) {
		call, err := hookCall(body)
		client := &http.Client{Transport: &http.Transport{DisableCompression: true}}
		return &restCaller{client, "http://" + restAddress + hook, "application/json", call}, err
	}
}

// hookCall is a call of patient-view with the resources of a Bundle as prefetch.
func hookCall(body []byte) ([]byte, error) {
	var bundle struct {
		Entry []struct {
			Resource json.RawMessage `json:"resource"`
		} `json:"entry"`
	}
	if err := json.Unmarshal(body, &bundle); err != nil {
		return nil, err
	}
	found := map[string][]any{"Observation": {}, "Condition": {}, "Procedure": {}}
	for _, e := range bundle.Entry {
		var of struct {
			Type string `json:"resourceType"`
		}
		if err := json.Unmarshal(e.Resource, &of); err != nil {
			return nil, err
		}
		if _, asked := found[of.Type]; asked {
			found[of.Type] = append(found[of.Type], map[string]any{"resource": e.Resource})
		}
	}
	page := func(entries []any) map[string]any {
		return map[string]any{"resourceType": "Bundle", "type": "searchset", "total": len(entries), "entry": entries}
	}
	prefetch := map[string]any{"observations": page(found["Observation"]), "conditions": page(found["Condition"]), "procedures": page(found["Procedure"])}
	for _, one := range prefetch {
		if page := one.(map[string]any); len(page["entry"].([]any)) == 0 {
			delete(page, "entry")
		}
	}
	return json.Marshal(map[string]any{
		"hook": "patient-view", "hookInstance": "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea",
		"context": map[string]any{"userId": "Practitioner/1", "patientId": "p1"}, "prefetch": prefetch,
	})
}

// errBusy is the answer 503.
var errBusy = errors.New("told to come back")

// restCaller posts the same body again and again.
type restCaller struct {
	client *http.Client
	url    string
	sends  string // media type
	body   []byte
}

func (c *restCaller) call() error {
	request, err := http.NewRequestWithContext(context.Background(), http.MethodPost, c.url, bytes.NewReader(c.body))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", c.sends)
	response, err := c.client.Do(request)
	if err != nil {
		return err
	}
	defer func() { _ = response.Body.Close() }()
	if _, err := io.Copy(io.Discard, response.Body); err != nil {
		return err
	}
	if response.StatusCode == http.StatusServiceUnavailable {
		return errBusy
	}
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("status %d", response.StatusCode)
	}
	return nil
}

func (c *restCaller) close() { c.client.CloseIdleConnections() }

// grpcCaller sends the same bytes again and does not decode the answer, so
// that the caller's own work is not measured.
type grpcCaller struct {
	connection *grpc.ClientConn
	request    []byte
}

func dialGRPC(body []byte) (caller, error) {
	resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		return nil, err
	}
	bundle, err := bundleMessage(resource.(*fhir.Bundle))
	if err != nil {
		return nil, err
	}
	request, err := proto.Marshal(&evenreachv1.AssessRequest{Bundle: bundle})
	if err != nil {
		return nil, err
	}
	connection, err := grpc.NewClient(grpcAddress, grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultCallOptions(grpc.ForceCodecV2(rawCodec{}), grpc.MaxCallRecvMsgSize(64<<20)))
	if err != nil {
		return nil, err
	}
	return &grpcCaller{connection, request}, nil
}

func (c *grpcCaller) call() error {
	var answer []byte
	return c.connection.Invoke(context.Background(), evenreachv1.AssessmentService_Assess_FullMethodName, c.request, &answer)
}

func (c *grpcCaller) close() { _ = c.connection.Close() }

// rawCodec passes bytes through.
type rawCodec struct{}

var _ encoding.CodecV2 = rawCodec{}

// Name is the content subtype of protocol buffers.
func (rawCodec) Name() string { return "proto" }

// Marshal takes bytes as they are.
func (rawCodec) Marshal(v any) (mem.BufferSlice, error) {
	return mem.BufferSlice{mem.SliceBuffer(v.([]byte))}, nil
}

// Unmarshal keeps the bytes.
func (rawCodec) Unmarshal(data mem.BufferSlice, v any) error {
	*v.(*[]byte) = data.Materialize()
	return nil
}
