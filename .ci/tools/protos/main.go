// Protos writes, as .proto files, the third-party definitions that the API
// contract imports: FHIR R4 and the google.api annotations.
//
// The Go modules that hold these definitions ship generated code only, and
// buf needs source. The generated code carries its descriptors, so the files
// are printed from exactly the version that the service is built with.
//
// Usage: protos DIRECTORY
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	"github.com/jhump/protoreflect/v2/protoprint"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// A module is a folder of definitions, by the files that the contract imports.
type module struct {
	folder string
	roots  []protoreflect.FileDescriptor
}

var modules = []module{
	{"fhir", []protoreflect.FileDescriptor{
		bundle_and_contained_resource_go_proto.File_proto_google_fhir_proto_r4_core_resources_bundle_and_contained_resource_proto,
		operation_outcome_go_proto.File_proto_google_fhir_proto_r4_core_resources_operation_outcome_proto,
	}},
	{"googleapis", []protoreflect.FileDescriptor{
		annotations.File_google_api_annotations_proto,
		httpbody.File_google_api_httpbody_proto,
	}},
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: protos DIRECTORY")
		os.Exit(2)
	}
	for _, m := range modules {
		if err := m.write(filepath.Join(os.Args[1], m.folder)); err != nil {
			fmt.Fprintln(os.Stderr, "protos:", err)
			os.Exit(1)
		}
	}
}

// write replaces the folder dir by the .proto files of the module, so that a
// definition that is no longer imported does not stay behind.
func (m module) write(dir string) error {
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	// Qualified names, because FHIR has messages such as UseCode.Value whose
	// short names are ambiguous where they are used.
	printer := protoprint.Printer{ForceFullyQualifiedNames: true}
	files, err := loadable(withImports(m.roots))
	if err != nil {
		return err
	}
	return printer.PrintProtosToFileSystem(files, dir)
}

// withImports returns the files and everything that they import, each once,
// but for the google.protobuf files, which every compiler brings along.
func withImports(roots []protoreflect.FileDescriptor) []protoreflect.FileDescriptor {
	var files []protoreflect.FileDescriptor
	seen := map[string]bool{}
	var visit func(protoreflect.FileDescriptor)
	visit = func(file protoreflect.FileDescriptor) {
		if seen[file.Path()] || strings.HasPrefix(file.Path(), "google/protobuf/") {
			return
		}
		seen[file.Path()] = true
		files = append(files, file)
		imports := file.Imports()
		for i := range imports.Len() {
			visit(imports.Get(i).FileDescriptor)
		}
	}
	for _, root := range roots {
		visit(root)
	}
	return files
}
