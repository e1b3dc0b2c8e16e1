package readiness

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// ConcernKind is a kind of concern.
type ConcernKind uint8

// The concerns, in the order in which they are said.
const (
	StrengthTooOld       ConcernKind = iota // every test of strength is too old to load by
	BothSidesFell                           // both sides, in tests that were done otherwise before
	RangeFell                               // active elevation fell by a real change
	PassiveUnknown                          // an active elevation is low, and whether the arm is free to move is not known
	RangesDisagree                          // a range was measured several times on a day, with different results
	RangesContradict                        // a movement goes further actively than passively
	GradeContradicts                        // a manual test finds less than the strength that was measured
	SteadinessLost                          // the arm was held steady before, and is not now
	ComparisonPainful                       // the comparison shoulder hurts, so that its strength is none to be even with
	ComparisonCannotLift                    // nor is one that cannot be lifted
	WeakElsewhere                           // a motion without steps is weaker than is good enough, beyond error
	ConditionSince                          // a condition of the shoulder began since, and nobody has examined it
	FlagUnexamined                          // a red flag of the visit before is gone, and nobody has examined the shoulder
	StrengthFell                            // most tests of strength are clearly worse than at the session before
)

// String names the kind.
func (k ConcernKind) String() string {
	return [...]string{
		"strength-too-old", "both-sides-fell", "range-fell", "passive-unknown", "ranges-disagree", "ranges-contradict", "grade-contradicts", "steadiness-lost", "comparison-painful", "comparison-cannot-lift", "weak-elsewhere", "condition-since", "flag-unexamined", "strength-fell",
	}[k]
}

// Concern is something in the measurements that is no red flag, and no doubt about a
// number, but that nobody may pass over: while one stands no functional work is open.
type Concern struct {
	Kind ConcernKind
	// Positions are those in which the arm is no longer held steady.
	Positions []shoulder.ArmPosition
	Movement  shoulder.Movement    // of a range: the one that fell more
	Active    bool                 // of a range that disagrees: active or passive
	Fell      measure.Fall         // of strength, of the involved side: the test that fell most
	Side      shoulder.Side        // of the shoulder that it is about
	Context   shoulder.PainContext // of a pain
	Limit     protocol.Threshold   // that a pain is over
	Flag      redflag.Flag         // that nobody has examined
	Tests     int                  // how many tests of strength fell
	Index     *measure.Symmetry    // of a motion without steps: the lowest; or that a manual test contradicts
	Grade     shoulder.MuscleGrade // of that manual test
	// Then is what it was before and Now what it is: a range, a pain; only the dates
	// of steadiness and of the latest test of strength.
	Then, Now redflag.Measured
}

// concerns finds what nobody may pass over.
func (j *judge) concerns(flags []redflag.Flag) (all []Concern) {
	all = append(all, j.unexamined(flags)...)
	all = append(all, j.fallenStrength(flags)...)
	all = append(all, j.tooOld()...)
	all = append(all, j.bothSidesFell()...)
	if fell := j.fallenRange(flags); fell != nil {
		all = append(all, *fell)
	}
	all = append(all, j.passiveUnknown()...)
	all = append(all, j.disagreeingRanges()...)
	all = append(all, j.contradictingRanges()...)
	all = append(all, j.contradictingGrade()...)
	all = append(all, j.lostSteadiness()...)
	all = append(all, j.weakElsewhere()...)
	all = append(all, j.conditionSince()...)
	if flag := j.comparisonCannotLift(len(j.episode.Sessions) - 1); flag != nil {
		all = append(all, Concern{Kind: ComparisonCannotLift, Side: flag.Side, Movement: flag.Movement, Flag: *flag, Now: flag.Now, Then: flag.Then})
	}
	if pain := j.comparisonPain(len(j.episode.Sessions) - 1); pain != nil {
		now := redflag.Measured{Value: pain.Score, Unit: "{score}", When: pain.When}
		all = append(all, Concern{
			Kind: ComparisonPainful, Side: j.episode.Involved.Other(), Context: pain.Context, Limit: j.p.Pain.Gate, Now: now,
		})
	}
	return all
}

// unexamined: a red flag of the visit before, of another day, that no longer stands because
// the latest visit shows the value whole. One good visit does not say that nothing was wrong:
// functional work waits for an examination, or for another visit without a flag.
func (j *judge) unexamined(now []redflag.Flag) []Concern {
	last := len(j.episode.Sessions) - 1
	if j.before || last < 1 || redflag.Hold(now) {
		return nil
	}
	before := last - 1
	for before > 0 && measure.DaysBetween(j.episode.Sessions[before].When, j.episode.Sessions[last].When) == 0 {
		before--
	}
	for _, flag := range redflag.Find(j.upTo(before), j.m.UpTo(before), j.p, j.asOf) {
		if flag.Holds() && flag.Code != redflag.ResistedBeforeClearance { // that one ends by the time that heals
			return []Concern{{Kind: FlagUnexamined, Flag: flag, Side: flag.Side, Now: flag.Now}}
		}
	}
	return nil
}

