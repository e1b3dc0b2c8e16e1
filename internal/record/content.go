package record

import (
	"crypto/sha256"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// contentDigest digests what a resource of the answer says: all of it but what it refers to
// and what its storage adds. Of the report it leaves out what was found wrong with the
// input, whose places follow the order of the entries.
func (b *builder) contentDigest(resource fhir.Resource) [contentBytes]byte {
	b.written = b.written[:0]
	switch r := resource.(type) {
	case *fhir.CarePlan, *fhir.Goal:
		b.written = appendPlanned(b.written, r)
	case *fhir.Observation:
		c := &b.bare
		*c = *r
		c.Common = fhir.Common{Text: r.Text}
		c.Subject, c.Encounter, c.Device, c.HasMember, c.DerivedFrom = nil, nil, nil, nil, nil
		b.written = fhirjson.AppendContent(b.written, c)
	case *fhir.DetectedIssue:
		c := *r
		c.Common = fhir.Common{Text: r.Text, Language: r.Language}
		c.Patient, c.Author, c.Evidence = nil, nil, nil
		b.written = fhirjson.AppendContent(b.written, &c)
	case *fhir.DiagnosticReport:
		c := *r
		c.Common = fhir.Common{Language: r.Language}
		c.Subject, c.Encounter, c.Result, c.PresentedForm = nil, nil, nil, nil
		b.written = fhirjson.AppendContent(b.written, &c)
		sum := sha256.Sum256(b.report.Judgement())
		b.written = append(b.written, sum[:]...)
	}
	return digestOf(b.written)
}

func digestOf(content []byte) [contentBytes]byte {
	sum := sha256.Sum256(content)
	return [contentBytes]byte(sum[:])
}

// appendPlanned appends what a CarePlan or a Goal says, so that it is the same when a
// record has stored it: a record gives what is referred to another address, writes a
// number as it likes, and may make a narrative of its own.
func appendPlanned(out []byte, resource fhir.Resource) []byte {
	switch r := resource.(type) {
	case *fhir.CarePlan:
		c := *r
		c.Common = withoutStorage(c.Common)
		c.Subject, c.Encounter, c.Author, c.Replaces, c.SupportingInfo = nil, nil, nil, nil, nil
		return fhirjson.AppendContent(out, &c)
	case *fhir.Goal:
		c := *r
		c.Common = withoutStorage(c.Common)
		c.Subject, c.OutcomeReference = nil, nil
		return fhirjson.AppendContent(out, &c)
	}
	return out
}

// withoutStorage leaves out what tells nothing: address, version, identifiers and
// the narrative, which says the same once more.
func withoutStorage(c fhir.Common) fhir.Common {
	c.ID, c.Meta, c.Identifier, c.Text = "", nil, nil, nil
	return c
}
