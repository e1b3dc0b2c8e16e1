package wording

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

func (c *Catalogue) Side(s shoulder.Side) string               { return s.String() }
func (c *Catalogue) Rotation(r shoulder.Rotation) string       { return r.String() }
func (c *Catalogue) Position(p shoulder.ArmPosition) string    { return p.String() }
func (c *Catalogue) Support(s shoulder.Support) string         { return s.String() }
func (c *Catalogue) Contraction(k shoulder.Contraction) string { return k.String() }
func (c *Catalogue) Instrument(i shoulder.Instrument) string   { return i.String() }
func (c *Catalogue) Dimension(d shoulder.Dimension) string     { return d.String() }
func (c *Catalogue) Movement(m shoulder.Movement) string       { return m.String() }
func (c *Catalogue) PainContext(p shoulder.PainContext) string { return p.String() }
func (c *Catalogue) Grade(g shoulder.MuscleGrade) string       { return g.String() }
func (c *Catalogue) Step(s readiness.Step) string              { return s.String() }
func (c *Catalogue) Overall(o readiness.Overall) string        { return o.String() }
func (c *Catalogue) Verdict(v readiness.Verdict) string        { return v.String() }
func (c *Catalogue) Rule(r readiness.Rule) string              { return r.String() }
func (c *Catalogue) Basis(b readiness.Basis) string            { return b.String() }
func (c *Catalogue) Certainty(k measure.Certainty) string      { return k.String() }
func (c *Catalogue) Direction(d measure.Direction) string      { return d.String() }
func (c *Catalogue) Against(a measure.Against) string          { return a.String() }
func (c *Catalogue) Mismatch(m measure.Mismatch) string        { return m.String() }
func (c *Catalogue) Condition(k measure.Condition) string      { return k.String() }
func (c *Catalogue) Outlook(o measure.Outlook) string          { return o.String() }
func (c *Catalogue) Place(p measure.Place) string              { return p.String() }
func (c *Catalogue) Irritability(i plan.Irritability) string   { return i.String() }
func (c *Catalogue) Mode(m plan.Mode) string                   { return m.String() }
func (c *Catalogue) Purpose(p plan.Purpose) string             { return p.String() }
func (c *Catalogue) Cue(k plan.Cue) string                     { return k.String() }
func (c *Catalogue) Caution(k plan.Caution) string             { return k.String() }
func (c *Catalogue) Ask(a plan.Ask) string                     { return a.String() }
func (c *Catalogue) Why(w plan.Why) string                     { return w.String() }
func (c *Catalogue) Aim(a plan.Aim) string                     { return a.String() }
func (c *Catalogue) Achievement(a plan.Achievement) string     { return a.String() }
func (c *Catalogue) Kind(k fault.Kind) string                  { return k.Display() }

// Unit is how a UCUM unit is written for people, such as "N m" for N.m.
func (c *Catalogue) Unit(ucum string) string { return ucum }