// conditionSince: a condition of the shoulder that began after the visit before the latest,
// so that no two visits show the strength that it left. An examination on that day or later
// that permits load settles it.
func (j *judge) conditionSince() []Concern {
	onsets, sessions := j.episode.Onsets, j.episode.Sessions
	if len(onsets) == 0 || len(sessions) < 2 {
		return nil
	}
	newest := onsets[len(onsets)-1].When
	examined := slices.ContainsFunc(j.episode.Examinations, func(x shoulder.Statement) bool {
		return x.Cleared && x.Side != j.episode.Involved.Other() && measure.DaysBetween(newest, x.When) >= 0
	})
	if examined || measure.DaysBetween(sessions[len(sessions)-2].When, newest) <= 0 {
		return nil
	}
	return []Concern{{Kind: ConditionSince, Side: j.episode.Involved, Now: redflag.Measured{When: newest}}}
}

// tooOld: the latest test of the involved side's strength says no more what it can bear.
func (j *judge) tooOld() []Concern {
	latest := slices.DeleteFunc(measure.LatestOf(j.m.Scores, j.episode.Involved), func(s *measure.Score) bool { return !s.Motion.Trained() })
	if len(latest) == 0 || slices.ContainsFunc(latest, func(s *measure.Score) bool { return j.current(s.When) }) {
		return nil
	}
	newest := slices.MaxFunc(latest, func(a, b *measure.Score) int { return a.When.Compare(b.When) })
	return []Concern{{Kind: StrengthTooOld, Now: redflag.Measured{When: newest.When}}}
}

// bothSidesFell: another instrument, or another way of testing, makes strengths that
// nobody can compare; but where those of both sides are less by a large share on average,
// a loss of both hides behind it as likely as the change explains it.
// The trained motions and the others are looked at each on their own, lest the mean of the
// one hide the fall of the other.
func (j *judge) bothSidesFell() []Concern {
	large := j.p.RedFlag.LargeFall.Value.Float64()
	for _, trained := range [...]bool{true, false} {
		involved, deepest := j.fallOtherwise(j.episode.Involved, trained)
		other, _ := j.fallOtherwise(j.episode.Involved.Other(), trained)
		if deepest.Now != nil && involved >= large && other >= large {
			return []Concern{{Kind: BothSidesFell, Side: j.episode.Involved, Fell: deepest}}
		}
	}
	return nil
}

// fallOtherwise is by how much in per cent the latest strengths of a side, on average, are
// less than before the way of testing changed, and the one that fell most.
func (j *judge) fallOtherwise(side shoulder.Side, trained bool) (mean float64, deepest measure.Fall) {
	n := 0.0
	for _, now := range measure.LatestOf(j.m.Scores, side) {
		then := j.m.BeforeChange(now, j.p)
		if then == nil || !j.current(now.When) || now.Motion.Trained() != trained {
			continue
		}
		fall := measure.Fall{Now: now, Then: then}
		mean, n = mean+fall.Percent(), n+1
		if deepest.Now == nil || fall.Percent() > deepest.Percent() {
			deepest = fall
		}
	}
	return mean / max(n, 1), deepest
}

// fallenRange is the active elevation that is furthest below the best of the weeks in
// which a loss counts as sudden, if that is a real change. A red flag of the movement says
// it already, and one that was examined settles it.
func (j *judge) fallenRange(flags []redflag.Flag) (worst *Concern) {
	for _, movement := range [...]shoulder.Movement{shoulder.Flexion, shoulder.Abduction} {
		now := j.activeRange(movement, j.episode.Involved)
		flagged := slices.ContainsFunc(flags, func(f redflag.Flag) bool {
			return f.Movement == movement && (f.Code == redflag.RangeLoss || f.Code == redflag.CannotLift)
		})
		if now == nil || flagged {
			continue
		}
		then := j.m.BestRecentRange(now, j.p)
		if then == nil || !measure.RangeChangeThreshold(now, then, j.p).Met(then.Degrees.Sub(now.Degrees)) {
			continue
		}
		c := &Concern{Kind: RangeFell, Movement: movement, Then: inDegrees(then), Now: inDegrees(now)}
		if worst == nil || c.fall().Cmp(worst.fall()) > 0 {
			worst = c
		}
	}
	return worst
}

func (c *Concern) fall() exact.Number { return c.Then.Value.Sub(c.Now.Value) }

func inDegrees(r *measure.RangeScore) redflag.Measured {
	return redflag.Measured{Value: r.Degrees, Unit: "deg", When: r.When}
}

