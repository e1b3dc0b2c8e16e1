package report

import (
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// course is healing, range and pain with their gates, and where strength is
// going. Healing that holds is among the reasons.
func (c composer) course() section {
	s := section{heading: c.w.Headings.Course}
	add := func(phrases []string) {
		for i := range phrases {
			phrases[i] = c.w.Sentence(phrases[i])
		}
		s.entries = append(s.entries, entry{text: strings.Join(phrases, " ")})
	}
	if tissue := &c.Readiness.Tissue; tissue.Verdict == readiness.Met {
		add([]string{c.w.Criterion(&tissue.Criterion, shoulder.MotionUnknown, c.Episode.Involved)})
	}
	for _, r := range c.Measurements.LatestRanges() {
		if r.Side == c.Episode.Involved {
			add(c.motion(r))
		}
	}
	for _, p := range c.Measurements.LatestPains() {
		add(c.pain(p))
	}
	for _, p := range c.Measurements.LatestComparisonPains() {
		add([]string{c.w.OnVisit(c.w.PainElsewhere(p, c.Episode.Involved.Other()), p.When, time.Time{})})
	}
	for _, o := range c.Measurements.LatestOutcomes() {
		add(c.outcome(o))
	}
	for _, position := range shoulder.TrainedPositions {
		if sides := c.ratios(position); len(sides) > 0 {
			add([]string{c.w.Ratio(sides...)})
		}
	}
	for _, t := range c.outlooks() {
		add([]string{c.w.Prospect(c.Course, t, c.Plan.Recheck)})
	}
	return s
}

// outlooks are the tests whose outlook on evenness is said: none where no date can be given for
// any of them, which the summary says of all.
func (c composer) outlooks() []*course.TestCourse {
	tests := c.Ahead()
	dated := func(t *course.TestCourse) bool { return t.Outlook.Prospect != course.NoDate }
	if c.Course != nil && c.Course.All.Prospect == course.NoDate && !slices.ContainsFunc(tests, dated) {
		return nil
	}
	return tests
}

// motion is one range of motion with the comparison side, its gate and its
// change.
func (c composer) motion(r *measure.RangeScore) []string {
	phrases := []string{c.w.Range(r, c.otherSide(r))}
	for i := range c.Readiness.Gates() {
		at := &c.Readiness.Gates()[i]
		if at.ActiveRange == nil || !at.ActiveRange.Same(r) {
			continue
		}
		phrases = append(phrases, c.w.Judgement(&at.Range))
		if at.Range.Verdict == readiness.Met && at.RangeMinimum.Verdict != readiness.Met {
			phrases = append(phrases, c.w.Judgement(&at.RangeMinimum))
		}
	}
	return append(phrases, c.changeOf(func(k *measure.Change) bool {
		return k.Subject == measure.RangeChange && k.Movement == r.Movement && k.Active == r.Active &&
			k.Position == r.Position && k.Side == r.Side
	})...)
}

func (c composer) otherSide(r *measure.RangeScore) *measure.RangeScore {
	other := *r
	other.Side = r.Side.Other()
	for i := range c.Measurements.Ranges {
		if o := &c.Measurements.Ranges[i]; o.Same(&other) {
			return o
		}
	}
	return nil
}

// pain is one pain score with its gate, if it is the one judged, and its
// change.
func (c composer) pain(p *measure.PainScore) []string {
	phrases := []string{c.w.Pain(p)}
	for i := range c.Readiness.Gates() {
		if at := &c.Readiness.Gates()[i]; at.TestPain != nil && at.TestPain.Same(p) {
			phrases = append(phrases, c.w.Judgement(&at.Pain))
			break
		}
	}
	return append(phrases, c.changeOf(func(k *measure.Change) bool {
		return k.Subject == measure.PainChange && k.Context == p.Context && k.Position == p.Position
	})...)
}

// outcome is the value of an outcome measure with its gate, if it has one, and its
// change.
func (c composer) outcome(s *measure.OutcomeScore) []string {
	phrases := []string{c.w.OutcomeOn(s)}
	for i := range c.Readiness.Outcomes {
		if k := &c.Readiness.Outcomes[i]; k.Outcome == s.Measure && k.Value != nil {
			phrases = append(phrases, c.w.Judgement(k))
		}
	}
	return append(phrases, c.changeOf(func(k *measure.Change) bool { return k.Outcome == s.Measure })...)
}

// changeOf is what changed since the previous session.
func (c composer) changeOf(about func(*measure.Change) bool) []string {
	for i := range c.Measurements.Changes {
		if k := &c.Measurements.Changes[i]; k.Against == measure.Previous && about(k) {
			return []string{c.w.ChangeBrief(k)}
		}
	}
	return nil
}

// ratios are the latest ratios in a position, the involved side's first.
func (c composer) ratios(p shoulder.ArmPosition) (sides []*measure.Ratio) {
	latest := c.Measurements.LatestRatios()
	for _, side := range [...]shoulder.Side{c.Episode.Involved, c.Episode.Involved.Other()} {
		at := slices.IndexFunc(latest, func(r *measure.Ratio) bool { return r.External.Position == p && r.External.Side == side })
		if at >= 0 {
			sides = append(sides, latest[at])
		}
	}
	return sides
}
