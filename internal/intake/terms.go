package intake

import (
	"cmp"
	"fmt"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// term is all that a code may mean, whatever element it stands in. Each element
// asks for the part that has a meaning there.
type term struct {
	measure   measure // nothing for a code that is no measurement
	computed  bool    // a result of ours
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

// terms are the codes that Observations are made of, gathered from the lists of
// their parts, so that a code is looked up once.
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

// CheckOutcomes finds outcome measures with a code that means something else already,
// and so would never be read as theirs.
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

// addTerms adds one part of what codes mean.
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

// understood is a code with its meaning in the site's codes and in ours.
type understood struct {
	meaning
	term   *term
	isOurs bool // of our code system
}

// noTerm is what a code means that is in no list.
var noTerm = &term{}

// understand looks up a coding of an element.
func (r *reader) understand(known *memory[code, understood], c *fhir.Coding) understood {
	own := code{c.Code, c.System}
	u, ok := known.recall(own)
	if !ok {
		u = understood{meaning: r.codes.translate(own), term: noTerm}
		u.isOurs = u.system == fhir.SystemShoulder
		if t := cmp.Or(terms[u.code], r.outcomes[u.code]); t != nil {
			u.term = t
		}
		known.keep(own, u)
	}
	return u
}

// ourCoding is the first coding of a concept that means one of our code system,
// and its index. It reports false if there is none.
func (r *reader) ourCoding(known *memory[code, understood], concept *fhir.CodeableConcept) (u understood, i int, ok bool) {
	for i := range concept.Coding {
		if u := r.understand(known, &concept.Coding[i]); u.isOurs {
			return u, i, true
		}
	}
	return understood{term: noTerm}, 0, false
}
