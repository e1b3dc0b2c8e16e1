package fhirjson

import (
	"strings"

	"evenreach.example/internal/fhir"
)

// AppendContent appends what a resource says, to be digested: every element that Encode
// writes, such that it stays the same when a server has stored the resource. So it has
// no address of a reference, only that there is one, and decimals are as short as they
// can be. Strings stand behind their length without escapes: it is no JSON, and takes
// less time. Resources that say something different give different bytes.
func AppendContent(dst []byte, r fhir.Resource) []byte {
	e := encoder{out: dst, content: true}
	e.resource(r)
	return e.out
}

// shortest leaves out the zeros at the end of a decimal. One with an exponent stays.
func shortest(d fhir.Decimal) fhir.Decimal {
	if !strings.Contains(string(d), ".") || strings.ContainsAny(string(d), "eE") {
		return d
	}
	return fhir.Decimal(strings.TrimSuffix(strings.TrimRight(string(d), "0"), "."))
}
