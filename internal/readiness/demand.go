package readiness

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Demand is how sure it is that the shoulder meets a demand of work or sport.
type Demand struct {
	Row *protocol.Demand
	// Verdict is that of the criterion that is met the least surely. A criterion that was
	// not measured leaves it not clear at best, and so does what holds it.
	Verdict  measure.Certainty
	Criteria []DemandCriterion
	// Holds are what keeps the verdict from being met, whatever the criteria say.
	Holds []DemandHold
}

// HeldBy reports whether something keeps the verdict from being met.
func (d *Demand) HeldBy(h DemandHold) bool { return slices.Contains(d.Holds, h) }

// Missing are the criteria that the latest session did not measure.
func (d *Demand) Missing() (missing []*DemandCriterion) {
	for i := range d.Criteria {
		if d.Criteria[i].Verdict == NotMeasured {
			missing = append(missing, &d.Criteria[i])
		}
	}
	return missing
}

// Weakest is the criterion that is met the least surely of those that were measured, nil
// if none was.
func (d *Demand) Weakest() (weakest *DemandCriterion) {
	for i := range d.Criteria {
		c := &d.Criteria[i]
		if c.Certainty != measure.NoCertainty && (weakest == nil || c.Certainty < weakest.Certainty) {
			weakest = c
		}
	}
	return weakest
}

// DemandKind is what a criterion of a demand asks for.
type DemandKind uint8

// The kinds.
const (
	DemandIndex   DemandKind = iota // the limb symmetry index of a motion in a position
	DemandRange                     // an active range
	DemandPain                      // the worst pain of an occasion
	DemandMeasure                   // an outcome measure
	DemandWeeks                     // weeks since the repair
)

// DemandKinds lists the kinds.
var DemandKinds = [...]DemandKind{DemandIndex, DemandRange, DemandPain, DemandMeasure, DemandWeeks}

// String is the code of the kind in the project's code system.
func (k DemandKind) String() string {
	return [...]string{"demand-index", "demand-range", "demand-pain", "demand-measure", "demand-weeks"}[k]
}

// DemandHold is what keeps a demand from being met, whatever its criteria say.
type DemandHold uint8

// What holds a demand. One of the first four keeps functional work closed, so that
// HeldByStatus is named only where none of them is.
const (
	HeldByFlag    DemandHold = iota // a red flag: the shoulder is examined first
	HeldByDoubt                     // a measurement is to be repeated or confirmed
	HeldByConcern                   // a finding that nobody may pass over
	HeldByRecord                    // some of the record is missing
	HeldByHealing                   // the repair does not yet bear it, or a statement forbids it
	HeldByStatus                    // functional work is not open
)

// DemandHolds lists what can hold a demand.
var DemandHolds = [...]DemandHold{HeldByFlag, HeldByDoubt, HeldByConcern, HeldByRecord, HeldByHealing, HeldByStatus}

// String is the code of the reason in the project's code system.
func (h DemandHold) String() string {
	return [...]string{
		"held-by-red-flag", "held-by-doubt", "held-by-finding", "held-by-incomplete-record", "held-by-healing", "held-by-status",
	}[h]
}

// DemandCriterion is the verdict on one criterion of a demand.
type DemandCriterion struct {
	Kind      DemandKind
	Motion    shoulder.Motion          // of an index
	Position  shoulder.ArmPosition     // of an index, or of the range of a rotation
	Movement  shoulder.Movement        // of a range
	Occasion  shoulder.PainContext     // of a pain
	Outcome   *protocol.OutcomeMeasure // nil for other kinds
	Threshold protocol.Threshold

	// Verdict is that of the measured value alone, Certainty how sure it is: none where
	// nothing was measured, or where it does not apply.
	Verdict   Verdict
	Certainty measure.Certainty
	Value     *exact.Number
	When      time.Time
	Sources   []shoulder.SourceID
}

