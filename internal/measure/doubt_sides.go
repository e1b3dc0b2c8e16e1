package measure

import (
	"math"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// pair is one test of both sides in one session.
type pair struct {
	involved, comparison *Score
	log                  float64 // logarithm of involved over comparison
	variance             float64 // of log, by measurement error
}

// pairs are the tests that were done in the same way on both sides.
func (d *doubtFinder) pairs(scores []Score) (pairs []pair) {
	if d.e.ComparisonAffected {
		return nil
	}
	for i := range scores {
		involved := &scores[i]
		if involved.Side != d.e.Involved || !involved.believed() || involved.Value.Sign() <= 0 {
			continue
		}
		if comparison := d.otherSide(scores, involved); comparison != nil {
			pairs = append(pairs, pairOf(involved, comparison))
		}
	}
	return pairs
}

func pairOf(involved, comparison *Score) pair {
	a, b := involved.Value.Float64(), comparison.Value.Float64()
	ra, rb := relativeAt(a, involved.Error.SteadyAt(a)), relativeAt(b, comparison.Error.SteadyAt(b))
	return pair{involved, comparison, math.Log(a / b), ra*ra + rb*rb}
}

// otherSide is the score of the other side by the same test.
func (d *doubtFinder) otherSide(scores []Score, s *Score) *Score {
	for i := range scores {
		o := &scores[i]
		if o.Side == s.Side.Other() && o.Setting == s.Setting && o.Dimension == s.Dimension && o.believed() && o.Value.Sign() > 0 {
			return o
		}
	}
	return nil
}

// confirmed reports whether a clinician has confirmed both numbers.
func (p *pair) confirmed() bool { return p.involved.Confirmed && p.comparison.Confirmed }

func meanLog(pairs []pair) (mean float64) {
	for i := range pairs {
		mean += pairs[i].log / float64(len(pairs))
	}
	return mean
}

// jointError is the standard error of the mean of several tests of one day, which share a
// part of their error.
func jointError(meanVariance float64, tests int, p *protocol.Protocol) float64 {
	return math.Sqrt(meanVariance * shared(p.Error.Day.Float()/100, tests))
}

// shared is the factor by which a variance is smaller in the mean of n values that have a
// part of it in common.
func shared(part float64, n int) float64 { return part + (1-part)/float64(n) }

// swapped marks a session whose sides look exchanged: one index is far above 100 %, or
// most are above it, or the values fit the earlier sessions much better with the sides
// exchanged; each beyond measurement error.
func (d *doubtFinder) swapped(scores []Score, pairs []pair) bool {
	open, variance := pairs[:0:0], 0.0
	for i := range pairs {
		if !pairs[i].confirmed() {
			open = append(open, pairs[i])
			variance += pairs[i].variance
		}
	}
	if len(open) == 0 {
		d.confirmedAbove = d.confirmedAbove || d.overMost(pairs)
		return false
	}
	sem := jointError(variance/float64(len(open)), len(open), d.p)
	highest, above := d.highest(open)
	if highest == nil && !d.mostAbove(open, sem) && !d.fitsExchanged(open, sem) {
		return false
	}
	if highest == nil {
		highest = clearest(open)
	}
	d.doubtSession(scores, DoubtFound{
		Doubt: SidesMayBeSwapped, Score: highest.involved, Other: highest.comparison, Tests: max(1, above),
	})
	return true
}

// highest is the highest index that is over the limit of a single one, nil if none
// is; and how many are.
func (d *doubtFinder) highest(pairs []pair) (highest *pair, above int) {
	limit := math.Log(d.p.Doubt.IndexSingle.Value.Float64() / 100)
	z := OneSided(d.p.RedFlag.FalseAlarm.Float() / 100 / float64(len(pairs)))
	for i := range pairs {
		x := &pairs[i]
		if x.log <= limit || x.log <= z*math.Sqrt(x.variance) {
			continue
		}
		above++
		if highest == nil || x.log > highest.log {
			highest = x
		}
	}
	return highest, above
}

func clearest(pairs []pair) *pair {
	plainest := &pairs[0]
	for i := range pairs {
		if pairs[i].log > plainest.log {
			plainest = &pairs[i]
		}
	}
	return plainest
}

// mostAbove reports whether most indices are over the limit for most, and it is not by
// chance: their mean is above 100 % beyond error, alone or with the sessions before, or the
// session before shows the same sides the other way round.
func (d *doubtFinder) mostAbove(pairs []pair, sem float64) bool {
	if !d.overMost(pairs) {
		return false
	}
	now := meanLog(pairs)
	return now > d.z*sem || !d.confirmedAbove && (d.alwaysAbove(now, sem) || d.turnedOver(pairs, sem))
}

// overMost reports whether most indices are over the limit for most.
func (d *doubtFinder) overMost(pairs []pair) bool {
	limit, above := d.limitOfMost(), 0
	for i := range pairs {
		if pairs[i].log > limit {
			above++
		}
	}
	return len(pairs) > 1 && 2*above > len(pairs)
}

func (d *doubtFinder) limitOfMost() float64 {
	return math.Log(d.p.Doubt.IndexMost.Value.Float64() / 100)
}

// alwaysAbove reports whether the mean of this session and of those before is above 100 %
// beyond error: sides that are exchanged each time. An involved shoulder that has always
// been the stronger one is rare, and is asked about once.
func (d *doubtFinder) alwaysAbove(now, sem float64) bool {
	before := d.ratios[max(0, len(d.ratios)-sessionsToFit+1):]
	sum, n := now, float64(len(before)+1)
	for _, r := range before {
		sum += r
	}
	return len(before) > 0 && sum/n > d.z*sem/math.Sqrt(n)
}

// turnedOver reports whether the session before was as far below 100 % as this one is above
// it, beyond the limit for most and the detectable change of their mean, and each side is now as
// strong as the other was then, within error: a shoulder that leaps over the other is less likely
// than sides that were exchanged. Without the detectable change a good day of one side and a bad
// one of the other would often be asked about where the error is large.
func (d *doubtFinder) turnedOver(pairs []pair, sem float64) bool {
	if len(d.ratios) == 0 || d.ratios[len(d.ratios)-1] >= -d.limitOfMost() {
		return false
	}
	if leap := meanLog(pairs) - d.ratios[len(d.ratios)-1]; leap <= Detectable(d.p)*math.Sqrt2*sem {
		return false
	}
	involved, comparison, n := 0.0, 0.0, 0.0
	for i := range pairs {
		then := [...]int{indexOfTest(d.latest, pairs[i].involved), indexOfTest(d.latest, pairs[i].comparison)}
		if then[0] < 0 || then[1] < 0 {
			continue
		}
		involved += logRatio(pairs[i].involved, d.latest[then[1]])
		comparison += logRatio(pairs[i].comparison, d.latest[then[0]])
		n++
	}
	// A side has half of the variance of an index, and two sessions twice that of one.
	within := Detectable(d.p) * sem * n
	return n > 0 && math.Abs(involved) < within && math.Abs(comparison) < within
}

func logRatio(now, then *Score) float64 { return math.Log(now.Value.Float64() / then.Value.Float64()) }

// sessionsToFit is how many sessions before tell what to expect of a session. Few,
// because a shoulder that recovers fast outgrows older ones. Ours.
const sessionsToFit = 3

// fitsExchanged reports whether the sessions before fit a session badly, and well
// if its sides are exchanged: by the likelihood ratio, at the probability of a
// false alarm.
func (d *doubtFinder) fitsExchanged(pairs []pair, sem float64) bool {
	before := d.ratios[max(0, len(d.ratios)-sessionsToFit):]
	if len(before) == 0 || len(pairs) < 2 {
		return false
	}
	expected := 0.0
	for _, r := range before {
		expected += r / float64(len(before))
	}
	sem *= math.Sqrt(1 + 1/float64(len(before)))
	now := meanLog(pairs)
	asEntered, exchanged := math.Abs(now-expected)/sem, math.Abs(now+expected)/sem
	favour := (asEntered*asEntered - exchanged*exchanged) / 2
	return asEntered > d.z && exchanged < d.z && favour > -math.Log(d.p.RedFlag.FalseAlarm.Float()/100)
}

// The factors between the units of force that dynamometers show: N in kgf, N in
// lbf, and lbf in kgf.
//
// Source: kgf 3rd CGPM 1901; lbf by the international pound of 1959.
var unitFactors = [...]float64{9.80665, 4.4482216152605, 2.2046226218488}

// otherUnit marks a session in which the ratio of several strengths to the ones before is
// that of two units. One side may really change so much, so the comparison side has to
// show it too, unless it was not tested.
func (d *doubtFinder) otherUnit(scores []Score) bool {
	repeats := d.repeats(scores)
	for _, factor := range unitFactors {
		for _, f := range [...]float64{factor, 1 / factor} {
			if found, ok := d.atFactor(repeats, f); ok {
				d.doubtSession(scores, found)
				return true
			}
		}
	}
	return false
}

// repeat is a score with the one before of the same test, and the ratio of their strengths.
type repeat struct {
	now, then *Score
	ratio     float64
}

// repeats are the scores of a session whose unit the ones before may tell.
func (d *doubtFinder) repeats(scores []Score) []repeat {
	repeats := make([]repeat, 0, len(scores))
	for i := range scores {
		s, at := &scores[i], indexOfTest(d.latest, &scores[i])
		if at < 0 || s.Confirmed || s.Value.Sign() <= 0 || d.latest[at].Value.Sign() <= 0 {
			continue
		}
		if almostNone := AlmostNone(s, d.p); almostNone.Met(s.Value) && almostNone.Met(d.latest[at].Value) {
			continue // the ratio of what can hardly be measured says nothing about a unit
		}
		repeats = append(repeats, repeat{s, d.latest[at], s.Value.Float64() / d.latest[at].Value.Float64()})
	}
	return repeats
}

func (d *doubtFinder) atFactor(repeats []repeat, factor float64) (found DoubtFound, ok bool) {
	tolerance := d.p.Doubt.UnitTolerance.Value.Float64() / 100
	found = DoubtFound{Doubt: UnitMayBeWrong, Factor: factor}
	var compared, shown [shoulder.Left + 1]int // tests by side
	for i := range repeats {
		side := repeats[i].now.Side
		compared[side]++
		if math.Abs(repeats[i].ratio/factor-1) > tolerance {
			continue
		}
		shown[side]++
		found.Tests++
		if found.Score == nil {
			found.Score, found.Other = repeats[i].now, repeats[i].then
		}
	}
	return found, found.Tests >= 2 && d.isUnit(factor, compared, shown)
}

// isUnit reports whether a factor is due to a unit and not to a change of strength: both
// sides show it. Where only one side can be compared, a factor of about two may be a real
// change.
func (d *doubtFinder) isUnit(factor float64, compared, shown [shoulder.Left + 1]int) bool {
	involved, other := d.e.Involved, d.e.Involved.Other()
	if compared[involved] > 0 && compared[other] > 0 {
		return shown[involved] > 0 && shown[other] > 0
	}
	twofold := math.Log(unitFactors[2]) + d.p.Doubt.UnitTolerance.Value.Float64()/100
	return math.Abs(math.Log(factor)) > twofold
}

// sideOf keeps the scores of one side.
func sideOf(scores []Score, side shoulder.Side) []*Score {
	of := make([]*Score, 0, len(scores))
	for i := range scores {
		if scores[i].Side == side {
			of = append(of, &scores[i])
		}
	}
	return of
}
