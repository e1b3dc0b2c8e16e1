package wording

import (
	"slices"
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// usualSources is a little more than the lines that an assessment usually has.
const usualSources = 24

// Sources lists the rules that an assessment used, each with its threshold and its
// citation: sentences. Rules that were not used are left out.
func (c *Catalogue) Sources(a *assess.Assessment) []string {
	s := sourceList{words: c, assessment: a, protocol: a.Protocol, lines: make([]string, 0, usualSources)}
	s.alarms()
	s.strength()
	s.gates()
	s.course()
	s.demands()
	return s.lines
}

type sourceList struct {
	words      *Catalogue
	assessment *assess.Assessment
	protocol   *protocol.Protocol
	lines      []string
}

func (s *sourceList) add(statement string, sources ...string) {
	s.lines = append(s.lines, s.words.cited(statement, sources))
}

// cited is a statement with its sources, in sentences.
func (c *Catalogue) cited(statement string, sources []string) string {
	if len(sources) == 0 {
		return c.Sentence(statement)
	}
	cited := make([]string, len(sources))
	for i, source := range sources {
		cited[i] = c.Translated(source)
	}
	return c.sentence(c.phrases.cited, statement, strings.Join(cited, c.phrases.partJoin))
}

// alarms are the rules of the red flags and doubts that were raised.
func (s *sourceList) alarms() {
	r := s.assessment.Readiness
	for i := range r.Flags {
		f := &r.Flags[i]
		if f.Threshold.Source != "" {
			s.add(s.words.fill(s.words.phrases.ruleFlag, s.words.FlagName(f.Code), s.words.Limit(f.Threshold)), f.Threshold.Source)
		} else {
			s.add(s.words.fill(s.words.phrases.ruleFlag, s.words.FlagName(f.Code), s.words.Grade(s.protocol.RedFlag.Grade.Value)), s.protocol.RedFlag.Grade.Source)
		}
	}
	for _, d := range r.Doubts {
		s.add(s.words.fill(s.words.phrases.ruleDoubt, s.words.DoubtName(d.Doubt)), s.doubtSource(d.Doubt))
	}
}

func (s *sourceList) doubtSource(d measure.Doubt) string {
	p := &s.protocol.Doubt
	return [...]string{
		measure.TrialsDisagree: p.TrialRatio.Source, measure.SidesMayBeSwapped: p.IndexSingle.Source,
		measure.UnitMayBeWrong: p.UnitTolerance.Source, measure.ComparisonDeclined: p.ComparisonFall.Source,
	}[d]
}

// rule adds a criterion with its threshold.
func (s *sourceList) rule(r readiness.Rule, t protocol.Threshold) {
	s.add(s.words.fill(s.words.phrases.labelled, s.words.Rule(r), s.words.Threshold(t)), t.Source)
}

func (s *sourceList) strength() {
	p, phrases := s.protocol, &s.words.phrases
	if len(s.assessment.Measurements.Symmetries) > 0 {
		s.add(s.words.fill(phrases.ruleIndex, term(s.words.terms.scoreRule, p.Trials.Score)))
		s.rule(readiness.GoodEnough, p.Symmetry.GoodEnough)
		s.rule(readiness.Even, p.Symmetry.Even)
		s.certainty()
		s.add(s.words.fill(phrases.ruleConfirm, s.words.Threshold(p.Symmetry.ConfirmAfter), s.words.Threshold(p.Symmetry.ConfirmWithin),
			s.words.Threshold(p.Course.AllEven)), p.Symmetry.ConfirmAfter.Source, p.Course.AllEven.Source)
		s.add(s.words.fill(phrases.ruleLimits, s.words.Amount(p.Error.Interval)))
	}
	if s.assessment.Readiness.AllConfirmed() {
		s.add(phrases.ruleLatest, p.Symmetry.Latest.Source)
	}
	if c := s.assessment.Course; c != nil && len(c.Days) > 1 {
		s.add(s.words.fill(phrases.rulePooled, s.words.Amount(p.Course.Plateau)), p.Course.Plateau.Source)
	}
	for _, condition := range [...]measure.Condition{measure.Stabilised, measure.Usual, measure.Unstabilised} {
		if sem := s.errorOf(condition); sem != nil {
			s.add(s.words.fill(phrases.ruleError, s.words.Amount(*sem), s.words.Condition(condition)), sem.Source)
		}
	}
	if len(s.assessment.Measurements.Scores) > 0 {
		s.add(s.words.fill(phrases.ruleTrials, s.words.Amount(p.Trials.Share), s.words.Amount(p.Trials.Published),
			s.words.Quantity(p.Error.FloorForce.Value, p.Error.FloorForce.Unit)), p.Trials.Share.Source, p.Error.FloorForce.Source)
	}
	if s.anyGrade() {
		grade := p.Grade.GoodEnough
		wanted := s.words.fill(term(s.words.terms.comparison, grade.Comparison), s.words.Grade(grade.Value))
		s.add(s.words.fill(phrases.ruleGrade, wanted), grade.Source)
	}
}

// certainty defines the words for how sure a verdict is.
func (s *sourceList) certainty() {
	w, p := s.words, &s.protocol.Certainty
	s.add(w.fill(w.phrases.ruleCertainty, w.Threshold(p.Clear), w.Threshold(p.Probable), w.Certainty(measure.ClearlyMet), w.Certainty(measure.ProbablyMet),
		w.Certainty(measure.ProbablyNot), w.Certainty(measure.ClearlyNot), w.Certainty(measure.NotClear)), p.Clear.Source, p.Probable.Source)
}

// errorOf is the standard error of the scores measured under a condition, nil
// if there are none.
func (s *sourceList) errorOf(k measure.Condition) *protocol.Setting {
	scores := s.assessment.Measurements.Scores
	for i := range scores {
		if scores[i].Condition == k {
			return &scores[i].ErrorPercent
		}
	}
	return nil
}

func (s *sourceList) anyGrade() bool {
	return s.any(func(p *readiness.PositionReadiness) bool { return p.Grade != shoulder.GradeUnknown })
}

func (s *sourceList) any(holds func(*readiness.PositionReadiness) bool) bool {
	for i := range s.assessment.Readiness.Motions {
		for k := range s.assessment.Readiness.Motions[i].Positions {
			if holds(&s.assessment.Readiness.Motions[i].Positions[k]) {
				return true
			}
		}
	}
	return false
}

func (s *sourceList) gates() {
	p := s.protocol
	s.rule(readiness.RangeOpen, p.Range.Fraction)
	s.rule(readiness.RangeMinimum, p.Range.Minimum)
	s.rule(readiness.PainAcceptable, p.Pain.Gate)
	if h := &s.assessment.Readiness.Tissue.Healing; h.Repair != nil {
		for _, phase := range shoulder.LoadPhases[1:] {
			t := p.Tissue.After(phase, h.Massive)
			s.add(s.words.fill(s.words.phrases.rulePhase, s.words.LoadPhase(phase), s.words.Threshold(t)), t.Source)
		}
	}
}

// course adds the rules of changes, trends and ratios.
func (s *sourceList) course() {
	p, m, phrases := s.protocol, s.assessment.Measurements, &s.words.phrases
	changed := func(subject measure.Subject) bool {
		for i := range m.Changes {
			if m.Changes[i].Subject == subject {
				return true
			}
		}
		return false
	}
	if changed(measure.StrengthChange) {
		s.add(s.words.fill(phrases.ruleChange, s.words.Amount(p.Error.Change)), p.Error.Change.Source)
	}
	if changed(measure.RangeChange) {
		s.add(s.words.fill(phrases.ruleRange, s.words.Threshold(p.Range.Change), s.words.Threshold(p.Range.ChangeOtherExaminer)),
			p.Range.Change.Source, p.Range.ChangeOtherExaminer.Source)
	}
	if changed(measure.PainChange) {
		s.add(s.words.fill(phrases.rulePain, s.words.differenceThreshold(p.Pain.Change)), p.Pain.Change.Source)
	}
	for i := range p.OutcomeMeasures {
		s.outcome(&p.OutcomeMeasures[i])
	}
	if c := s.assessment.Course; c != nil && float64(len(c.Days)) >= p.Trend.Sessions.Value.Float64() {
		s.add(s.words.fill(phrases.ruleTrend, s.words.Threshold(p.Course.Reach), s.words.Quantity(p.Trend.Horizon.Value, p.Trend.Horizon.Unit)), p.Course.Reach.Source)
	}
	s.ratios(m.Ratios)
}

// outcome adds an outcome measure of which there is a value, with the thresholds of
// its change and its gate.
func (s *sourceList) outcome(m *protocol.OutcomeMeasure) {
	recorded := slices.ContainsFunc(s.assessment.Measurements.Outcomes, func(o measure.OutcomeScore) bool { return o.Measure == m })
	if !recorded && m.Gate == nil {
		return
	}
	name, phrases := s.words.Outcome(m), &s.words.phrases
	s.add(s.words.fill(phrases.ruleScale, name, s.words.figure(m.Minimum, m.Unit), s.words.Quantity(m.Maximum, m.Unit)), m.Source)
	s.add(s.words.fill(phrases.ruleOutcome, name, s.words.differenceThreshold(m.Detectable)), m.Detectable.Source)
	if m.Important != nil {
		s.add(s.words.fill(phrases.ruleImportant, name, s.words.differenceThreshold(*m.Important)), m.Important.Source)
	}
	if m.Gate != nil {
		s.add(s.words.fill(phrases.labelled, name, s.words.Threshold(*m.Gate)), m.Gate.Source)
	}
}

func (s *sourceList) ratios(ratios []measure.Ratio) {
	for _, position := range shoulder.TrainedPositions {
		for i := range ratios {
			if ratios[i].External.Position == position {
				s.add(s.words.fill(s.words.phrases.ruleBand, s.words.at(position)), ratios[i].Band.Source)
				break
			}
		}
	}
}

// differenceThreshold writes a threshold of a difference: "at least 2 of 10
// points".
func (c *Catalogue) differenceThreshold(t protocol.Threshold) string {
	return c.fill(term(c.terms.comparison, t.Comparison), c.differenceIn(inFull(t.Value), t.Unit))
}
