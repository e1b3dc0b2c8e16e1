package record

import (
	"bytes"
	"crypto/sha256"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// contentOf digests what a resource of the answer says: all of it but what it refers to
// and what its storage adds. Of the report it leaves out what was found wrong with the
// input, whose places follow the order of the entries.
func (b *builder) contentOf(resource fhir.Resource) (digest [saysBytes]byte) {
	switch r := resource.(type) {
	case *fhir.CarePlan, *fhir.Goal:
		return plannedContent(r)
	case *fhir.Observation:
		c := &b.bare
		*c = *r
		c.Common = fhir.Common{Text: r.Text}
		c.Subject, c.Encounter, c.Device, c.HasMember, c.DerivedFrom = nil, nil, nil, nil, nil
		b.written = fhirjson.AppendResource(b.written[:0], c)
	case *fhir.DetectedIssue:
		c := *r
		c.Common = fhir.Common{Text: r.Text, Language: r.Language}
		c.Patient, c.Author, c.Evidence = nil, nil, nil
		b.written = fhirjson.AppendResource(b.written[:0], &c)
	case *fhir.DiagnosticReport:
		c := *r
		c.Common = fhir.Common{Language: r.Language}
		c.Subject, c.Encounter, c.Result, c.PresentedForm = nil, nil, nil, nil
		b.written = append(fhirjson.AppendResource(b.written[:0], &c), b.report.Judgement()...)
	}
	sum := sha256.Sum256(b.written)
	copy(digest[:], sum[:])
	return digest
}

// plannedContent digests what a CarePlan or a Goal says, so that it is the same when a
// record has stored it: a record gives what is referred to another address, writes a
// number as it likes, and may make a narrative of its own.
func plannedContent(resource fhir.Resource) (digest [saysBytes]byte) {
	var written []byte
	switch r := resource.(type) {
	case *fhir.CarePlan:
		c := *r
		c.Common = withoutStorage(c.Common)
		c.Subject, c.Encounter, c.Author, c.Replaces, c.SupportingInfo = nil, nil, nil, nil, nil
		written = fhirjson.Encode(&c)
	case *fhir.Goal:
		c := *r
		c.Common = withoutStorage(c.Common)
		c.Subject, c.OutcomeReference = nil, nil
		written = fhirjson.Encode(&c)
	}
	sum := sha256.Sum256(appendNormal(nil, written))
	copy(digest[:], sum[:])
	return digest
}

// withoutStorage leaves out what tells nothing: address, version, identifiers and
// the narrative, which says the same once more.
func withoutStorage(c fhir.Common) fhir.Common {
	c.ID, c.Meta, c.Identifier, c.Text = "", nil, nil, nil
	return c
}

// appendNormal appends compact JSON without the addresses in references, and with
// decimals as short as they can be. It is for a digest only: commas stay.
func appendNormal(out, json []byte) []byte {
	for i := 0; i < len(json); {
		end := i + 1
		switch c := json[i]; {
		case c == '"':
			end = endOfString(json, i)
			if next, is := addressBehind(json, i, end); is {
				i = next
				continue
			}
			out = append(out, json[i:end]...)
		case c == '-' || c >= '0' && c <= '9':
			end = endOfNumber(json, i)
			out = append(out, shortest(json[i:end])...)
		default:
			out = append(out, c)
		}
		i = end
	}
	return out
}

// endOfString is behind the closing quotation mark of the string that begins at i.
func endOfString(json []byte, i int) int {
	for i++; i < len(json) && json[i] != '"'; i++ {
		if json[i] == '\\' {
			i++
		}
	}
	return min(i+1, len(json))
}

// addressBehind reports whether the string from i to end is the name of a reference's
// address, and where that ends.
func addressBehind(json []byte, i, end int) (int, bool) {
	const separator = `:"`
	if string(json[i:end]) != `"reference"` || !bytes.HasPrefix(json[end:], []byte(separator)) {
		return 0, false
	}
	return endOfString(json, end+len(separator)-1), true
}

func endOfNumber(json []byte, i int) int {
	for i < len(json) && bytes.IndexByte([]byte("+-.0123456789Ee"), json[i]) >= 0 {
		i++
	}
	return i
}

// shortest leaves out the zeros at the end of a decimal.
func shortest(number []byte) []byte {
	if bytes.IndexByte(number, '.') < 0 || bytes.ContainsAny(number, "eE") {
		return number
	}
	return bytes.TrimSuffix(bytes.TrimRight(number, "0"), []byte("."))
}