// met enters a measured value with how sure it is that it meets the threshold.
func (c *DemandCriterion) met(value exact.Number, certainty measure.Certainty, when time.Time, sources []shoulder.SourceID) {
	c.Value, c.Certainty, c.When, c.Sources = &value, certainty, when, sources
	c.Verdict = verdictOf(c.Threshold.Met(value))
}

// demands judges each demand of the protocol. Everything is asked of the latest session
// alone, so that a value left out never brings back a better one.
func (j *judge) demands(r *Readiness) []Demand {
	if j.before || len(j.p.Demands) == 0 {
		return nil
	}
	all := make([]Demand, len(j.p.Demands))
	for i := range all {
		d := &all[i]
		d.Row = &j.p.Demands[i]
		d.Criteria, d.Holds = j.demandCriteria(d.Row, r), r.holds(d.Row)
		d.Verdict = d.verdict(r)
	}
	return all
}

func (d *Demand) verdict(r *Readiness) measure.Certainty {
	verdict := measure.ClearlyMet
	for i := range d.Criteria {
		switch c := &d.Criteria[i]; c.Verdict {
		case NotApplicable:
		case NotMeasured:
			verdict = min(verdict, measure.NotClear)
		default:
			verdict = min(verdict, c.Certainty)
		}
	}
	for _, h := range d.Holds {
		if h == HeldByHealing && r.Tissue.Healing.Basis != healing.Unknown && r.Tissue.Healing.Basis != healing.Unread {
			return measure.ClearlyNot // what a repair bears is no measurement
		}
		verdict = min(verdict, measure.NotClear)
	}
	return verdict
}

// holds are what keeps a demand from being met: whatever keeps functional work closed,
// and a phase of healing that does not permit it.
func (r *Readiness) holds(d *protocol.Demand) (holds []DemandHold) {
	for _, h := range [...]struct {
		hold  DemandHold
		holds bool
	}{
		{HeldByFlag, r.Examine()},
		{HeldByDoubt, len(r.Doubts) > 0},
		{HeldByConcern, len(r.Concerns) > 0},
		{HeldByRecord, r.Incomplete},
		{HeldByHealing, r.Tissue.Healing.Phase < d.PermittedLoad},
	} {
		if h.holds {
			holds = append(holds, h.hold)
		}
	}
	if len(holds) == 0 && r.Overall != ReadyForFunctional {
		return []DemandHold{HeldByStatus}
	}
	return holds
}

// CriteriaOf are the criteria of a demand, nothing of them measured.
func CriteriaOf(d *protocol.Demand, p *protocol.Protocol) (all []DemandCriterion) {
	for i := range d.Index {
		for _, motion := range d.Index[i].Motions {
			for _, position := range d.Index[i].Positions {
				all = append(all, DemandCriterion{Kind: DemandIndex, Motion: motion, Position: position, Threshold: d.Index[i].Threshold})
			}
		}
	}
	for _, x := range d.Range {
		all = append(all, DemandCriterion{Kind: DemandRange, Movement: x.Movement, Position: x.Position, Threshold: x.Threshold})
	}
	for _, x := range d.Pain {
		all = append(all, DemandCriterion{Kind: DemandPain, Occasion: x.Occasion, Threshold: x.Threshold})
	}
	for _, x := range d.Measures {
		all = append(all, DemandCriterion{Kind: DemandMeasure, Outcome: p.Outcome(x.Measure), Threshold: x.Threshold})
	}
	if d.Repair != nil {
		all = append(all, DemandCriterion{Kind: DemandWeeks, Threshold: *d.Repair})
	}
	return all
}

func (j *judge) demandCriteria(d *protocol.Demand, r *Readiness) []DemandCriterion {
	all := CriteriaOf(d, j.p)
	for i := range all {
		switch c := &all[i]; c.Kind {
		case DemandIndex:
			j.demandIndex(c, r)
		case DemandRange:
			j.demandRange(c)
		case DemandPain:
			j.demandPain(c)
		case DemandMeasure:
			j.demandMeasure(c)
		case DemandWeeks:
			j.demandWeeks(c, &r.Tissue.Healing)
		}
	}
	return all
}

