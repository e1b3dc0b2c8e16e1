package population

import (
	"bytes"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// transactionType is the name of the output of whole transactions.
const transactionType = "Transaction"

// results are the results for a record, as they were asked for.
func (c *caseOf) results() []Result {
	switch c.assessor.Results {
	case Transactions:
		return []Result{{transactionType, fhirjson.Encode(c.answer.Bundle)}}
	case Resources:
		return resourcesOf(c.answer.Bundle)
	}
	return nil
}

const urn = "urn:uuid:"

// resourcesOf are the new resources of a transaction, each with the id that its temporary
// address holds, and with references to it in the place of those to the address. The
// ids are digests of whose shoulder it is and what is said, so that importing twice stores
// once. What updates a resource that the record has keeps its id and version.
func resourcesOf(bundle *fhir.Bundle) []Result {
	addresses := make([]string, 0, 2*len(bundle.Entry))
	for i := range bundle.Entry {
		e := &bundle.Entry[i]
		if id, ok := strings.CutPrefix(e.FullURL, urn); ok && e.Resource != nil {
			addresses = append(addresses, e.FullURL, e.Resource.Type()+"/"+id)
		}
	}
	replacer := strings.NewReplacer(addresses...)
	var all []Result
	for i := range bundle.Entry {
		e := &bundle.Entry[i]
		if e.Resource == nil {
			continue
		}
		text := fhirjson.Encode(e.Resource)
		if id, ok := strings.CutPrefix(e.FullURL, urn); ok {
			text = withID(text, id)
		}
		all = append(all, Result{e.Resource.Type(), []byte(replacer.Replace(string(text)))})
	}
	return all
}

// withID gives a resource in JSON an id, behind its type.
func withID(text []byte, id string) []byte {
	comma := bytes.IndexByte(text, ',')
	if comma < 0 {
		comma = len(text) - 1
	}
	return append(append(append(make([]byte, 0, len(text)+len(id)+8), text[:comma]...), `,"id":"`+id+`"`...), text[comma:]...)
}
