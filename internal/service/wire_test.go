package service

import (
	"slices"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/mem"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

// rawCodec is a codec of a client that sends and gets bytes.
type rawCodec struct{}

func (rawCodec) Name() string { return "proto" }

func (rawCodec) Marshal(v any) (mem.BufferSlice, error) {
	return mem.BufferSlice{mem.SliceBuffer(*v.(*[]byte))}, nil
}

func (rawCodec) Unmarshal(data mem.BufferSlice, v any) error {
	*v.(*[]byte) = data.Materialize()
	return nil
}

// sendRaw sends the bytes of an AssessRequest.
func sendRaw(t *testing.T, conn *grpc.ClientConn, request []byte) (*evenreachv1.AssessResponse, error) {
	t.Helper()
	var answer []byte
	if err := conn.Invoke(t.Context(), evenreachv1.AssessmentService_Assess_FullMethodName, &request, &answer, grpc.ForceCodecV2(rawCodec{})); err != nil {
		return nil, err
	}
	m := new(evenreachv1.AssessResponse)
	if err := proto.Unmarshal(answer, m); err != nil {
		t.Fatalf("the answer cannot be read: %v", err)
	}
	return m, nil
}

// Source: Protocol Buffers, encoding, last one wins: the parts of a message that occurs
// several times are merged, and fields that are not known are passed over.
func TestABundleInParts(t *testing.T) {
	conn := start(t).connect()
	bundle, err := proto.Marshal(message(t, text(t, good())))
	if err != nil {
		t.Fatal(err)
	}
	_, _, n := protowire.ConsumeField(bundle)
	var request []byte
	for _, part := range [][]byte{bundle[:n], {}, bundle[n:]} {
		request = protowire.AppendBytes(protowire.AppendTag(request, 1, protowire.BytesType), part)
		request = protowire.AppendVarint(protowire.AppendTag(request, 1000, protowire.VarintType), 1)
	}
	inParts, err := sendRaw(t, conn, request)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := sendRaw(t, conn, protowire.AppendBytes(protowire.AppendTag(nil, 1, protowire.BytesType), bundle))
	if err != nil {
		t.Fatal(err)
	}
	if !proto.Equal(whole, inParts) {
		t.Error("a Bundle in parts is answered otherwise than a whole one")
	}
}

// What is no protocol buffers is the caller's fault, and says where.
func TestBytesThatAreNoBundle(t *testing.T) {
	conn := start(t).connect()
	entry := protowire.AppendBytes(protowire.AppendTag(nil, 10, protowire.BytesType), []byte("\x32\x7f"))
	_, err := sendRaw(t, conn, protowire.AppendBytes(protowire.AppendTag(nil, 1, protowire.BytesType), entry))
	if status.Code(err) != codes.InvalidArgument {
		t.Fatalf("%v, want InvalidArgument", err)
	}
	outcome := detailOf(t, err)
	if !slices.Contains(kinds(outcome), "syntax") || outcome.GetIssue()[0].GetExpression()[0].GetValue() != "Bundle.entry[0]" {
		t.Errorf("%v, want a fault of syntax at Bundle.entry[0]", outcome)
	}
}
