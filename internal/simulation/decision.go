package simulation

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

const (
	evenShare    = 0.90
	seriousShare = 0.85
)

// Rule is a way to declare a shoulder ready.
type Rule uint8

// The rules.
const (
	SingleSession Rule = iota // all six indices are at least 90 today
	Product                   // what the product does
	rules
)

// String names the rule.
func (r Rule) String() string { return [...]string{"single session", "product"}[r] }

// Decisions counts what a rule decided about visits whose truth is known. Wrongly
// is declared ready with a test that is truly below 90 % of what the comparison
// side had at the first visit.
type Decisions struct {
	Declared, DeclaredWrongly, DeclaredSeriously int // of the declared, the truth below 90 and below 85
	First, FirstWrongly                          int // the first declaration of each patient
	Even, HeldBack                               int // of the truly even visits, those not declared
}

// count adds a visit, with the lowest of its true strengths.
func (d *Decisions) count(declared, first bool, lowest float64) {
	even := lowest >= evenShare
	add := func(n *int, when bool) {
		if when {
			*n++
		}
	}
	add(&d.Even, even)
	add(&d.HeldBack, even && !declared)
	add(&d.Declared, declared)
	add(&d.DeclaredWrongly, declared && !even)
	add(&d.DeclaredSeriously, declared && lowest < seriousShare)
	add(&d.First, declared && first)
	add(&d.FirstWrongly, declared && first && !even)
}

func allEvenToday(m *measure.Measurements, session int, p *protocol.Protocol) bool {
	even := 0
	for i := range m.Symmetries {
		if m.Symmetries[i].Session == session && p.Symmetry.Even.Met(m.Symmetries[i].Index) {
			even++
		}
	}
	return even == tests
}
