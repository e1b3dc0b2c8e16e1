package simulation

import (
	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
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
	TwiceRunning              // and were so at the visit before
	Product                   // what the product does
	Model                     // the model alone: all six are even with a probability
	ModelAtNinety             // the model, and all six indices are at least 90 today
	rules
)

// String names the rule.
func (r Rule) String() string {
	return [...]string{"single session", "twice running", "product", "model alone", "model, and 90 today"}[r]
}

// Decisions counts what a rule decided about visits whose truth is known. Wrongly
// is declared ready with a test that is truly below 90 % of what the comparison
// side had at the first visit.
type Decisions struct {
	Declared, DeclaredWrongly, DeclaredSeriously int // of the declared, the truth below 90 and below 85
	First, FirstWrongly                          int // the first declaration of each patient
	Even, HeldBack                               int // of the truly even visits, those not declared
	// Late is the number of patients who were truly even and were declared then or
	// later, DaysLate the days in between, all together.
	Late, DaysLate int
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

// answer is everything that is known at a visit.
type answer struct {
	visit   int
	m       *measure.Measurements
	fell    bool           // by the detectable change of some test
	c       *course.Course // nil if it does not go up to the visit
	allEven float64        // by the model
	ready   *readiness.Readiness
}

// verdicts is what each rule says of a visit. Before is whether all six indices were
// at least 90 at the visit before.
func (a *answer) verdicts(p *protocol.Protocol, before bool) [rules]bool {
	today := allEvenToday(a.m, a.visit, p)
	model := a.c != nil && len(a.c.Days) > 1 && len(a.c.Deciding) == tests && 100*a.allEven >= p.Course.AllEven.Value.Float64()
	return [rules]bool{
		SingleSession: today, TwiceRunning: today && before, Product: a.ready.Overall == readiness.ReadyForFunctional,
		Model: model, ModelAtNinety: model && today,
	}
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
