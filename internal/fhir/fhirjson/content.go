package fhirjson

import (
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
)

// AppendContent appends what a resource says, to be digested: every element that Encode
// writes, such that it stays the same when a server has stored the resource. So it has
// no address of a reference, only that there is one, and decimals are as short as they
// can be. Strings stand behind their length without escapes, and a code system that was
// written before is its number: it is no JSON, and takes less time. Resources that say
// something different give different bytes.
func AppendContent(dst []byte, r fhir.Resource) []byte {
	e := encoder{out: dst, asContent: true}
	e.resource(r)
	return e.out
}

// systems are the code systems and others that were written.
type systems struct {
	list  [8]string // in the order in which they appear
	known int       // of them
}

// system writes a system: its number if it is known, else a 0 and the system, which is
// known from then on as long as there is room.
func (e *encoder) system(s string) {
	all := &e.systems
	at := slices.Index(all.list[:all.known], s)
	e.name("system")
	e.out = append(e.out, byte(at+1))
	if at >= 0 {
		return
	}
	e.quoted(s)
	if all.known < len(all.list) {
		all.list[all.known] = s
		all.known++
	}
}

// shortest leaves out the zeros at the end of a decimal. One with an exponent stays.
func shortest(d fhir.Decimal) fhir.Decimal {
	if !strings.Contains(string(d), ".") || strings.ContainsAny(string(d), "eE") {
		return d
	}
	return fhir.Decimal(strings.TrimSuffix(strings.TrimRight(string(d), "0"), "."))
}
