package main

import (
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/descriptorpb"
)

// loadable returns the files without the JSON names that another name of the
// same message has. FHIR's Reference has a oneof named reference, and in it a
// field whose JSON name is reference: the runtimes of Python, Ruby and PHP
// refuse the whole file for that. What travels is the same without the name,
// which serves only the reading and writing of FHIR's JSON.
func loadable(files []protoreflect.FileDescriptor) ([]protoreflect.FileDescriptor, error) {
	var set descriptorpb.FileDescriptorSet
	seen := map[string]bool{}
	var add func(protoreflect.FileDescriptor)
	add = func(file protoreflect.FileDescriptor) {
		if seen[file.Path()] {
			return
		}
		seen[file.Path()] = true
		imports := file.Imports()
		for i := range imports.Len() {
			add(imports.Get(i).FileDescriptor)
		}
		copied := protodesc.ToFileDescriptorProto(file)
		for _, message := range copied.GetMessageType() {
			dropTakenNames(message)
		}
		set.File = append(set.File, copied)
	}
	for _, file := range files {
		add(file)
	}
	registry, err := protodesc.NewFiles(&set)
	if err != nil {
		return nil, err
	}
	changed := make([]protoreflect.FileDescriptor, len(files))
	for i, file := range files {
		if changed[i], err = registry.FindFileByPath(file.Path()); err != nil {
			return nil, err
		}
	}
	return changed, nil
}

// dropTakenNames drops the JSON names of a message, and of those within, that
// are the name of another field or of a oneof.
func dropTakenNames(message *descriptorpb.DescriptorProto) {
	taken := map[string]int{}
	for _, field := range message.GetField() {
		taken[field.GetName()]++
	}
	for _, oneof := range message.GetOneofDecl() {
		taken[oneof.GetName()]++
	}
	for _, field := range message.GetField() {
		if name := field.GetJsonName(); name != field.GetName() && taken[name] > 0 {
			field.JsonName = nil
		}
	}
	for _, within := range message.GetNestedType() {
		dropTakenNames(within)
	}
}
