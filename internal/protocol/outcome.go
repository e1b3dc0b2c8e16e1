package protocol

import (
	"fmt"

	"evenreach.example/internal/exact"
)

// Scale is what measures of one number have in common: their unit, the values that
// they can have, both ends included, and which way is the better.
type Scale struct {
	Unit    string       `json:"unit"` // UCUM
	Minimum exact.Number `json:"minimum"`
	Maximum exact.Number `json:"maximum"`
	Better  Better       `json:"better"`
}

// Holds reports whether a value is on the scale.
func (s *Scale) Holds(x exact.Number) bool {
	return x.Cmp(s.Minimum) >= 0 && x.Cmp(s.Maximum) <= 0
}

// The scales that are built in. What is particular to pain and to range, such as
// the occasions of pain, stands where it is decided about.
//
// Source: the numeric rating scale of pain goes from 0 to 10; the upper limit of a
// range is a limit of plausibility, common practice.
var (
	PainScale  = Scale{Unit: "{score}", Maximum: exact.Int(10), Better: Lower}
	RangeScale = Scale{Unit: "deg", Maximum: exact.Int(220), Better: Higher}
)

// OutcomeMeasure is a measure of one number that a clinic adds, such as a score that
// the patient reports. It is a row: whatever has one is read, shown, followed over the
// sessions and written, with no code of its own.
type OutcomeMeasure struct {
	ID string `json:"id"` // tells the measure from the others; part of identifiers
	// Codes are those of the Observations that are read; the first one is written.
	Codes []Code `json:"codes"`
	// Title is the name by language, a BCP 47 tag; English stands in for a language
	// that has none.
	Title map[string]string `json:"title"`
	Scale
	// Detectable is the smallest change beyond measurement error, Important the
	// smallest that matters to a patient, nil if none is known.
	Detectable Threshold  `json:"detectable"`
	Important  *Threshold `json:"important,omitzero"`
	// Gate holds every step back until it is met, and functional work until it was met
	// in the latest session; nil holds nothing.
	Gate   *Threshold `json:"gate,omitzero"`
	Source string     `json:"source"` // of the measure itself
}

// Code is a code of a code system.
type Code struct {
	System  string `json:"system"`
	Code    string `json:"code"`
	Display string `json:"display,omitzero"`
}

// Better is which way a scale improves.
type Better uint8

// The directions. The zero Better is none.
const (
	NoDirection Better = iota
	Higher
	Lower
)

var betterNames = [...]string{"", "higher", "lower"}

// String is the direction's name in the protocol file.
func (b Better) String() string { return betterNames[b] }

// MarshalText writes the name.
func (b Better) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText reads higher or lower.
func (b *Better) UnmarshalText(text []byte) error {
	for i, name := range betterNames {
		if i > 0 && name == string(text) {
			*b = Better(i)
			return nil
		}
	}
	return fmt.Errorf("better %q: expected higher or lower", text)
}

// Outcome finds an outcome measure by its id; nil if there is none.
func (p *Protocol) Outcome(id string) *OutcomeMeasure {
	for i := range p.OutcomeMeasures {
		if p.OutcomeMeasures[i].ID == id {
			return &p.OutcomeMeasures[i]
		}
	}
	return nil
}

// mostOutcomes bounds the work of an assessment. Ours.
const mostOutcomes = 50

func (p *Protocol) checkOutcomes(c *checker) {
	c.require(len(p.OutcomeMeasures) <= mostOutcomes, "outcomeMeasures", "must be at most %d", mostOutcomes)
	ids, codes := map[string]bool{}, map[Code]bool{}
	for i := range p.OutcomeMeasures {
		m, path := &p.OutcomeMeasures[i], fmt.Sprintf("outcomeMeasures.%d", i)
		c.requireRow(path, m.ID, ids, m.Title, m.Source, "the measure comes from")
		c.require(len(m.Codes) > 0, path+".codes", "must have a code")
		for k, code := range m.Codes {
			at := fmt.Sprintf("%s.codes.%d", path, k)
			c.require(code.System != "" && code.Code != "", at, "must have a system and a code")
			code.Display = ""
			c.require(!codes[code], at, "stands twice")
			codes[code] = true
		}
		m.checkScale(c, path)
	}
}

func (m *OutcomeMeasure) checkScale(c *checker, path string) {
	c.require(m.Unit != "", path+".unit", "must be a UCUM unit")
	c.require(m.Unit != PainScale.Unit || m.Minimum.Sign() == 0 && m.Maximum.Cmp(PainScale.Maximum) == 0, path+".unit",
		"must be another unit, such as {points}: {score} is read as 0 to 10")
	c.require(below(m.Minimum, m.Maximum), path+".minimum", "must be below maximum")
	c.require(m.Better != NoDirection, path+".better", "must be higher or lower")
	m.checkChange(c, path+".detectable", &m.Detectable)
	if m.Important != nil {
		m.checkChange(c, path+".important", m.Important)
	}
	if g := m.Gate; g != nil {
		higher := g.Comparison == AtLeast || g.Comparison == MoreThan
		c.require(g.Comparison != NoComparison && higher == (m.Better == Higher), path+".gate.comparison", "must be >= or > if higher is better, else <= or <")
		c.require(m.Holds(g.Value), path+".gate.value", "must be from minimum to maximum")
		m.checkThreshold(c, path+".gate", g)
	}
}

// checkChange checks the threshold of a change.
func (m *OutcomeMeasure) checkChange(c *checker, path string, t *Threshold) {
	c.require(t.Comparison == AtLeast || t.Comparison == MoreThan, path+".comparison", "must be >= or >")
	c.require(t.Value.Sign() > 0 && t.Value.Cmp(m.Maximum.Sub(m.Minimum)) <= 0, path+".value", "must be above 0 and at most maximum - minimum")
	m.checkThreshold(c, path, t)
}

func (m *OutcomeMeasure) checkThreshold(c *checker, path string, t *Threshold) {
	c.require(t.Unit == m.Unit, path+".unit", "must be %s", m.Unit)
	c.require(t.Source != "", path+".source", "must name where the value comes from")
}
