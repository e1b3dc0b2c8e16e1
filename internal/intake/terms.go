package intake

import (
	"cmp"
	"fmt"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// term holds all meanings of a code, whatever element it stands in. The reader of each
// element uses the field that applies there.
type term struct {
	measure   measure // zero for a code that is no measurement
	computed  bool    // a result of this service
	site      site
	isSite    bool // a body site or a side
	component components

	// The values of the components, and of the method.
	position    shoulder.ArmPosition
	support     shoulder.Support
	contraction shoulder.Contraction
	instrument  shoulder.Instrument
	context     shoulder.PainContext

	loadPhase   shoulder.LoadPhase
	isLoadPhase bool
}

// terms are all codes that Observations may have, joined from the tables of their
// elements, so that one lookup finds every meaning.
var terms = allTerms()

func allTerms() map[code]*term {
	all := map[code]*term{}
	addTerms(all, measures, func(t *term, m measure) { t.measure = m })
	addTerms(all, computed, func(t *term, is bool) { t.computed = is })
	addTerms(all, sites, func(t *term, s site) { t.site, t.isSite = s, true })
	addOwnTerms(all, componentCodes, func(t *term, c components) { t.component = c })
	addOwnTerms(all, positions, func(t *term, p shoulder.ArmPosition) { t.position = p })
	addOwnTerms(all, supports, func(t *term, s shoulder.Support) { t.support = s })
	addOwnTerms(all, contractions, func(t *term, c shoulder.Contraction) { t.contraction = c })
	addOwnTerms(all, instruments, func(t *term, i shoulder.Instrument) { t.instrument = i })
	addOwnTerms(all, painContexts, func(t *term, c shoulder.PainContext) { t.context = c })
	addOwnTerms(all, loadPhases, func(t *term, p shoulder.LoadPhase) { t.loadPhase, t.isLoadPhase = p, true })
	return all
}

// outcomeTerms are the codes of the outcome measures of a protocol; nil without any.
func outcomeTerms(measures []protocol.OutcomeMeasure) map[code]*term {
	var all map[code]*term
	for i := range measures {
		for _, c := range measures[i].Codes {
			if all == nil {
				all = map[code]*term{}
			}
			all[code{c.Code, c.System}] = &term{measure: measure{kind: outcome, outcome: &measures[i]}}
		}
	}
	return all
}

// CheckOutcomes finds outcome measures with a code that has another meaning already, so
// that it would never be read as theirs.
func CheckOutcomes(p *protocol.Protocol) (problems protocol.Problems) {
	for i := range p.OutcomeMeasures {
		for k, c := range p.OutcomeMeasures[i].Codes {
			if terms[code{c.Code, c.System}] != nil || c.System == fhir.SystemShoulder {
				path := fmt.Sprintf("outcomeMeasures.%d.codes.%d", i, k)
				problems = append(problems, protocol.Problem{Path: path, Text: "is read as something else; expected a code that has no meaning here"})
			}
		}
	}
	return problems
}

// addTerms adds the codes of one table.
func addTerms[T any](all map[code]*term, part map[code]T, set func(*term, T)) {
	for c, value := range part {
		if all[c] == nil {
			all[c] = &term{}
		}
		set(all[c], value)
	}
}

// addOwnTerms is addTerms for codes of our code system.
func addOwnTerms[T any](all map[code]*term, part map[string]T, set func(*term, T)) {
	for c, value := range part {
		addTerms(all, map[code]T{ours(c): value}, set)
	}
}

// interpretedCode is a code with its meaning by the site's code map and by the tables of
// this package.
type interpretedCode struct {
	meaning
	term   *term
	isOurs bool // of our code system
}

// noTerm is the term of an unknown code.
var noTerm = &term{}

// interpret looks up a coding of an element.
func (r *reader) interpret(known *textCache[code, interpretedCode], c *fhir.Coding) interpretedCode {
	own := code{c.Code, c.System}
	u, ok := known.get(own)
	if !ok {
		u = interpretedCode{meaning: r.codes.translate(own), term: noTerm}
		u.isOurs = u.system == fhir.SystemShoulder
		if t := cmp.Or(terms[u.code], r.outcomes[u.code]); t != nil {
			u.term = t
		}
		known.put(own, u)
	}
	return u
}

// ourCoding is the first coding of a concept whose meaning is a code of the project's
// system, and its index. It reports false if there is none.
func (r *reader) ourCoding(known *textCache[code, interpretedCode], concept *fhir.CodeableConcept) (u interpretedCode, i int, ok bool) {
	for i := range concept.Coding {
		if u := r.interpret(known, &concept.Coding[i]); u.isOurs {
			return u, i, true
		}
	}
	return interpretedCode{term: noTerm}, 0, false
}
