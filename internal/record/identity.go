package record

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"net/url"
	"slices"
	"time"

	"github.com/google/uuid"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
)

// namespace is the UUID namespace of the answers' urn:uuids.
var namespace = uuid.NewSHA1(uuid.NameSpaceURL, []byte(fhir.CanonicalBase))

// inputDigest digests what an answer is computed from. The order of the inputs
// plays no part.
func inputDigest(a *assess.Assessment, reading *intake.Reading) (digest [32]byte) {
	p := a.Protocol.Ref()
	identities := make([]string, len(reading.Sources))
	for i := range reading.Sources {
		identities[i] = reading.Sources[i].Identity
	}
	slices.Sort(identities)
	h := sha256.New()
	writeParts(h, p.ID, p.Version, p.Digest, reading.Patient, a.Episode.Involved.String(), a.AsOf.Format(time.RFC3339Nano))
	writeParts(h, identities...)
	h.Sum(digest[:0])
	return digest
}

// episodeDigest digests what stays the same while one shoulder is rehabilitated
// by one protocol, whichever its version.
func episodeDigest(a *assess.Assessment, reading *intake.Reading) (digest [32]byte) {
	h := sha256.New()
	writeParts(h, a.Protocol.ID, reading.Patient, a.Episode.Involved.String())
	h.Sum(digest[:0])
	return digest
}

// writeParts writes each part behind its length, so that no two lists of parts
// give the same bytes.
func writeParts(h hash.Hash, parts ...string) {
	var length [8]byte
	var text []byte
	for _, part := range parts {
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		text = append(append(text[:0], length[:]...), part...)
		h.Write(text) // a hash never fails
	}
}

// valueBytes is how much of the digest an identifier's value holds: 128 bits,
// so that no two results ever meet.
const valueBytes = 16

// value is the value of the identifier of a resource. The key tells apart what
// the digested has several of.
func (b *builder) value(digest [32]byte, typeName, key string) string {
	b.scratch = append(append(append(append(b.scratch[:0], digest[:]...), typeName...), 0), key...)
	sum := sha256.Sum256(b.scratch)
	var text [2 * valueBytes]byte
	hex.Encode(text[:], sum[:valueBytes])
	return b.texts.Of(text[:])
}

// urn is the fullUrl of the entry with an identifier: a UUID of version 5.
//
// Source: RFC 9562, section 5.5; FHIR R4 4.0.1, uuid (lower case).
func (b *builder) urn(id fhir.Identifier) string {
	b.scratch = append(append(append(b.scratch[:0], id.System...), '|'), id.Value...)
	return uuid.NewSHA1(namespace, b.scratch).URN()
}

// add adds a resource of the answer under an identifier of its own, and returns
// how to refer to it.
func (b *builder) add(resource fhir.Resource, common *fhir.Common, key string) fhir.Reference {
	id := fhir.Identifier{System: fhir.SystemResult, Value: b.value(b.digest, resource.Type(), key)}
	b.identify(common, id)
	return b.addAs(resource, id, b.join("identifier=", id.System, "|", id.Value))
}

func (b *builder) identify(common *fhir.Common, id fhir.Identifier) {
	common.Identifier = b.identifiers.Take(1)
	common.Identifier[0] = id
}

// addPlanned adds a part of the plan: like any other resource, or as an update
// of the one that the shoulder has already.
func (b *builder) addPlanned(resource fhir.Resource, common *fhir.Common, key string) fhir.Reference {
	if b.o.Output != LivingTransaction {
		return b.add(resource, common, key)
	}
	id := fhir.Identifier{System: fhir.SystemResult, Value: b.value(b.episode, resource.Type(), key)}
	b.identify(common, id)
	update := &fhir.Request{Method: "PUT", URL: resource.Type() + "?identifier=" + id.System + "|" + id.Value}
	return b.addEntry(fhir.Entry{FullURL: b.urn(id), Resource: resource, Request: update})
}

// addAs adds a resource that is created unless the condition finds it. The
// condition is a search without the leading question mark.
func (b *builder) addAs(resource fhir.Resource, id fhir.Identifier, unless string) fhir.Reference {
	entry := fhir.Entry{FullURL: b.urn(id), Resource: resource}
	if b.o.Output.posted() {
		entry.Request = b.requests.One()
		*entry.Request = fhir.Request{Method: "POST", URL: resource.Type(), IfNoneExist: unless}
	}
	return b.addEntry(entry)
}

func (b *builder) addEntry(entry fhir.Entry) fhir.Reference {
	b.entries = append(b.entries, entry)
	return fhir.Reference{Reference: entry.FullURL}
}

// condition is the search for an identifier whose value may need escaping.
func condition(id fhir.Identifier) string {
	return "identifier=" + id.System + "|" + url.QueryEscape(id.Value)
}
