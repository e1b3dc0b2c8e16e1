package intake

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// appendIdentity appends what identifies a finding and its version: the business
// identifier or address, and the version that the sender states. A digest of the content
// takes the place of a version that is not stated, so that a corrected value is another
// input.
func (f *finding) appendIdentity(b []byte) []byte {
	name := f.entry.stableName()
	b = append(b, name...)
	if version := f.entry.meta().VersionID; name != "" && version != "" {
		return append(append(b, "/_history/"...), version...)
	}
	digest := f.digest()
	return hex.AppendEncode(append(b, '#'), digest[:digestBytes])
}

// stableName is the identifier of the entry that is most likely the same in the next
// request.
func (e *entry) stableName() string {
	switch id := firstIdentifier(e.common.Identifier); {
	case id.Value != "":
		return identifierText(id)
	case e.storedAt != "":
		return e.storedAt
	case isHTTP(e.fullURL):
		return e.fullURL
	case e.common.ID != "":
		return e.resource.Type() + "/" + e.common.ID
	}
	return e.fullURL
}

func identifierText(id fhir.Identifier) string {
	if id.Value == "" {
		return ""
	}
	return id.System + "|" + id.Value
}

// digestBytes is the length of a content digest: enough for two inputs of one
// patient never to meet.
const digestBytes = 16

// digest is that of the content of a finding, as it was understood.
func (f *finding) digest() [sha256.Size]byte {
	b := make([]byte, 0, 512)
	for _, part := range [...]string{
		rules[f.kind].name, f.motion.String(), f.movement.String(), strconv.FormatBool(f.active),
		f.written, f.side.String(), strconv.Itoa(int(f.sides)), f.position.String(), f.support.String(),
		f.contraction.String(), f.instrument.String(), f.context.String(), strconv.FormatBool(f.painful),
		f.received,
	} {
		b = append(append(b, part...), 0)
	}
	return sha256.Sum256(f.appendStated(b))
}

// appendStated appends the fields that only findings of its kind have.
func (f *finding) appendStated(b []byte) []byte {
	switch f.kind {
	case permit:
		b = append(b, f.phase.String()...)
	case repair:
		b = append(b, f.repaired.String()...)
	case outcome:
		b = append(b, f.outcome.ID...)
	case confirmation:
		var names []string
		for _, target := range f.confirms {
			names = append(names, target.entry.stableName())
		}
		slices.Sort(names)
		b = append(b, strings.Join(slices.Compact(names), "\x00")...)
	}
	return b
}

// sortFindings puts the findings into their canonical order, by time, then
// identity, and numbers them.
func (r *reader) sortFindings() {
	slices.SortFunc(r.findings, func(a, b *finding) int {
		if byTime := a.when.time.Compare(b.when.time); byTime != 0 {
			return byTime
		}
		if byIdentity := strings.Compare(a.identity, b.identity); byIdentity != 0 {
			return byIdentity
		}
		return strings.Compare(a.entry.target().key, b.entry.target().key)
	})
	for i, f := range r.findings {
		f.source = shoulder.SourceID(i)
	}
}

// sources describes the findings in their canonical order.
func (r *reader) sources() []Source {
	sources := make([]Source, len(r.findings))
	for i, f := range r.findings {
		sources[i] = Source{
			Path:      r.texts.Of(f.entry.appendPath(r.scratch[:0])),
			Reference: f.entry.reference(),
			Identity:  f.identity,
			When:      f.when.time,
			Received:  f.received,
			Kind:      f.entry.resource.Type(),
		}
	}
	return sources
}

// maxPerformers is how many performers a measurement can have. A longer list
// tells nothing about who measured.
//
// Source: ours.
const maxPerformers = 100

// examinerKey is equal for the same set of performers. Organisations are left out.
func (r *reader) examinerKey(performers []fhir.Reference, from *entry) string {
	if len(performers) > maxPerformers {
		return ""
	}
	var people []string
	for i := range performers {
		performer := &performers[i]
		typeName, key := "", ""
		if performer.Reference != "" && !isContained(performer.Reference) {
			t := r.resolve(&r.caches.performers, performer.Reference, from)
			typeName, key = t.typeName, t.tail
		} else if performer.Identifier != nil {
			key = identifierText(*performer.Identifier)
		}
		switch cmp.Or(typeName, performer.TypeName) {
		case "Organization", "CareTeam", "Patient", "RelatedPerson":
			continue
		}
		if key != "" {
			people = append(people, key)
		}
	}
	slices.Sort(people)
	return strings.Join(people, " ")
}
