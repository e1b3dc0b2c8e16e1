package service

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	reflectionpb "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/descriptorpb"

	"github.com/google/go-cmp/cmp"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth/authtest"
)

// asked is the answer to one question about the services.
func asked(ctx context.Context, conn *grpc.ClientConn, question *reflectionpb.ServerReflectionRequest) (*reflectionpb.ServerReflectionResponse, error) {
	stream, err := reflectionpb.NewServerReflectionClient(conn).ServerReflectionInfo(ctx)
	if err != nil {
		return nil, err
	}
	_ = stream.Send(question) // the reason for a failure comes with the answer
	return stream.Recv()
}

var (
	whichServices = &reflectionpb.ServerReflectionRequest{MessageRequest: &reflectionpb.ServerReflectionRequest_ListServices{}}
	whichFile     = &reflectionpb.ServerReflectionRequest{MessageRequest: &reflectionpb.ServerReflectionRequest_FileContainingSymbol{
		FileContainingSymbol: evenreachv1.AssessmentService_ServiceDesc.ServiceName,
	}}
)

// withToken is a context of a client that is let in.
func withToken(t *testing.T) context.Context {
	t.Helper()
	return metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+authtest.New(issuerName).Sign(t))
}

// Source: gRPC Server Reflection Protocol, version 1.
func TestReflectionNeedsAToken(t *testing.T) {
	h, callers := startGuardedWith(t, Config{MaxConcurrent: 8, Reflection: true}, twoIssuers())
	<-callers.Ready()
	conn := h.connect()
	if _, err := asked(t.Context(), conn, whichServices); status.Code(err) != codes.Unauthenticated {
		t.Errorf("without a token: %v, want Unauthenticated", err)
	}
	if log := h.log.String(); !strings.Contains(log, `"denied":"no-token"`) {
		t.Errorf("the log does not tell of the refusal: %s", log)
	}
	answer, err := asked(withToken(t), conn, whichServices)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, service := range answer.GetListServicesResponse().GetService() {
		names = append(names, service.GetName())
	}
	if !slices.Contains(names, "evenreach.v1.AssessmentService") {
		t.Errorf("services %q, want ours among them", names)
	}
}

// A client that knows nothing learns the methods and their messages.
func TestReflectionDescribesTheMethods(t *testing.T) {
	h, callers := startGuardedWith(t, Config{MaxConcurrent: 8, Reflection: true}, twoIssuers())
	<-callers.Ready()
	answer, err := asked(withToken(t), h.connect(), whichFile)
	if err != nil {
		t.Fatal(err)
	}
	var methods []string
	for _, encoded := range answer.GetFileDescriptorResponse().GetFileDescriptorProto() {
		var file descriptorpb.FileDescriptorProto
		if err := proto.Unmarshal(encoded, &file); err != nil {
			t.Fatal(err)
		}
		for _, service := range file.GetService() {
			for _, method := range service.GetMethod() {
				methods = append(methods, method.GetName()+" "+method.GetInputType())
			}
		}
	}
	if !slices.Contains(methods, "Assess .evenreach.v1.AssessRequest") {
		t.Errorf("methods %q, want Assess with its message among them", methods)
	}
}

// What is told is what the contract's Go code was made of, with all that it imports.
//
// Source: the descriptors that protoc-gen-go and google/fhir put into their Go code.
func TestReflectionTellsTheContract(t *testing.T) {
	told := 0
	var check func(protoreflect.FileDescriptor)
	seen := map[string]bool{}
	check = func(want protoreflect.FileDescriptor) {
		if seen[want.Path()] || strings.HasPrefix(want.Path(), "google/protobuf/") { // which every client brings along
			return
		}
		seen[want.Path()] = true
		files, err := contract()
		if err != nil {
			t.Fatal(err)
		}
		got, err := files.FindFileByPath(want.Path())
		if err != nil {
			t.Errorf("%s: %v", want.Path(), err)
			return
		}
		for i := range want.Messages().Len() {
			checkMessage(t, want.Messages().Get(i), got.Messages())
			told++
		}
		for i := range want.Imports().Len() {
			check(want.Imports().Get(i).FileDescriptor)
		}
	}
	check(evenreachv1.File_evenreach_v1_assessment_proto)
	if told < 400 {
		t.Errorf("%d messages told, want all of FHIR", told)
	}
}

// checkMessage checks that a message is among those that are told, field by field.
func checkMessage(t *testing.T, want protoreflect.MessageDescriptor, among protoreflect.MessageDescriptors) {
	t.Helper()
	got := among.ByName(want.Name())
	if got == nil {
		t.Errorf("%s is not told", want.FullName())
		return
	}
	if diff := cmp.Diff(fieldsOf(want), fieldsOf(got)); diff != "" {
		t.Errorf("%s (-contract +told):\n%s", want.FullName(), diff)
	}
	for i := range want.Messages().Len() {
		checkMessage(t, want.Messages().Get(i), got.Messages())
	}
}

// fieldsOf are the fields of a message, as a client needs to know them. A name in JSON
// that a oneof has too is left out of what is told: proto/third_party/README.md.
func fieldsOf(m protoreflect.MessageDescriptor) (fields []string) {
	for i := range m.Fields().Len() {
		f := m.Fields().Get(i)
		field := fmt.Sprintf("%s %d %v %v", f.Name(), f.Number(), f.Cardinality(), f.Kind())
		if m.FullName() != "google.fhir.r4.core.Reference" || f.Name() != "uri" {
			field += " " + f.JSONName()
		}
		switch {
		case f.Message() != nil:
			field += " " + string(f.Message().FullName())
		case f.Enum() != nil:
			field += " " + string(f.Enum().FullName())
		}
		if o := f.ContainingOneof(); o != nil {
			field += " of " + string(o.Name())
		}
		fields = append(fields, field)
	}
	slices.Sort(fields)
	return fields
}

func TestReflectionIsOffByDefault(t *testing.T) {
	h := guarded(t)
	if _, err := asked(withToken(t), h.connect(), whichServices); status.Code(err) != codes.Unimplemented {
		t.Errorf("%v, want Unimplemented", err)
	}
}
