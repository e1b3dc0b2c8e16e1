package wording

import (
	"cmp"
	"strconv"
	"strings"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// level is the verdict on strength in a position.
type level uint8

const (
	levelNotMeasured level = iota
	levelNoYardstick
	levelUnlike
	levelApart
	levelStale
	levelTooWeak
	levelGoodEnough
	levelGradeWeak
	levelGradeGood
	levelEvenOnce
	levelEven
	levelDoubted
	levelRetained
	levelWasEven
	levelStronger
	levelNotStronger
	levelFirst
	levelComparisonWeaker
	levelComparisonHurts
	levelComparisonLow
	levelTooFaint
)

// Level is the verdict on strength in a position in a few words: "good enough, not even".
func (c *Catalogue) Level(p *readiness.PositionReadiness, noUnaffectedSide bool) string {
	return c.fill(term(c.terms.level, levelOf(p, noUnaffectedSide)), c.Grade(p.Grade))
}

// LevelShort is Level in three words at most.
func (c *Catalogue) LevelShort(p *readiness.PositionReadiness, noUnaffectedSide bool) string {
	return c.fill(term(c.terms.levelShort, levelOf(p, noUnaffectedSide)), c.Grade(p.Grade))
}

// InDoubt says that a value has to be repeated or confirmed; it fits a narrow column.
func (c *Catalogue) InDoubt() string { return term(c.terms.levelShort, levelDoubted) }

func levelOf(p *readiness.PositionReadiness, noUnaffectedSide bool) level {
	good := p.GoodEnough.Verdict == readiness.Met
	switch p.GoodEnough.Basis {
	case readiness.Doubted:
		return levelDoubted
	case readiness.TooFaint:
		return levelTooFaint
	case readiness.ManualTest:
		return either(good, levelGradeGood, levelGradeWeak)
	case readiness.ChangeFromFirst:
		return either(good, levelStronger, levelNotStronger)
	}
	switch {
	case p.Confirmed.Verdict == readiness.Met:
		return levelEven
	case p.Confirmed.Basis == readiness.ComparisonHurts:
		return levelComparisonHurts
	case p.Confirmed.Basis == readiness.ComparisonLow:
		return levelComparisonLow
	case p.Confirmed.Basis == readiness.ComparisonWeaker:
		return levelComparisonWeaker
	case p.Even.Verdict == readiness.Met:
		return levelEvenOnce
	case p.GoodEnough.Basis == readiness.Retained:
		return levelRetained
	case p.WasEven != nil && good:
		return levelWasEven
	case good:
		return levelGoodEnough
	case p.GoodEnough.Verdict == readiness.NotMet:
		return levelTooWeak
	case noUnaffectedSide && p.Latest != nil:
		return levelFirst
	case noUnaffectedSide:
		return levelNoYardstick
	case p.Stale != nil:
		return levelStale
	case p.TestedApart():
		return levelApart
	case p.Unpaired != nil:
		return levelUnlike
	}
	return levelNotMeasured
}

func either(yes bool, a, b level) level {
	if yes {
		return a
	}
	return b
}

// Symmetry is a limb symmetry index with its interval and how it was measured: a sentence.
// The thresholds are those with which it is compared.
func (c *Catalogue) Symmetry(s *measure.Symmetry, thresholds ...protocol.Threshold) string {
	parts := []string{
		c.fill(c.phrases.indexOf, c.MotionAt(s.Motion, s.Position),
			c.fill(c.phrases.sideValue, c.Side(s.Involved.Side), c.Involved(s)),
			c.fill(c.phrases.sideValue, c.Side(s.Comparison.Side), c.Comparison(s)),
			c.inUnit(c.Index(s.Index, thresholds...), "%")),
		c.interval(s.Interval, thresholds),
	}
	if how := c.Setting(s.Setting); how != "" {
		parts = append(parts, how)
	}
	return c.Sentence(strings.Join(append(parts, c.SymmetryNotes(s)...), c.phrases.partJoin))
}

// Involved writes the involved side's strength as it was compared.
func (c *Catalogue) Involved(s *measure.Symmetry) string { return c.compared(s.Involved, s.Dimension) }

// Comparison writes the comparison side's strength as it was compared.
func (c *Catalogue) Comparison(s *measure.Symmetry) string {
	return c.compared(s.Comparison, s.Dimension)
}

// compared is the score itself, or its torque if torques were compared.
func (c *Catalogue) compared(s *measure.Score, d shoulder.Dimension) string {
	if d == shoulder.Torque && s.Torque != nil {
		return c.Strength(*s.Torque, d)
	}
	return c.Strength(s.Value, s.Dimension)
}

// Strength writes a strength with its unit: "88.0 N".
func (c *Catalogue) Strength(value exact.Number, d shoulder.Dimension) string {
	return c.Quantity(value, d.Unit())
}

// Interval writes the limits of an index in per cent, without the unit: "52.2
// to 88.9", or that there are none.
func (c *Catalogue) Interval(i measure.Interval, thresholds ...protocol.Threshold) string {
	if i.Bounds != measure.Bounded {
		return c.phrases.noLimits
	}
	low, high := c.limits(i, thresholds)
	return c.fill(c.phrases.fromTo, low, high)
}

// limits writes the limits of a bounded interval.
func (c *Catalogue) limits(i measure.Interval, thresholds []protocol.Threshold) (low, high string) {
	limits := make([]float64, len(thresholds))
	for k, t := range thresholds {
		limits[k] = t.Value.Float64()
	}
	return c.localised(estimate(i.Low, limitPlaces(i.Low), limits...)), c.localised(estimate(i.High, limitPlaces(i.High), limits...))
}

// limitPlaces is how many decimal places a limit of an index is written with: none where
// the comparison side has next to no strength, and they would break the column.
func limitPlaces(percent float64) int {
	if percent >= 1000 {
		return 0
	}
	return strengthPlaces
}

func (c *Catalogue) interval(i measure.Interval, thresholds []protocol.Threshold) string {
	switch i.Bounds {
	case measure.Unbounded:
		return c.phrases.unbounded
	case measure.Exclusive:
		return c.phrases.exclusive
	}
	return c.fill(c.phrases.interval, c.Interval(i, thresholds...))
}

// Setting says how a strength was tested, as far as it is known: "make test,
// hand-held dynamometer, arm supported".
func (c *Catalogue) Setting(s measure.Setting) string {
	var known []string
	if s.Contraction != shoulder.ContractionUnstated {
		known = append(known, c.Contraction(s.Contraction))
	}
	if s.Instrument != shoulder.InstrumentUnstated {
		known = append(known, c.Instrument(s.Instrument))
	}
	if s.Support != shoulder.SupportUnstated {
		known = append(known, c.Support(s.Support))
	}
	return c.list(known)
}

// form is how a score was tested: "make, hand-held dynamometer".
func (c *Catalogue) form(s *measure.Score) string {
	return cmp.Or(c.Setting(s.Setting), c.phrases.formUnstated)
}

// SymmetryNotes are the notes without which an index could be misread.
func (c *Catalogue) SymmetryNotes(s *measure.Symmetry) (notes []string) {
	if s.CarriedForward {
		notes = append(notes, c.fill(c.phrases.carried, c.Side(s.Comparison.Side), c.Date(s.Comparison.When), strconv.Itoa(s.Days)))
	}
	notes = append(notes, c.dominance(s)...)
	if s.LeverEstimated {
		notes = append(notes, c.phrases.leverGuessed)
	}
	switch s.Interval.Bounds {
	case measure.Unbounded:
		notes = append(notes, c.phrases.unbounded)
	case measure.Exclusive:
		notes = append(notes, c.phrases.exclusive)
	}
	notes = append(notes, c.ScoreNotes(s.Involved)...)
	return append(notes, c.ScoreNotes(s.Comparison)...)
}

// dominance says that an index is corrected for the stronger dominant side, or what
// the published difference would do to it.
func (c *Catalogue) dominance(s *measure.Symmetry) []string {
	switch {
	case s.Dominance.Cmp(exact.Int(1)) != 0:
		return []string{c.fill(c.phrases.dominance, c.Number(s.Dominance, ratioPlaces))}
	case s.Dominant == shoulder.SideUnknown:
		return nil
	case s.Adjusted.Cmp(s.Index) == 0:
		return []string{c.fill(c.phrases.dominantNone, c.Side(s.Dominant))}
	}
	return []string{c.fill(c.phrases.dominantSide, c.Side(s.Dominant), c.inUnit(c.Index(s.Adjusted), "%"))}
}

// ByMassBand is a published band of strength by body mass: a phrase.
func (c *Catalogue) ByMassBand(b protocol.Band) string {
	return c.fill(c.phrases.byMassBand, c.Quantity(b.Low, "N/kg"), c.Quantity(b.High, "N/kg"))
}

// AgainstBest is the index against the best strength that the comparison side had: a
// phrase.
func (c *Catalogue) AgainstBest(s *measure.Symmetry, best *measure.Score, thresholds ...protocol.Threshold) string {
	index, ok := s.Against(best.Value)
	if !ok {
		return ""
	}
	return c.fill(c.phrases.againstBest, c.inUnit(c.Index(index, thresholds...), "%"), c.Date(best.When))
}

// ScoreNotes are notes on what makes a score less reliable: fewer trials than the protocol
// asks for, trials that vary, an outlier.
func (c *Catalogue) ScoreNotes(s *measure.Score) (notes []string) {
	side := c.Side(s.Side)
	switch {
	case s.FewTrials && s.Trials == 1:
		notes = append(notes, c.fill(c.phrases.trialSingle, side))
	case s.FewTrials:
		notes = append(notes, c.fill(c.phrases.trialsFew, side, strconv.Itoa(s.Trials)))
	}
	if s.Scattered {
		variation := c.inUnit(strconv.FormatFloat(s.Variation, 'f', strengthPlaces, 64), "%")
		notes = append(notes, c.fill(c.phrases.trialsVary, side, variation))
	}
	if s.Outlier >= 0 {
		notes = append(notes, c.fill(c.phrases.trialApart, side))
	}
	if s.Unlike != nil {
		notes = append(notes, c.fill(c.phrases.unlikeEarlier, side, c.score(s), c.form(s), c.score(s.Unlike), c.Date(s.Unlike.When), c.form(s.Unlike)))
	}
	return notes
}

// AlsoTested is an index of the same session under other conditions, which
// decides nothing.
func (c *Catalogue) AlsoTested(s *measure.Symmetry, thresholds ...protocol.Threshold) string {
	return c.fill(c.phrases.alsoTested, c.Setting(s.Setting), c.Involved(s), c.Comparison(s),
		c.inUnit(c.Index(s.Index, thresholds...), "%"))
}

// Together is what all sessions show together of a test: a phrase.
func (c *Catalogue) Together(t *course.TestCourse, goodEnough, even protocol.Threshold) string {
	limits, now := []float64{goodEnough.Value.Float64(), even.Value.Float64()}, t.Now()
	return c.fill(c.phrases.pooled, strconv.Itoa(t.Sessions),
		c.inUnit(estimate(now.Index, strengthPlaces, limits...), "%"),
		c.localised(estimate(now.Low, strengthPlaces, limits...)), c.localised(estimate(now.High, strengthPlaces, limits...)),
		c.Threshold(goodEnough), c.probability(100*now.GoodEnough), c.Threshold(even), c.probability(100*now.Even))
}

// asLikelyAsNot is the probability that no other is written as if it were. %
const asLikelyAsNot = 50

// probability writes a probability in whole per cent, and none as certain.
func (c *Catalogue) probability(percent float64) string {
	switch {
	case percent < 1:
		return c.fill(term(c.terms.comparison, protocol.LessThan), c.inUnit("1", "%"))
	case percent > 99:
		return c.fill(term(c.terms.comparison, protocol.MoreThan), c.inUnit("99", "%"))
	}
	return c.inUnit(estimate(percent, 0, asLikelyAsNot), "%")
}

// Unpaired says why a score could not be compared with the other side: a
// sentence.
func (c *Catalogue) Unpaired(u *measure.Unpaired) string {
	return c.sentence(c.phrases.unpaired, c.MotionAt(u.Involved.Motion, u.Involved.Position),
		c.Date(u.Involved.When), c.Mismatch(u.Reason))
}

// PerMass writes forces per kilogram of body mass, of the involved side and, if it is not
// nil, of the comparison side. The limits are those with which they are compared.
func (c *Catalogue) PerMass(involved, comparison *exact.Number, limits ...exact.Number) string {
	if comparison == nil {
		return c.fill(c.phrases.perMassOne, c.Quantity(*involved, "N/kg", limits...))
	}
	return c.fill(c.phrases.perMass, c.Quantity(*involved, "N/kg", limits...), c.Quantity(*comparison, "N/kg", limits...))
}

// Ratio is the external to internal rotation ratio of one or both sides in one position,
// with its published band: a sentence. It is empty without a ratio.
func (c *Catalogue) Ratio(sides ...*measure.Ratio) string {
	if len(sides) == 0 {
		return ""
	}
	texts := make([]string, len(sides))
	for i, r := range sides {
		texts[i] = c.fill(c.phrases.ratioSide, c.Side(r.External.Side),
			c.localised(roundClearOf(r.Value, ratioPlaces, r.Band.Low, r.Band.High)), c.BandRelation(r.Relation))
	}
	band := sides[0].Band
	return c.sentence(c.phrases.ratio, c.at(sides[0].External.Position),
		c.Number(band.Low, ratioPlaces), c.Number(band.High, ratioPlaces), strings.Join(texts, c.phrases.partJoin))
}
