package main

import (
	"testing"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// A runtime that keeps the names of fields and oneofs and the JSON names of a
// message in one table loads what is written, and would not load what it is
// written from.
func TestNoNameIsTakenTwice(t *testing.T) {
	before := 0
	for _, m := range modules {
		files := withImports(m.roots)
		written, err := loadable(files)
		if err != nil {
			t.Fatal(err)
		}
		for i, file := range written {
			before += takenTwice(files[i].Messages())
			if n := takenTwice(file.Messages()); n > 0 {
				t.Errorf("%s: %d JSON names are another's name", file.Path(), n)
			}
		}
	}
	if before == 0 {
		t.Error("nothing is dropped: FHIR's messages have changed, and this is needed no longer")
	}
}

// takenTwice counts the JSON names that are the name of another field or of a
// oneof of their message.
func takenTwice(messages protoreflect.MessageDescriptors) (count int) {
	for i := range messages.Len() {
		m := messages.Get(i)
		for j := range m.Fields().Len() {
			field := m.Fields().Get(j)
			name := protoreflect.Name(field.JSONName())
			if other := m.Fields().ByName(name); other != nil && other != field || m.Oneofs().ByName(name) != nil {
				count++
			}
		}
		count += takenTwice(m.Messages())
	}
	return count
}
