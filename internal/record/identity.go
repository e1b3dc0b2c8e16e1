package record

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"net/url"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// The bytes that an identifier keeps of each digest. By all of them no two results are expected to
// have one identifier, and by those of the question no two of one shoulder. Source: ours.
const (
	shoulderBytes = 8
	questionBytes = 6
	contentBytes  = 8
	goalsBytes    = 4
)

// resultID is the value of the identifier of a result: digests in hexadecimal, with hyphens
// between them. It has nothing of the inputs' addresses, versions and notes, and nothing
// of the software's version: the same finding has the same identifier, and a corrected
// value, another protocol or a mended rule gives another one where they change what is
// said, and only there.
type resultID struct {
	shoulder string // of the patient and the side: see shoulderDigest
	question string // of type, key and day: see builder.questionDigest
	content  string // of what the result says: see builder.contentDigest; for a plan also of its goals
	copy     string // "2" and so on for a result that says again what was withdrawn; else empty
}

// textOf is the value of the identifier.
func (b *builder) textOf(id resultID) string {
	if id.copy != "" {
		return b.join(id.shoulder, "-", id.question, "-", id.content, "-", id.copy)
	}
	return b.join(id.shoulder, "-", id.question, "-", id.content)
}

// shoulderDigest digests the identity of a patient, as intake.Reading has it, and a side.
func shoulderDigest(patient string, side shoulder.Side) string {
	sum := sha256.Sum256(appendParts(nil, patient, side.String()))
	return hex.EncodeToString(sum[:shoulderBytes])
}

// questionDigest digests the question that a resource answers, such as what the symmetry index
// of a motion and position is on a day. A shoulder has one valid answer to each. The key tells apart
// resources of one type. The day is empty for a plan and its goals, which go on over
// time. The protocol has no part in it: an answer by another protocol replaces the one before.
func (b *builder) questionDigest(typeName, key, day string) string {
	b.scratch = append(append(append(append(append(append(b.scratch[:0],
		b.a.Episode.Involved.String()...), 0), typeName...), 0), key...), 0)
	sum := sha256.Sum256(append(b.scratch, day...))
	return b.hex(sum[:questionBytes])
}

func (b *builder) hex(digest []byte) string {
	b.scratch = hex.AppendEncode(b.scratch[:0], digest)
	return b.texts.Of(b.scratch)
}

// identifierOf is the identifier of a resource of the answer.
func (b *builder) identifierOf(resource fhir.Resource, key string) resultID {
	content := b.contentDigest(resource)
	id := resultID{shoulder: b.shoulder, question: b.questionDigest(resource.Type(), key, dayOf(resource)), content: b.hex(content[:])}
	if _, ok := resource.(*fhir.CarePlan); ok {
		b.written = b.written[:0]
		for _, goal := range b.goalIDs {
			b.written = appendParts(b.written, goal.question, goal.content)
		}
		sum := sha256.Sum256(b.written)
		id.content += hex.EncodeToString(sum[:goalsBytes])
	}
	return id
}

// dayOf is the day of a result as it is written, the last one of a period; empty for
// what goes on over time.
func dayOf(resource fhir.Resource) string {
	switch r := resource.(type) {
	case *fhir.Observation:
		return dayIn(r.Effective)
	case *fhir.DiagnosticReport:
		return dayIn(r.Effective)
	case *fhir.DetectedIssue:
		return dayIn(r.Identified)
	}
	return ""
}

func dayIn(when fhir.Value) string {
	text := ""
	switch when := when.(type) {
	case fhir.DateTime:
		text = string(when)
	case *fhir.Period:
		text = when.End
	}
	return text[:min(len(text), len("2006-01-02"))]
}

// appendParts appends each part behind its length, so that no two lists of parts
// give the same bytes.
func appendParts(out []byte, parts ...string) []byte {
	for _, part := range parts {
		out = append(binary.BigEndian.AppendUint64(out, uint64(len(part))), part...)
	}
	return out
}

// urn is the fullUrl of the entry with an identifier.
//
// Source: FHIR R4 4.0.1, uuid (lower case).
func (b *builder) urn(id fhir.Identifier) string {
	return fhir.UUIDOf(id.System, "|", id.Value).URN()
}

// add adds a resource of the answer under an identifier of its own, and returns
// how to refer to it: what the record has already, under whatever address it has
// there.
func (b *builder) add(resource fhir.Resource, common *fhir.Common, key string) fhir.Reference {
	id := b.identifierOf(resource, key)
	b.identifiers = append(b.identifiers, id)
	if b.o.Output.posted() {
		if ref, settled := b.settle(resource, common, &id); settled {
			return ref
		}
	}
	return b.create(resource, common, id)
}

// create adds a resource that is new.
func (b *builder) create(resource fhir.Resource, common *fhir.Common, id resultID) fhir.Reference {
	identifier := b.identify(common, id)
	ref := b.addAs(resource, identifier, b.join("identifier=", identifier.System, "|", identifier.Value))
	b.computed = append(b.computed, ref)
	return ref
}

func (b *builder) identify(common *fhir.Common, id resultID) fhir.Identifier {
	common.Identifier = b.given.Take(1)
	common.Identifier[0] = fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(id)}
	return common.Identifier[0]
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
