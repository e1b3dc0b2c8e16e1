package record

import (
	"cmp"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

const softwareName = "Evenreach"

// version of the software; a development build has none.
func (b *builder) version() string { return cmp.Or(b.o.Version, "development") }

// addDevice adds the software with its version. It is the same Device for all
// patients.
func (b *builder) addDevice() {
	version := b.version()
	id := fhir.Identifier{System: fhir.SystemSoftware, Value: version}
	d := &fhir.Device{
		Status:     "active",
		DeviceName: []fhir.DeviceName{{Name: softwareName, Kind: "model-name"}},
		Version:    []fhir.DeviceVersion{{Value: version}},
	}
	d.Identifier = []fhir.Identifier{id}
	ref := b.addAs(d, id, condition(id))
	b.device = &ref
}

// Source: FHIR R4 4.0.1, CodeSystem provenance-participant-type; assembler is a
// device that generates something new from existing data.
var (
	assembler = hl7(fhir.SystemParticipant, "assembler")
	create    = hl7(fhir.SystemDataOperation, "CREATE")
)

// addProvenance adds the inputs, the software and the protocol from which the results were
// made.
//
// R4 gives a Provenance no identifier, and within a transaction its target
// cannot be searched for. So the identifier's value is its tag, and _tag, which
// every type is searchable by, is the condition of its creation.
//
// There is no clock here: the time of recording is the evaluation time, so that
// a replay gives the same bytes. When the record stored it is in its own
// meta.lastUpdated.
func (b *builder) addProvenance() {
	p := &fhir.Provenance{
		Target:   b.computed,
		Occurred: fhir.DateTime(b.dateTime(b.a.AsOf)),
		Recorded: b.instant(b.a.AsOf),
		Policy:   []string{b.protocolCanonical(), digestURI(b.a.Protocol.Digest())},
		Activity: &create,
		Agent:    []fhir.Agent{{Kind: &assembler, Who: *b.device}},
		Entity:   b.entities(),
	}
	id := fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(b.provenanceID(p))}
	p.Meta = &fhir.Meta{Tag: []fhir.Coding{{System: id.System, Code: id.Value}}}
	b.addAs(p, id, "_tag="+id.System+"|"+id.Value)
}

// digestURI is a URI of the content of a protocol by its digest, hexadecimal SHA-256.
//
// Source: RFC 6920, sections 3 and 8.2 (hexadecimal in the nih scheme).
func digestURI(digest string) string { return "nih:sha-256;" + digest }

// provenanceID is the identifier of the Provenance of a day's results: a digest of their
// content, the protocol and the inputs.
func (b *builder) provenanceID(p *fhir.Provenance) resultID {
	said := b.written[:0]
	for _, id := range b.identifiers {
		said = appendParts(said, id.question, id.content, id.copy)
	}
	said = appendParts(said, p.Policy...)
	for i := range p.Entity {
		what := &p.Entity[i].What
		said = appendParts(said, what.Reference, what.Display)
		if what.Identifier != nil {
			said = appendParts(said, what.Identifier.System, what.Identifier.Value)
		}
	}
	content := digestOf(said)
	return resultID{shoulder: b.shoulder, question: b.questionDigest(p.Type(), "provenance", b.date(b.a.AsOf)), content: b.hex(content[:])}
}

// entities are the inputs, each with its value as received, and the protocol.
// The protocol is a logical reference: a record need not hold it.
func (b *builder) entities() []fhir.ProvenanceEntity {
	entities := make([]fhir.ProvenanceEntity, 0, len(b.inputs.sources)+1)
	b.inputs.round++
	for i := range b.inputs.sources {
		if !b.inputs.markListed(shoulder.SourceID(i)) {
			continue
		}
		what := b.inputs.references[i]
		what.Display = b.inputs.sources[i].Received
		entities = append(entities, fhir.ProvenanceEntity{Role: "source", What: what})
	}
	return append(entities, fhir.ProvenanceEntity{Role: "derivation", What: fhir.Reference{
		TypeName:   "PlanDefinition",
		Identifier: &fhir.Identifier{System: fhir.SystemURI, Value: b.protocolCanonical()},
		Display:    b.a.Protocol.Title,
	}})
}