// demandIndex asks for an index of which the latest session measured both sides. One that
// is in doubt shows nothing for the demand, and still counts against it.
func (j *judge) demandIndex(c *DemandCriterion, r *Readiness) {
	at := r.find(c.Motion, c.Position)
	if at == nil {
		return
	}
	most, s := measure.ClearlyMet, at.Symmetry
	if at.Doubted != nil {
		most, s = measure.NotClear, at.Doubted
	}
	if s != nil && j.fresh(s.Involved.Session) && j.fresh(s.Comparison.Session) {
		c.met(s.Index, min(most, measure.CertaintyOf(s.ProbabilityAtLeast(c.Threshold.Value, j.p), j.p)), s.When, s.Sources())
	}
}

// find is a motion in a position; nil if it was not tested there.
func (r *Readiness) find(motion shoulder.Motion, position shoulder.ArmPosition) *PositionReadiness {
	for i := range r.Motions {
		for k := range r.Motions[i].Positions {
			if r.Motions[i].Motion == motion && r.Motions[i].Positions[k].Position == position {
				return &r.Motions[i].Positions[k]
			}
		}
	}
	return nil
}

func (j *judge) demandRange(c *DemandCriterion) {
	for i := range j.m.Ranges {
		r := &j.m.Ranges[i]
		asked := r.Movement == c.Movement && r.Position == c.Position && r.Active && r.Side == j.episode.Involved
		if asked && j.counts(r.Session, r.When) && c.isWorse(r.Degrees) {
			c.met(r.Degrees, j.certainty(c, r.Degrees, j.p.Range.Change), r.When, r.Sources)
		}
	}
}

// counts reports whether a measurement is of the latest session, and not too old by now.
func (j *judge) counts(session int, when time.Time) bool { return j.fresh(session) && j.current(when) }

// isWorse reports whether a value meets the threshold by less than the one so far: of
// several of the latest day the worst counts.
func (c *DemandCriterion) isWorse(value exact.Number) bool {
	return c.Value == nil || c.Threshold.Margin(value).Cmp(c.Threshold.Margin(*c.Value)) < 0
}

// certainty is how sure it is that the true value meets the threshold, by the smallest
// difference of two such values that counts as a change.
func (j *judge) certainty(c *DemandCriterion, value exact.Number, change protocol.Threshold) measure.Certainty {
	return measure.CertaintyOfMargin(c.Threshold.Margin(value), change.Value, j.p)
}

func (j *judge) demandPain(c *DemandCriterion) {
	if worst := j.freshPain(c.Occasion); worst != nil && j.current(worst.When) {
		c.met(worst.Score, j.certainty(c, worst.Score, j.p.Pain.Change), worst.When, worst.Sources)
	}
}

func (j *judge) demandMeasure(c *DemandCriterion) {
	for i := range j.m.Outcomes {
		s := &j.m.Outcomes[i]
		if s.Measure == c.Outcome && j.counts(s.Session, s.When) && c.isWorse(s.Value) {
			c.met(s.Value, j.certainty(c, s.Value, s.Measure.Detectable), s.When, s.Sources)
		}
	}
}

// demandWeeks asks for weeks since the repair. Without a repair there is nothing to wait
// for; one without a date may have been yesterday.
func (j *judge) demandWeeks(c *DemandCriterion, h *healing.State) {
	switch {
	case h.Repair == nil:
		c.Verdict = NotApplicable
	case h.Dated():
		c.met(h.Weeks(), measure.CertaintyOfFact(c.Threshold.Met(h.Weeks())), j.asOf, []shoulder.SourceID{h.Repair.Source})
	}
}
