package readiness

import (
	"slices"
	"strconv"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// PositionReadiness is one motion in one arm position.
type PositionReadiness struct {
	Position shoulder.ArmPosition
	// Symmetry is the index that the verdicts rest on, nil if there is none
	// that is current.
	Symmetry *measure.Symmetry
	// Stale is the latest index if it is too old to decide with.
	Stale *measure.Symmetry
	// Overtaken is the latest index if a later session tested one of the sides and gave no
	// index, so that it no longer tells how the sides compare.
	Overtaken *measure.Symmetry
	// Doubted is the latest index if it has to be repeated or confirmed before it
	// decides anything. No older one takes its place.
	Doubted *measure.Symmetry
	// WasEven is the latest earlier index that confirmed evenness, if the present
	// one is not even.
	WasEven *measure.Symmetry
	// Usual is the present index against what the comparison side usually had in
	// its earlier sessions, in per cent; nil without any.
	Usual *exact.Number
	// Change is the change since the first measurement, where there is no
	// unaffected side.
	Change *measure.Change
	// Others are the indices of the same session under other conditions; they
	// are shown and decide nothing.
	Others []*measure.Symmetry
	// Latest is the latest score of the involved side, and Unpaired the latest of its
	// scores that found no partner to compare with; nil if it is not current.
	Latest   *measure.Score
	Unpaired *measure.Unpaired
	// ActiveRange is the range that Range and RangeMinimum judge, TestPain the score
	// that Pain judges; nil if none is current.
	ActiveRange *measure.RangeScore
	TestPain    *measure.PainScore
	Grade       shoulder.MuscleGrade

	Load         Criterion
	Pain         Criterion
	Range        Criterion
	RangeMinimum Criterion
	GoodEnough   Criterion
	Steady       Criterion
	Even         Criterion
	Confirmed    Criterion

	// FellFrom is the earlier index that was good enough when the current one
	// is beyond doubt no longer. Kept is the one that was good enough when the
	// current one is below by no more than error: a step that it opened is kept.
	FellFrom, Kept *measure.Symmetry
	// Weaker says that it fell because the strength itself fell beyond the error of one
	// test.
	Weaker bool
}

// Gates lists the criteria that let the position be trained or not, whatever the
// rotation, in the order of the rules.
func (p *PositionReadiness) Gates() []*Criterion {
	return []*Criterion{&p.Load, &p.Pain, &p.Range, &p.RangeMinimum, &p.Steady}
}

// Strength lists the criteria of how strong the motion is in the position, in the
// order of the rules.
func (p *PositionReadiness) Strength() []*Criterion {
	return []*Criterion{&p.GoodEnough, &p.Even, &p.Confirmed}
}

// TestedApart reports whether the sides cannot be compared because one was tested without the
// other since they were, and not because the two tests differ.
func (p *PositionReadiness) TestedApart() bool {
	if p.Overtaken == nil {
		return false
	}
	unlike := p.Unpaired != nil && p.Unpaired.Involved.Session > p.Overtaken.Session && p.Unpaired.Reason > measure.TooOld
	return !unlike
}

// RangeVerdict joins both criteria of the range gate.
func (p *PositionReadiness) RangeVerdict() Verdict {
	if p.Range.Verdict == Met && p.RangeMinimum.Verdict != Met {
		return p.RangeMinimum.Verdict
	}
	return p.Range.Verdict
}

// open reports whether healing, range and pain let the position be trained.
func (p *PositionReadiness) open() bool {
	v := p.RangeVerdict()
	return (v == Met || v == NotApplicable) && p.Pain.Verdict != NotMet && !p.Load.Holds()
}

// measured reports whether anything current says how strong the position is.
func (p *PositionReadiness) measured() bool { return p.GoodEnough.Verdict != NotMeasured }

// goodEnough reports whether the position opens the next one.
func (p *PositionReadiness) goodEnough() bool { return p.GoodEnough.Verdict == Met }

// goodEnoughOrKept reports whether it opens the next one, or did so before and is not
// weaker beyond error.
func (p *PositionReadiness) goodEnoughOrKept() bool { return p.goodEnough() || p.Kept != nil }

// gates judges what lets a position be trained or not, whatever the motion.
func (j *judge) gates(position shoulder.ArmPosition, tissue *Tissue) PositionReadiness {
	r := PositionReadiness{Position: position, Steady: j.steady(position), TestPain: j.testPain(position)}
	r.Pain = j.pain(position, r.TestPain)
	r.Load = j.phaseCriterion(LoadPermitted, position, shoulder.NeededAt(position), &tissue.Healing)
	if position.Elevated() {
		r.ActiveRange = j.activeRange(position.Elevation(), j.episode.Involved)
	}
	r.Range, r.RangeMinimum = j.rangeOf(position, r.ActiveRange)
	return r
}

// strength adds to the gates of a position how strong a motion is there.
func (j *judge) strength(r *PositionReadiness, motion shoulder.Motion) {
	r.GoodEnough = Criterion{Rule: GoodEnough, Position: r.Position, Threshold: j.p.Symmetry.GoodEnough, Unit: "N"}
	r.Even = Criterion{Rule: Even, Position: r.Position, Threshold: j.p.Symmetry.Even, Unit: "N"}
	r.Confirmed = Criterion{Rule: EvenConfirmed, Position: r.Position, Threshold: j.p.Symmetry.Even, Unit: "N"}
	j.findLatest(r, motion)
	series := j.m.DecidingIndices(motion, r.Position)
	if j.episode.ComparisonAffected {
		j.judgeWithoutYardstick(r, motion)
		return
	}
	if len(series) == 0 {
		j.judgeGrade(r, motion)
		return
	}
	last := series[len(series)-1]
	switch by := j.overtaken(last); {
	case by != nil:
		r.Overtaken = last
		j.judgeGradeSince(r, motion, by.When)
	case !j.current(last.When):
		r.Stale = last
		j.judgeGrade(r, motion)
	case last.Doubtful():
		r.decideNothing(last, Doubted)
	case !j.tells(last):
		r.decideNothing(last, TooFaint)
	default:
		j.judgeSeries(r, series)
	}
}

// decideNothing keeps an index from deciding, for a reason.
func (p *PositionReadiness) decideNothing(by *measure.Symmetry, why Basis) {
	p.Doubted = by
	for _, c := range [...]*Criterion{&p.GoodEnough, &p.Confirmed} {
		c.Basis, c.When, c.Sources = why, by.When, by.Sources()
	}
}

// overtaken is the current test of one side that came later than an index, nil if there is none.
func (j *judge) overtaken(s *measure.Symmetry) *measure.Score {
	if by := j.m.OvertakenBy(s); by != nil && j.current(by.When) {
		return by
	}
	return nil
}

// findLatest finds the current scores of the involved side.
func (j *judge) findLatest(r *PositionReadiness, motion shoulder.Motion) {
	if s := j.m.LatestScore(j.episode.Involved, motion, r.Position); s != nil && j.current(s.When) {
		r.Latest = s
	}
	if u := j.m.LatestUnpaired(motion, r.Position); u != nil && j.current(u.Involved.When) {
		r.Unpaired = u
	}
}

// others are the further indices of the deciding one's session.
func (j *judge) others(deciding *measure.Symmetry) (others []*measure.Symmetry) {
	for i := range j.m.Symmetries {
		s := &j.m.Symmetries[i]
		if s != deciding && s.Session == deciding.Session && s.Motion == deciding.Motion && s.Position == deciding.Position {
			others = append(others, s)
		}
	}
	return others
}

// goodState follows whether a position is good enough. It is reached in one session;
// a step that it opened is kept until the index is below the threshold beyond
// measurement error or in consecutive sessions, or the strength itself fell beyond
// the error of one test, so that the step does not flip on noise.
type goodState struct {
	detectable float64 // a fall of one test beyond error, as a multiple of its standard error
	met        bool
	below      int // consecutive sessions below the threshold
	retained   bool
	fellFrom   *measure.Symmetry
	lastGood   *measure.Symmetry
}

// next takes the state to the next session.
func (s *goodState) next(x *measure.Symmetry, threshold protocol.Threshold, twice int) {
	s.retained, s.fellFrom = false, nil
	if threshold.Met(x.Index) {
		s.met, s.below, s.lastGood = true, 0, x
		return
	}
	s.below++
	switch {
	case s.met && (x.Beyond(threshold) || s.below >= twice || s.weaker(x)):
		s.met, s.fellFrom = false, s.lastGood
	default:
		s.retained = s.met
	}
}

// weaker reports whether the strength fell beyond the error of one test since the
// position was last good enough.
func (s *goodState) weaker(x *measure.Symmetry) bool {
	then := s.lastGood
	alike := then.Involved.Setting == x.Involved.Setting && then.Involved.Dimension == x.Involved.Dimension
	return !alike || measure.Fall{Now: x.Involved, Then: then.Involved}.Errors() > s.detectable
}

// tells reports whether an index that is not low tells anything: of one near the measuring floor
// nearly nothing is known, and it opens nothing. A low one holds back, however unsure.
func (j *judge) tells(s *measure.Symmetry) bool {
	return !j.p.Symmetry.GoodEnough.Met(s.Index) || s.Tells(j.p.Function.Low)
}

// judgeSeries follows the index through its sessions. Those that are doubtful or tell nothing are
// passed over; the last one is neither.
func (j *judge) judgeSeries(r *PositionReadiness, series []*measure.Symmetry) {
	twice := int(j.p.Symmetry.Confirmations.Value.Float64())
	good := goodState{detectable: measure.Detectable(j.p)}
	var even evenSessions
	for _, s := range series {
		if s.Doubtful() || !j.tells(s) {
			continue
		}
		good.next(s, j.p.Symmetry.GoodEnough, twice)
		even.next(j, s)
	}
	last := series[len(series)-1]
	r.Symmetry, r.Others, r.FellFrom = last, j.others(last), good.fellFrom
	sources := last.Sources()
	evenly := measure.CertaintyOf(last.ProbabilityEven, j.p)
	r.GoodEnough.describe(last, sources, measure.CertaintyOf(last.ProbabilityGoodEnough, j.p))
	r.Even.describe(last, sources, evenly)
	r.Confirmed.describe(last, sources, evenly)
	r.Weaker = good.fellFrom != nil && good.weaker(last)
	switch {
	case good.retained && j.lost:
		r.FellFrom = good.lastGood
	case good.retained:
		r.Kept = good.lastGood
		r.GoodEnough.Basis = Retained
	}
	r.GoodEnough.Verdict = verdictOf(good.met && !good.retained)
	r.Even.Verdict = verdictOf(r.Even.Threshold.Met(last.Index))
	r.Usual = usualIndex(last, series, even.run)
	r.Confirmed.Verdict = verdictOf(even.confirmed == last && j.supported(r))
	switch {
	case r.Even.Verdict != Met:
		r.WasEven = even.confirmed
	case j.comparisonPain(last.Session) != nil:
		r.Confirmed.Verdict, r.Confirmed.Basis = NotMet, ComparisonHurts
	case j.comparisonCannotLift(last.Session) != nil:
		r.Confirmed.Verdict, r.Confirmed.Basis = NotMet, ComparisonLow
	case !j.supported(r):
		r.Confirmed.Basis = ComparisonWeaker
	}
}

// supported reports whether an even index rests on the involved side's strength and
// not on a weaker comparison side. A fall of the comparison side that cannot be told
// from error is left to the model of the course: where it finds all tests even, by the
// strength that the comparison side had, it is none.
func (j *judge) supported(r *PositionReadiness) bool {
	return !j.declined && (r.Usual == nil || j.p.Symmetry.Even.Met(*r.Usual) || j.likely.Verdict == Met)
}

// evenSessions are the even sessions of a position so far; run are the latest ones,
// without an uneven one between.
type evenSessions struct {
	sessions  []*measure.Symmetry
	run       []*measure.Symmetry
	confirmed *measure.Symmetry // the latest index that another session confirmed
	above     bool              // the session before was over the limit at which sides may be exchanged
}

// isAbove reports whether an index is over the limit at which a single one may be that of
// exchanged sides. Within error it is no doubt, but nothing to rest evenness on before it was
// measured again or confirmed by a clinician.
func (j *judge) isAbove(x *measure.Symmetry) bool { return !j.p.Doubt.IndexSingle.Met(x.Index) }

// next adds a session. It confirms evenness if it is even and an earlier even session
// was tested alike and lies neither too near nor too far back. There is no latch, and a
// session of whose index too little is known, as of the strength of a few newtons,
// or in which the comparison side hurts or cannot be lifted, confirms nothing. What lies between the two is left to the model of the course, which
// weighs all sessions.
func (e *evenSessions) next(j *judge, x *measure.Symmetry) {
	leapt := j.isAbove(x) && !e.above && (!x.Involved.Confirmed || !x.Comparison.Confirmed)
	e.above = j.isAbove(x)
	if leapt || !j.p.Symmetry.Even.Met(x.Index) || !x.LowerEndAtLeast(j.p.Function.Low) || !j.yardstick(x.Comparison.Session) {
		e.run = nil
		return
	}
	if slices.ContainsFunc(e.sessions, func(earlier *measure.Symmetry) bool { return j.confirms(earlier, x) }) {
		e.confirmed = x
	}
	e.sessions = append(e.sessions, x)
	e.sessions = e.sessions[max(0, len(e.sessions)-mostSessions):]
	e.run = append(e.run, x)
}

// confirms reports whether an earlier even session can confirm a later one: days enough lie
// between them by the calendar, and by the time that passed. Dates are local, so that two
// visits in different zones may be a day or two nearer than their dates.
func (j *judge) confirms(earlier, later *measure.Symmetry) bool {
	apart := exact.Int(int64(measure.DaysBetween(earlier.When, later.When)))
	passed := exact.Int(int64((later.When.Sub(earlier.When) + hourOfVisit) / (24 * time.Hour)))
	alike := earlier.Setting == later.Setting && earlier.Dimension == later.Dimension
	return alike && j.p.Symmetry.ConfirmAfter.Met(apart) && j.p.Symmetry.ConfirmAfter.Met(passed) && j.p.Symmetry.ConfirmWithin.Met(apart)
}

// hourOfVisit is how much earlier in the day the later of two visits may be: an evening
// and a morning a week apart are a week apart.
//
// Source: ours; a working day of a clinic.
const hourOfVisit = 12 * time.Hour

// usualIndex is the index against what the comparison side usually has: the mean of
// its strengths in all sessions of the test, or in those before the run of even
// sessions if that is more. So a comparison side that weakens does not make the
// sides even, however long it stays weak. It is nil if there is but one strength.
func usualIndex(last *measure.Symmetry, series []*measure.Symmetry, run []*measure.Symmetry) *exact.Number {
	var all, before mean
	var counted *measure.Score
	for _, s := range series[max(0, len(series)-mostSessions):] {
		c := s.Comparison
		if c == counted || s.Doubtful() || s.Setting != last.Setting || c.Dimension != last.Comparison.Dimension {
			continue
		}
		counted = c
		all.add(c.Value)
		if len(run) > 0 && s.Session < run[0].Session {
			before.add(c.Value)
		}
	}
	if all.n < 2 {
		return nil
	}
	usual := all.value()
	if earlier := before.value(); earlier.Cmp(usual) > 0 {
		usual = earlier
	}
	index, ok := last.Against(usual)
	if !ok {
		return nil
	}
	return &index
}

// mean of strengths.
type mean struct {
	sum exact.Number
	n   int
}

func (m *mean) add(x exact.Number) { m.sum, m.n = m.sum.Add(x), m.n+1 }

// value is the mean, 0 of none.
func (m *mean) value() exact.Number {
	value, _ := m.sum.Quo(exact.Int(int64(m.n)))
	return value
}

// mostSessions bounds the sessions of a mean, and those that may confirm a later one.
// Common practice: no episode of care has more re-checks.
const mostSessions = 60

// describe fills in what was measured and what would meet the threshold.
func (c *Criterion) describe(s *measure.Symmetry, sources []shoulder.SourceID, certainty measure.Certainty) {
	c.Value, c.When, c.Sources, c.Basis = &s.Index, s.When, sources, Dynamometry
	c.Certainty = certainty
	c.Measured, c.Unit = &s.Involved.Value, s.Dimension.Unit()
	comparison := s.Comparison.Value
	if s.Dimension == shoulder.Torque {
		c.Measured, comparison = s.Involved.Torque, *s.Comparison.Torque
	}
	if needed, ok := comparison.Mul(c.Threshold.Value).Quo(exact.Int(100).Mul(s.Dominance)); ok {
		c.Needed = &needed
	}
}

// judgeWithoutYardstick judges where both sides are affected: by the manual test,
// or by whether strength rose beyond error since the first measurement. That can
// show a position good enough to move on, and never even.
func (j *judge) judgeWithoutYardstick(r *PositionReadiness, motion shoulder.Motion) {
	r.Change = j.changeSinceFirst(motion, r.Position)
	r.GoodEnough.Basis, r.Confirmed.Basis = NoYardstick, NoYardstick
	j.judgeGrade(r, motion)
	if r.Grade != shoulder.GradeUnknown || r.Change == nil {
		return
	}
	c := &r.GoodEnough
	c.Verdict = verdictOf(r.Change.Direction == measure.Improved)
	c.Basis, c.When, c.Sources = ChangeFromFirst, r.Change.ToWhen, r.Change.Sources
	c.Value, c.Unit = &r.Change.Difference, r.Change.Unit
	c.Threshold = j.detectable(r.Change)
	c.Certainty = measure.CertaintyOfGain(r.Change, j.p)
}

// detectable is the smallest detectable change as a threshold.
func (j *judge) detectable(c *measure.Change) protocol.Threshold {
	return protocol.Threshold{Comparison: protocol.MoreThan, Value: decimal(c.Detectable, 2), Unit: c.Unit, Source: j.p.Error.Change.Source}
}

// decimal is a finite estimate with so many places.
func decimal(x float64, places int) exact.Number {
	value, err := exact.Parse(strconv.FormatFloat(x, 'f', places, 64))
	if err != nil {
		return exact.Number{}
	}
	return value
}

// changeSinceFirst is the current change of the involved side's strength since the
// first measurement.
func (j *judge) changeSinceFirst(motion shoulder.Motion, position shoulder.ArmPosition) *measure.Change {
	var latest *measure.Change
	for i := range j.m.Changes {
		c := &j.m.Changes[i]
		is := c.Subject == measure.StrengthChange && c.Against == measure.Baseline && c.Side == j.episode.Involved &&
			c.Setting.Motion == motion && c.Setting.Position == position && j.current(c.ToWhen)
		if is && (latest == nil || c.ToWhen.After(latest.ToWhen)) {
			latest = c
		}
	}
	return latest
}

// judgeGrade judges by the manual muscle test, which can show a position good
// enough and never even.
//
// Source: Tyler et al. 2005, J Shoulder Elbow Surg 14:570-4 (patients graded
// normal had a 28 % deficit in external rotation).
func (j *judge) judgeGrade(r *PositionReadiness, motion shoulder.Motion) {
	grade, when, sources := j.grade(motion, r.Position)
	if grade == shoulder.GradeUnknown {
		return
	}
	r.Grade = grade
	c := &r.GoodEnough
	c.Verdict = verdictOf(grade >= j.p.Grade.GoodEnough.Value)
	c.Basis, c.Grade, c.When, c.Sources, c.Certainty = ManualTest, grade, when, sources, measure.CertaintyOfGrade(c.Verdict == Met)
	c.Threshold = protocol.Threshold{Comparison: j.p.Grade.GoodEnough.Comparison, Unit: "{score}", Source: j.p.Grade.GoodEnough.Source}
}

// judgeGradeSince judges by the manual muscle test if it is of the day of a test of strength or
// later: an older grade knows nothing of what that test found.
func (j *judge) judgeGradeSince(r *PositionReadiness, motion shoulder.Motion, tested time.Time) {
	if _, when, _ := j.grade(motion, r.Position); measure.DaysBetween(tested, when) >= 0 {
		j.judgeGrade(r, motion)
	}
}

// grade is the lowest current grade of the latest session with one.
func (j *judge) grade(motion shoulder.Motion, position shoulder.ArmPosition) (lowest shoulder.MuscleGrade, when time.Time, sources []shoulder.SourceID) {
	for i := len(j.episode.Sessions) - 1; i >= 0; i-- {
		s := &j.episode.Sessions[i]
		if !j.current(s.When) {
			break
		}
		for _, g := range s.Grades {
			if g.Motion != motion || g.Position != position || g.Side != j.episode.Involved {
				continue
			}
			if lowest == shoulder.GradeUnknown || g.Value < lowest {
				lowest = g.Value
			}
			when, sources = s.When, append(sources, g.Source)
		}
		if lowest != shoulder.GradeUnknown {
			break
		}
	}
	return lowest, when, measure.Union(sources)
}
