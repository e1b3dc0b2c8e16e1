package protocol

import (
	"fmt"
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Demand is something that work or sport asks of a shoulder, such as work overhead,
// with the criteria that a clinic holds a return to it against. It is a row: whatever
// has one is judged, shown and written, with no code of its own.
type Demand struct {
	ID string `json:"id"` // tells the demand from the others; part of identifiers
	// Title is the name by language, a BCP 47 tag; English stands in for a language
	// that has none.
	Title map[string]string `json:"title"`
	// PermittedLoad is the phase of healing that a repair must permit: functional work,
	// or sport with load or contact.
	PermittedLoad shoulder.LoadPhase `json:"permittedLoad"`
	// The criteria. Each is asked of the latest session, and the one that is met the
	// least surely decides. Index alone is refused: strength that is even on both sides
	// says nothing about whether the arm reaches, endures or hurts.
	Index []IndexCriterion `json:"index,omitzero"`
	Range []RangeCriterion `json:"range,omitzero"`
	Pain  []PainCriterion  `json:"pain,omitzero"`
	// Measures are criteria of outcome measures: scores that the patient reports, and
	// tests of endurance.
	Measures []MeasureCriterion `json:"measures,omitzero"`
	// Repair asks for weeks since the repair, where there was one; nil asks for no more
	// than the phase of healing does.
	Repair *Threshold `json:"repair,omitzero"`
	Source string     `json:"source"` // of the list of criteria
}

// IndexCriterion asks for the limb symmetry index of each motion in each position, %.
type IndexCriterion struct {
	Motions   []shoulder.Motion      `json:"motions"`
	Positions []shoulder.ArmPosition `json:"positions"`
	Threshold
}

// RangeCriterion asks for the active range of a movement of the involved side, degrees.
type RangeCriterion struct {
	Movement shoulder.Movement `json:"movement"`
	// Position is that of the arm, of a rotation whose range is recorded with one.
	Position shoulder.ArmPosition `json:"position,omitzero"`
	Threshold
}

// PainCriterion limits the worst pain of an occasion, 0 to 10.
type PainCriterion struct {
	Occasion shoulder.PainContext `json:"occasion"`
	Threshold
}

// MeasureCriterion asks for a value of an outcome measure of the protocol, in its unit.
type MeasureCriterion struct {
	Measure string `json:"measure"` // its id
	Threshold
}

// mostDemands and mostCriteria bound the work of an assessment. Ours.
const (
	mostDemands  = 20
	mostCriteria = 30
)

func (p *Protocol) checkDemands(c *checker) {
	c.require(len(p.Demands) <= mostDemands, "demands", "must be at most %d", mostDemands)
	ids := map[string]bool{}
	for i := range p.Demands {
		d, at := &p.Demands[i], fmt.Sprintf("demands.%d", i)
		c.requireRow(at, d.ID, ids, d.Title, d.Source, "the criteria come from")
		c.require(d.PermittedLoad >= shoulder.LoadFunctional, at+".permittedLoad", "must be %s or %s", shoulder.LoadFunctional, shoulder.LoadSport)
		c.require(len(d.Range)+len(d.Pain)+len(d.Measures) > 0, at,
			"must have a criterion of range, pain or measures: even strength alone, or time alone, is no reason to return to anything")
		d.check(c, at, p)
	}
}

func (d *Demand) check(c *checker, at string, p *Protocol) {
	k := criterionChecker{checker: c, found: map[any]bool{}}
	for i := range d.Index {
		k.index(&d.Index[i], fmt.Sprintf("%s.index.%d", at, i))
	}
	for i := range d.Range {
		r, at := &d.Range[i], fmt.Sprintf("%s.range.%d", at, i)
		c.require(r.Movement != shoulder.MovementUnknown, at+".movement", "must name the movement")
		c.require(r.Position == shoulder.PositionUnstated || r.Movement >= shoulder.ExternalRotation, at+".position", "must be left out: only a rotation has a position of the arm")
		k.once(at, [2]any{r.Movement, r.Position})
		k.threshold(at, &r.Threshold, RangeScale)
	}
	for i := range d.Pain {
		x, at := &d.Pain[i], fmt.Sprintf("%s.pain.%d", at, i)
		c.require(x.Occasion != shoulder.PainUnstated, at+".occasion", "must name the occasion")
		k.once(at, x.Occasion)
		k.threshold(at, &x.Threshold, PainScale)
	}
	for i := range d.Measures {
		m, at := &d.Measures[i], fmt.Sprintf("%s.measures.%d", at, i)
		k.once(at, m.Measure)
		if row := p.Outcome(m.Measure); row != nil {
			k.threshold(at, &m.Threshold, row.Scale)
		} else {
			c.require(false, at+".measure", "must be the id of one of outcomeMeasures")
		}
	}
	if d.Repair != nil {
		k.threshold(at+".repair", d.Repair, weeksScale)
	}
	c.require(k.n <= mostCriteria, at, "must have at most %d criteria", mostCriteria)
}

// The scales of the thresholds that no measure has.
var (
	indexScale = Scale{Unit: "%", Minimum: exact.Int(1), Maximum: exact.Int(150), Better: Higher}
	weeksScale = Scale{Unit: "wk", Maximum: exact.Int(208), Better: Higher}
)

// criterionChecker checks the criteria of one demand.
type criterionChecker struct {
	*checker
	found map[any]bool // what the criteria so far are about
	n     int
}

// index: each motion and position is a criterion of its own.
func (k *criterionChecker) index(x *IndexCriterion, at string) {
	k.require(len(x.Motions) > 0, at+".motions", "must name a motion")
	k.require(len(x.Positions) > 0, at+".positions", "must name a position")
	for _, motion := range x.Motions {
		for _, position := range x.Positions {
			if motion == shoulder.MotionUnknown || position == shoulder.PositionUnstated {
				continue // not known by its name, which is said already
			}
			k.require(motion.IsTestedIn(position), at+".positions", "%s is not tested in %s", motion, position)
			k.once(at, [2]any{motion, position})
		}
	}
	k.threshold(at, &x.Threshold, indexScale)
}

// once: two criteria of one thing would be one, or contradict each other.
func (k *criterionChecker) once(at string, about any) {
	k.require(!k.found[about], at, "asks twice for %v", about)
	k.found[about] = true
	k.n++
}

// threshold: one turned round would open what it should hold.
func (k *criterionChecker) threshold(at string, t *Threshold, s Scale) {
	if s.Better == Higher {
		k.require(t.Comparison == AtLeast || t.Comparison == MoreThan, at+".comparison", "must be >= or >")
	} else {
		k.require(t.Comparison == AtMost || t.Comparison == LessThan, at+".comparison", "must be <= or <")
	}
	k.require(s.Holds(t.Value), at+".value", "must be from %s to %s %s", s.Minimum, s.Maximum, s.Unit)
	k.require(t.Unit == s.Unit, at+".unit", "must be %s", s.Unit)
	k.require(t.Source != "", at+".source", "must name where the value comes from")
}

// Sources are where the list of criteria and each threshold come from, each once.
func (d *Demand) Sources() []string {
	all := []string{d.Source}
	for i := range d.Index {
		all = append(all, d.Index[i].Source)
	}
	for i := range d.Range {
		all = append(all, d.Range[i].Source)
	}
	for i := range d.Pain {
		all = append(all, d.Pain[i].Source)
	}
	for i := range d.Measures {
		all = append(all, d.Measures[i].Source)
	}
	if d.Repair != nil {
		all = append(all, d.Repair.Source)
	}
	var once []string
	for _, source := range all {
		if !slices.Contains(once, source) {
			once = append(once, source)
		}
	}
	return once
}
