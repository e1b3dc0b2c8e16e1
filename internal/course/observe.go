package course

import (
	"math"
	"slices"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Test is what is followed: a strength that both sides are tested for in the same
// way.
type Test struct {
	measure.Setting
	// Dimension is what the sides are compared by: forces, or torques by the lever
	// arms where all of them are known.
	Dimension shoulder.Dimension
}

// Episode is the course of an episode: of all its tests and of those that decide. It
// is nil where there is no unaffected side, or nothing is believed.
func Episode(e *shoulder.Episode, m *measure.Measurements, p *protocol.Protocol) *Course {
	o := &observer{e: e, m: m, p: p, until: len(e.Sessions)}
	observations := o.follow()
	if len(observations) == 0 {
		return nil
	}
	c := of(observations, len(o.tests), o.deciding(), parametersOf(p))
	c.Start, c.observer = o.start, o
	for i := range c.Tests {
		c.Tests[i].Test = o.tests[i].Test
	}
	c.fillProspects(p)
	return c
}

// AllEvenBefore is the probability that the true indices of all tests that decide are
// even at a time, as the sessions before one of them show it. Nothing that this session
// or a later one measured has a part in it, so that no value of theirs, high, low or
// missing, can raise or lower it. It is false where the earlier sessions do not have all
// tests that decide. Motions that are not trained have no part in it either: they would
// tell of the day that they share, and a strong abduction must not speak for a rotation.
func (c *Course) AllEvenBefore(session int, when time.Time) (float64, bool) {
	if c == nil || c.observer == nil {
		return 0, false
	}
	o := observer{e: c.observer.e, m: c.observer.m, p: c.observer.p, until: session, trainedOnly: true}
	observations := o.follow()
	deciding := o.deciding()
	if len(deciding) < everyTrainedTest {
		return 0, false
	}
	parts := c.partsOf(observations, len(o.tests))
	days := measure.DaysBetween(o.start, when) - observations[len(observations)-1].Day
	for i := range parts {
		parts[i].filter.wait(math.Max(float64(days)/daysPerWeek, 0))
	}
	return allEven(parts, deciding, &c.par), true
}

// partsOf is the posterior of observations. Most often the course began with the same ones and
// went on with those of the latest session only; then it has been computed on the way.
func (c *Course) partsOf(observations []Observation, tests int) []part {
	if s := c.series; len(c.before) > 0 && slices.Equal(observations, s.observations[:s.starts[s.latest(&c.par)]]) {
		return clones(c.before)
	}
	s := seriesOf(tests, observations)
	_, parts := weighed(s, &c.par, s.newDay())
	return parts
}

// everyTrainedTest is how many tests decide if all are measured.
var everyTrainedTest = len(shoulder.Trained) * len(shoulder.TrainedPositions)

// follow turns the scores into the observations of the sessions that are followed.
func (o *observer) follow() []Observation {
	if o.e.ComparisonAffected {
		return nil
	}
	o.findTests()
	return o.observe()
}

// longest bounds the sessions that are followed, the latest ones. Common practice: no
// episode of care has more re-checks.
const longest = 60

// observer turns scores into observations.
type observer struct {
	e           *shoulder.Episode
	m           *measure.Measurements
	p           *protocol.Protocol
	until       int       // session before which the course ends
	trainedOnly bool      // motions that are not trained are left out
	start       time.Time // of the first observation
	tests       []observed
}

// follows reports whether a score is believed, young enough and of a motion that is
// followed.
func (o *observer) follows(s *measure.Score) bool {
	return s.Session >= o.until-longest && s.Session < o.until && !s.Doubts.Block() && (!o.trainedOnly || s.Motion.Trained())
}

// observed is a test with what is needed to compare its scores.
type observed struct {
	Test
	levers     bool    // all scores are torques or have a measured lever arm
	torques    bool    // some are torques
	correction float64 // logarithm of the factor for dominance
	// sum and number of the strengths of the involved and the comparison side
	sum    [2]float64
	number [2]int
}

// reference is the usual strength of a test as far as it is known yet, at which its error is
// taken: that of the comparison side, if it was tested. A weaker involved side must not count
// as less certain, or weakness would weigh less than strength.
func (t *observed) reference() float64 {
	for _, side := range [...]int{comparison, involved} {
		if t.number[side] > 0 {
			return t.sum[side] / float64(t.number[side])
		}
	}
	return 0
}

const (
	involved = iota
	comparison
)

func (o *observer) side(s *measure.Score) int {
	if s.Side == o.e.Involved {
		return involved
	}
	return comparison
}

// each calls found with the scores of some sessions that are followed, and with the index of
// their tests, -1 for a new one.
func (o *observer) each(scores []measure.Score, found func(s *measure.Score, test int)) {
	for i := range scores {
		if s := &scores[i]; o.follows(s) {
			found(s, slices.IndexFunc(o.tests, func(t observed) bool { return t.Setting == s.Setting }))
		}
	}
}

// findTests lists the tests in the order of their first scores.
func (o *observer) findTests() {
	o.each(o.m.Scores, func(s *measure.Score, test int) {
		if test < 0 {
			factor := measure.DominanceFactor(o.e, s.Setting, o.p).Float64()
			test = len(o.tests)
			o.tests = append(o.tests, observed{Test: Test{Setting: s.Setting}, levers: true, correction: math.Log(factor)})
		}
		t := &o.tests[test]
		t.levers = t.levers && s.Torque != nil && !s.LeverEstimated
		t.torques = t.torques || s.Dimension == shoulder.Torque
	})
	for i := range o.tests {
		if t := &o.tests[i]; t.levers || t.torques {
			t.Dimension = shoulder.Torque
		}
	}
}

// valueOf is what a score is compared by; false for a force without a lever arm where
// torques are compared.
func (t *observed) valueOf(s *measure.Score) (float64, bool) {
	switch {
	case t.Dimension == s.Dimension:
		return s.Value.Float64(), true
	case s.Torque != nil:
		return s.Torque.Float64(), true
	}
	return 0, false
}

// observe lists what was measured, in the order of the days. What a session says of how
// strong a test usually is counts for this session too, but not for those before it: what
// was known then stays what it was.
func (o *observer) observe() (observations []Observation) {
	for scores := o.m.Scores; len(scores) > 0; {
		end := slices.IndexFunc(scores, func(s measure.Score) bool { return s.Session != scores[0].Session })
		if end < 0 {
			end = len(scores)
		}
		o.noteReferences(scores[:end])
		observations = o.observeSession(observations, scores[:end])
		scores = scores[end:]
	}
	return observations
}

func (o *observer) noteReferences(scores []measure.Score) {
	o.each(scores, func(s *measure.Score, test int) {
		t := &o.tests[test]
		if value, ok := t.valueOf(s); ok {
			t.sum[o.side(s)] += value
			t.number[o.side(s)]++
		}
	})
}

func (o *observer) observeSession(observations []Observation, scores []measure.Score) []Observation {
	o.each(scores, func(s *measure.Score, test int) {
		t := &o.tests[test]
		value, ok := t.valueOf(s)
		if !ok {
			return
		}
		day := 0
		if len(observations) == 0 {
			o.start = s.When
			observations = make([]Observation, 0, len(o.m.Scores))
		} else {
			day = max(observations[len(observations)-1].Day, measure.DaysBetween(o.start, s.When))
		}
		reference := t.reference()
		x := Observation{Day: day, Test: test, Comparison: o.side(s) == comparison}
		x.Own, x.Shared = s.Parts(reference*ownUnits(s, value), o.p)
		x.Log = math.Log(math.Max(value, math.Max(leastShare*reference, leastStrength)))
		if !x.Comparison {
			x.Log += t.correction
		}
		observations = append(observations, x)
	})
	return observations
}

// ownUnits is what a strength that is compared is multiplied by to be in the unit in
// which a score was measured.
func ownUnits(s *measure.Score, value float64) float64 {
	if own := s.Value.Float64(); own > 0 && value > 0 {
		return own / value
	}
	return 1
}

// leastShare of the usual strength, and leastStrength in its unit, keep the logarithm
// of a silent side finite.
const (
	leastShare    = 0.01
	leastStrength = 0.01
)

// deciding is the tests of the indices that decide, one for each motion with steps of
// training, in each position.
func (o *observer) deciding() (tests []int) {
	for _, motion := range shoulder.Trained {
		for _, position := range motion.TestedIn() {
			var setting measure.Setting
			for _, s := range o.m.DecidingIndices(motion, position) {
				if s.Session < o.until {
					setting = s.Setting
				}
			}
			if test := slices.IndexFunc(o.tests, func(t observed) bool { return t.Setting == setting }); test >= 0 {
				tests = append(tests, test)
			}
		}
	}
	return tests
}

// Find is the test of a setting, nil if it is not followed.
func (c *Course) Find(setting measure.Setting) *TestCourse {
	if c == nil {
		return nil
	}
	for i := range c.Tests {
		if c.Tests[i].Setting == setting {
			return &c.Tests[i]
		}
	}
	return nil
}