// weakElsewhere: a motion that has no steps, such as abduction, which is the weakest where the
// supraspinatus is torn. It opens and closes no step, but nobody is ready for function with it.
func (j *judge) weakElsewhere() []Concern {
	var lowest *measure.Symmetry
	for _, motion := range shoulder.Motions[len(shoulder.Trained):] {
		for _, position := range motion.TestedIn() {
			s := j.currentIndex(motion, position)
			weak := s != nil && !s.Doubtful() && !j.p.Symmetry.GoodEnough.Met(s.Index) && s.Beyond(j.p.Symmetry.GoodEnough)
			if weak && (lowest == nil || s.Index.Cmp(lowest.Index) < 0) {
				lowest = s
			}
		}
	}
	if lowest == nil {
		return nil
	}
	return []Concern{{Kind: WeakElsewhere, Index: lowest, Side: j.episode.Involved, Limit: j.p.Symmetry.GoodEnough}}
}

// currentIndex is the latest index of a motion and position; nil if there is none, or if it is
// too old to decide with.
func (j *judge) currentIndex(motion shoulder.Motion, position shoulder.ArmPosition) *measure.Symmetry {
	of := j.m.DecidingIndices(motion, position)
	if len(of) == 0 || !j.current(of[len(of)-1].When) {
		return nil
	}
	return of[len(of)-1]
}

// lostSteadiness are the positions in which the arm was held steady once and was not when
// it was looked at last; those of the same days are one concern.
func (j *judge) lostSteadiness() (all []Concern) {
	for _, position := range shoulder.TrainedPositions {
		now := j.steady(position)
		if now.Verdict != NotMet {
			continue
		}
		for i := range slices.Backward(j.episode.Sessions) {
			s := &j.episode.Sessions[i]
			if s.When.Before(now.When) && j.heldSteady(s, position) {
				all = addLost(all, position, s.When, now.When)
				break
			}
		}
	}
	return all
}

func addLost(all []Concern, position shoulder.ArmPosition, then, now time.Time) []Concern {
	for i := range all {
		if all[i].Then.When.Equal(then) && all[i].Now.When.Equal(now) {
			all[i].Positions = append(all[i].Positions, position)
			return all
		}
	}
	return append(all, Concern{
		Kind: SteadinessLost, Positions: []shoulder.ArmPosition{position}, Then: redflag.Measured{When: then}, Now: redflag.Measured{When: now},
	})
}

func (j *judge) heldSteady(s *shoulder.Session, position shoulder.ArmPosition) bool {
	return slices.ContainsFunc(s.Steady, func(x shoulder.Steadiness) bool {
		return x.Position == position && x.Side == j.episode.Involved && x.Steady
	})
}

// comparisonCannotLift is the flag of the comparison shoulder as of a session if it cannot be
// lifted; nil if it can.
func (j *judge) comparisonCannotLift(session int) *redflag.Flag {
	low := func(r measure.RangeScore) bool {
		return r.Side == j.episode.Involved.Other() && r.Active && j.p.RedFlag.Elevation.Met(r.Degrees)
	}
	if session < 0 || !slices.ContainsFunc(j.m.Ranges, low) {
		return nil
	}
	return redflag.OtherCannotLift(j.upTo(session), j.m.UpTo(session), j.p, j.asOf)
}

// yardstick reports whether the comparison side is one to be even with as of a session: its
// shoulder neither hurts nor fails to be lifted. It is found once for all tests of the session.
func (j *judge) yardstick(session int) bool {
	is, known := j.yardsticks[session]
	if known {
		return is
	}
	if j.yardsticks == nil {
		j.yardsticks = map[int]bool{}
	}
	is = j.comparisonPain(session) == nil && j.comparisonCannotLift(session) == nil
	j.yardsticks[session] = is
	return is
}

// comparisonPain is the worst pain of the comparison shoulder, at rest or during the test,
// that is over the limit as of a session: of each occasion the latest score that is not
// too old then. The worst of a day, which need not have been at the test, stands for them
// where neither was noted that day: nobody said that the test was free of pain. It is nil if
// there is none, or no comparison side. Pain inhibits a muscle, so that a side that hurts is
// weaker than it is.
func (j *judge) comparisonPain(session int) (worst *measure.PainScore) {
	if j.episode.ComparisonAffected || session < 0 {
		return nil
	}
	at := j.episode.Sessions[session].When
	counts := func(p *measure.PainScore) bool { return p.Session <= session && measure.Current(p.When, at, j.p) }
	noted := func(session int) bool {
		return slices.ContainsFunc(j.m.ComparisonPains, func(p measure.PainScore) bool { return p.Session == session && p.Context != shoulder.PainWorst24h })
	}
	seen := map[shoulder.PainContext]int{}
	for i := range slices.Backward(j.m.ComparisonPains) {
		p := &j.m.ComparisonPains[i]
		of, known := seen[p.Context]
		if !counts(p) || p.Context == shoulder.PainWorst24h && noted(p.Session) || known && of != p.Session {
			continue
		}
		seen[p.Context] = p.Session
		if !j.p.Pain.Gate.Met(p.Score) && (worst == nil || p.Score.Cmp(worst.Score) > 0) {
			worst = p
		}
	}
	return worst
}
