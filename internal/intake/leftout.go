package intake

import (
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// leftOut are the Observations of one code that are outside the scope: a record may send
// thousands, which are reported by one issue.
type leftOut struct {
	leftOutKey
	first   *entry
	element string // of the first one, which the issue is about
	count   int
}

type leftOutKey struct {
	detail string
	code   code // zero for no code, and for all codes beyond maxLeftOut
}

// maxLeftOut is how many codes are reported separately.
//
// Source: ours; more than anybody reads.
const maxLeftOut = 100

// leaveOut counts an Observation outside the scope under its first code.
func (r *reader) leaveOut(e *entry, element, detail string, concept *fhir.CodeableConcept) {
	key := leftOutKey{detail: detail}
	if len(concept.Coding) > 0 {
		key.code = code{concept.Coding[0].Code, concept.Coding[0].System}
	}
	at, known := r.leftOutAt[key]
	if !known && len(r.leftOut) >= maxLeftOut {
		key.code = code{}
		at, known = r.leftOutAt[key]
	}
	if known {
		r.leftOut[at].count++
		return
	}
	if r.leftOutAt == nil {
		r.leftOutAt = map[leftOutKey]int{}
	}
	r.leftOutAt[key] = len(r.leftOut)
	r.leftOut = append(r.leftOut, leftOut{key, e, element, 1})
}

// reportLeftOut adds one issue a code with the number of Observations that were left out,
// or the path of a single one. A code comes from the input, so it is quoted in the answer
// only.
func (r *reader) reportLeftOut() {
	for _, l := range r.leftOut {
		if l.count == 1 {
			r.note(l.first.pathBase(), l.element, fault.NotRead, l.detail, "")
			continue
		}
		r.issues = append(r.issues, fault.Issue{
			Severity: fault.Information, Kind: fault.NotRead, Path: r.root, Detail: l.detail,
			Diagnostic: "found " + strconv.Itoa(l.count) + " Observations" + withCode(l.code),
		})
	}
}

func withCode(c code) string {
	if c == (code{}) {
		return ""
	}
	return " with the code " + quote(c.system+"|"+c.code)
}
