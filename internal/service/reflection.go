package service

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"io"
	"sync"

	_ "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto" // what FHIR's messages are annotated with, for who asks
	"google.golang.org/grpc"
	"google.golang.org/grpc/reflection"
	reflectionpb "google.golang.org/grpc/reflection/grpc_reflection_v1"
	reflectionalphapb "google.golang.org/grpc/reflection/grpc_reflection_v1alpha"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"
)

// describe lets callers ask which services and messages there are. What they may ask
// for are the messages of the contract, which the program itself does without.
func describe(g *grpc.Server) {
	options := reflection.ServerOptions{Services: g, DescriptorResolver: descriptors{}}
	reflectionpb.RegisterServerReflectionServer(g, reflection.NewServerV1(options))
	reflectionalphapb.RegisterServerReflectionServer(g, reflection.NewServer(options))
}

// contractFile holds the descriptors of the contract and of all that it imports, FHIR's
// messages among them, compressed: a seventh of a megabyte, where their Go code takes seven.
//
//go:embed contract.binpb.gz
var contractFile []byte

// contract are the same, made when first asked for.
var contract = sync.OnceValues(func() (*protoregistry.Files, error) {
	compressed, err := gzip.NewReader(bytes.NewReader(contractFile))
	if err != nil {
		return nil, err
	}
	encoded, err := io.ReadAll(compressed)
	if err != nil {
		return nil, err
	}
	files := new(descriptorpb.FileDescriptorSet)
	if err := proto.Unmarshal(encoded, files); err != nil {
		return nil, err
	}
	return protodesc.NewFiles(files)
})

// descriptors are those of the contract and of what is linked: the services of health
// and reflection.
type descriptors struct{}

// FindFileByPath implements protodesc.Resolver.
func (descriptors) FindFileByPath(path string) (protoreflect.FileDescriptor, error) {
	return find(func(in *protoregistry.Files) (protoreflect.FileDescriptor, error) { return in.FindFileByPath(path) })
}

// FindDescriptorByName implements protodesc.Resolver.
func (descriptors) FindDescriptorByName(name protoreflect.FullName) (protoreflect.Descriptor, error) {
	return find(func(in *protoregistry.Files) (protoreflect.Descriptor, error) { return in.FindDescriptorByName(name) })
}

// find looks among what is linked first: the contract need not be made for it.
func find[D any](look func(in *protoregistry.Files) (D, error)) (D, error) {
	if linked, err := look(protoregistry.GlobalFiles); err == nil {
		return linked, nil
	}
	files, err := contract()
	if err != nil {
		return *new(D), err
	}
	return look(files)
}
