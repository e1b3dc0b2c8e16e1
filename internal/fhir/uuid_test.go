package fhir

import (
	"testing"

	"github.com/google/uuid"
)

// Source: RFC 9562, appendix B.2, example of a UUIDv8 that is name-based by SHA-256.
func TestNamedUUID(t *testing.T) {
	const want = "5c146b14-3c52-8afd-938a-375d0df1fbf6"
	if got := uuidIn(uuid.NameSpaceDNS, "www.", "example.com").String(); got != want {
		t.Errorf("UUID of www.example.com is %s, want %s", got, want)
	}
	if UUIDOf("a", "b") != UUIDOf("ab") || UUIDOf("a") == UUIDOf("b") {
		t.Error("a UUID does not follow from the name alone")
	}
}
