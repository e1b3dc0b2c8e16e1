package cdshooks

import (
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// readPrefetch reads what was sent under a key, which becomes an entry of the Input. One entry that is not FHIR R4
// concerns only itself, as in every Bundle: the red flag of the others must be heard. So does a Patient that is not.
// A Bundle that is not one refuses the call, because nobody knows what it holds. The error is always *fault.Errors.
func readPrefetch(key string, text jsontext.Value, entry int) (fhir.Resource, error) {
	place := "Bundle.entry[" + strconv.Itoa(entry) + "].resource"
	resource, err := fhirjson.DecodeInput(text, fhir.DefaultLimits)
	switch {
	case err == nil:
		rebase(resource, "Bundle", place)
		return resource, nil
	case slices.Contains(needed, key):
		return nil, under("prefetch."+key, err)
	}
	around := slices.Concat([]byte(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":`), text, []byte(`}]}`))
	whole, stillNone := fhirjson.DecodeInput(around, fhir.DefaultLimits)
	bundle, ok := whole.(*fhir.Bundle)
	if stillNone != nil || !ok || len(bundle.Entry) != 1 {
		return nil, under("prefetch."+key, err)
	}
	rebase(bundle, "Bundle.entry[0].resource", place)
	return bundle.Entry[0].Resource, nil
}

// rebase puts the places of the problems of malformed entries under another place.
func rebase(resource fhir.Resource, from, to string) {
	switch resource := resource.(type) {
	case *fhir.Bundle:
		for i := range resource.Entry {
			rebase(resource.Entry[i].Resource, from, to)
		}
	case *fhir.Malformed:
		for i := range resource.Issues {
			if rest, ok := strings.CutPrefix(resource.Issues[i].Path, from); ok {
				resource.Issues[i].Path = to + rest
			}
		}
		rebase(resource.Read, from, to)
	}
}
