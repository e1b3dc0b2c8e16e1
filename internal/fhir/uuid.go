package fhir

import (
	"crypto/sha256"

	"github.com/google/uuid"
)

// namespace is the UUID namespace of the project.
var namespace = uuidIn(uuid.NameSpaceURL, CanonicalBase)

// UUIDOf is the UUID of a name within the project, which is given in parts: one of
// version 8, made of a SHA-256 where version 5 has a SHA-1, which FIPS 140-3 mode refuses.
//
// Source: RFC 9562, sections 5.8 and 6.5, and appendix B.2.
func UUIDOf(name ...string) uuid.UUID { return uuidIn(namespace, name...) }

func uuidIn(space uuid.UUID, name ...string) uuid.UUID {
	text := append(make([]byte, 0, 128), space[:]...) // 128 hold most names without an allocation
	for _, part := range name {
		text = append(text, part...)
	}
	sum := sha256.Sum256(text)
	id := uuid.UUID(sum[:16])
	id[6] = id[6]&0x0f | 0x80 // version 8
	id[8] = id[8]&0x3f | 0x80 // the variant of RFC 9562
	return id
}
