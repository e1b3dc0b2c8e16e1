package measure

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Doubt is a reason to repeat a measurement, or to have it confirmed, before it is
// relied on.
type Doubt uint8

// The doubts. All but the last keep a score from deciding anything.
const (
	TrialsDisagree     Doubt = iota // one of the trials cannot be right
	SidesMayBeSwapped               // the values fit better if the sides are exchanged
	UnitMayBeWrong                  // the values fit better in another unit
	ComparisonDeclined              // the comparison side lost strength
)

// String is the code of the doubt in the code system of input issues.
func (d Doubt) String() string {
	return [...]string{"trials-disagree", "sides-may-be-swapped", "unit-may-be-wrong", "comparison-side-declined"}[d]
}

// Doubts is a set of doubts.
type Doubts uint8

// Has reports whether a doubt is in the set.
func (d Doubts) Has(k Doubt) bool { return d&(1<<k) != 0 }

// Block reports whether one of the doubts keeps a score from deciding anything.
func (d Doubts) Block() bool { return d&^(1<<ComparisonDeclined) != 0 }

// denied is beside the doubts that are found: a clinician has said that a reading is not right.
const denied Doubts = 1 << 7

// Denied reports whether a clinician has said that the number is not right: it decides nothing
// before the test is repeated.
func (d Doubts) Denied() bool { return d&denied != 0 }

func (d *Doubts) add(k Doubt) { *d |= 1 << k }

// DoubtFound is a doubt with the numbers behind it.
type DoubtFound struct {
	Doubt   Doubt
	Session int
	When    time.Time
	// Score is the score whose trials disagree, or the test that shows a doubt about its
	// session most clearly.
	Score *Score
	// Other is the score with which Score is compared: the other side's of the session, or
	// an earlier one; nil for trials.
	Other *Score
	// Trials are the values of the trials that disagree, in the order of the inputs. Apart
	// is the input of the outlier and ApartValue its value; -1 and nil if no single trial
	// is the outlier.
	Trials     []exact.Number
	Apart      shoulder.SourceID
	ApartValue *exact.Number
	// Tests is how many tests show the doubt.
	Tests int
	// Factor is the ratio between two units that the values suggest.
	Factor float64
	// Fall is the mean fall of the comparison side in per cent.
	Fall    float64
	Sources []shoulder.SourceID
}

// findDoubts marks the scores that are in doubt, and lists the doubts: those of the
// trained motions first, by session. The other motions are examined separately, so that
// measuring one of them never hides a doubt about a trained one.
func findDoubts(e *shoulder.Episode, scores []Score, p *protocol.Protocol) (found []DoubtFound) {
	for _, trained := range [...]bool{true, false} {
		d := doubtFinder{e: e, p: p, scores: scores, trained: trained, z: OneSided(p.RedFlag.FalseAlarm.Float() / 100)}
		for rest := scores; len(rest) > 0; {
			n := 1
			for n < len(rest) && rest[n].Session == rest[0].Session && rest[n].Motion.Trained() == rest[0].Motion.Trained() {
				n++
			}
			if rest[0].Motion.Trained() == trained {
				d.session(rest[:n])
			}
			rest = rest[n:]
		}
		d.comparisonDeclined()
		found = append(found, d.found...)
	}
	return found
}

// doubtFinder goes through the sessions in order and collects the scores that are not in
// doubt, with which later ones are compared.
type doubtFinder struct {
	e      *shoulder.Episode
	p      *protocol.Protocol
	scores []Score
	// trained says which motions it examines: those with steps, or the others.
	trained bool
	z       float64 // one-sided quantile of the probability of a false alarm
	latest  []*Score
	ratios  []float64 // mean logarithm of involved over comparison, of the believed sessions
	// confirmedAbove: a clinician has confirmed that the involved side is the stronger one.
	confirmedAbove bool
	found          []DoubtFound
}

// session examines the scores of one session.
func (d *doubtFinder) session(scores []Score) {
	for i := range scores {
		if s := &scores[i]; s.Doubts.Has(TrialsDisagree) {
			f := DoubtFound{Doubt: TrialsDisagree, Session: s.Session, When: s.When, Score: s, Apart: s.Outlier, Tests: 1, Sources: s.Sources}
			f.Trials, f.ApartValue = d.trialValues(s)
			d.found = append(d.found, f)
		}
	}
	pairs := d.pairs(scores)
	if d.swapped(scores, pairs) || d.otherUnit(scores) {
		return
	}
	d.addBelieved(scores, pairs)
}

// addBelieved adds the scores of a session that are not in doubt, with which later ones
// are compared.
func (d *doubtFinder) addBelieved(scores []Score, pairs []pair) {
	for i := range scores {
		s := &scores[i]
		if !s.believed() {
			continue
		}
		if at := indexOfTest(d.latest, s); at >= 0 {
			d.latest[at] = s
		} else {
			d.latest = append(d.latest, s)
		}
	}
	if len(pairs) > 0 {
		d.ratios = append(d.ratios, meanLog(pairs))
	}
}

// doubtSession marks all scores of a session.
func (d *doubtFinder) doubtSession(scores []Score, f DoubtFound) {
	for i := range scores {
		scores[i].Doubts.add(f.Doubt)
	}
	f.Session, f.When, f.Apart = scores[0].Session, scores[0].When, -1
	f.Sources = f.Score.Sources
	if f.Other != nil {
		f.Sources = Union(f.Score.Sources, f.Other.Sources)
	}
	d.found = append(d.found, f)
}

// StandingDoubts are the doubts about the latest test of a motion and position of either
// side. A doubt ends when the test is repeated.
func (m *Measurements) StandingDoubts(involved shoulder.Side) (standing []*DoubtFound) {
	if len(m.Doubts) == 0 {
		return nil
	}
	latest := append(LatestOf(m.Scores, involved), LatestOf(m.Scores, involved.Other())...)
	for i := range m.Doubts {
		if d := &m.Doubts[i]; slices.ContainsFunc(latest, d.concerns) {
			standing = append(standing, d)
		}
	}
	return standing
}

// concerns reports whether a doubt is about a score.
func (d *DoubtFound) concerns(s *Score) bool {
	if d.Doubt == TrialsDisagree {
		return s.Session == d.Session && s.Motion == d.Score.Motion && s.Position == d.Score.Position && s.Side == d.Score.Side
	}
	return s.Session == d.Session && s.Doubts.Has(d.Doubt)
}

// trialValues are the values of the trials of a score in the order of their inputs, then
// those that were refused, and the outlier if there is one.
func (d *doubtFinder) trialValues(s *Score) (all []exact.Number, apart *exact.Number) {
	var values []float64
	for _, t := range d.trials(s) {
		all, values = append(all, t.Value), append(values, t.Value.Float64())
	}
	if i := outlier(values, d.p.Trials.Outlier); i >= 0 {
		apart = &all[i]
	}
	refused := refusedOf(s, d.e)
	for _, t := range refused {
		all = append(all, t.Value)
	}
	if len(refused) > 0 {
		apart = &refused[0].Value
	}
	return all, apart
}

// trials are those of a score, in the order of their inputs.
func (d *doubtFinder) trials(s *Score) (of []orderedTrial) {
	trials := d.e.Sessions[s.Session].Trials
	for i := range trials {
		if t := &trials[i]; settingOf(t) == s.Setting && t.Side == s.Side && t.Dimension == s.Dimension {
			of = append(of, orderedTrial{Trial: t})
		}
	}
	slices.SortFunc(of, orderedTrial.compare)
	return of
}
