package measure

import (
	"fmt"
	"strings"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Builders of small episodes for the tests. The right side is involved.

func day(n int) time.Time { return time.Date(2026, 3, 2+n, 9, 0, 0, 0, time.UTC) }

var nextSource shoulder.SourceID

func trial(side shoulder.Side, value string, options ...func(*shoulder.Trial)) shoulder.Trial {
	nextSource++
	t := shoulder.Trial{
		Source: nextSource, Side: side, Value: exact.MustParse(value), Motion: shoulder.External,
		Position: shoulder.AtSide, Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.Handheld,
	}
	for _, o := range options {
		o(&t)
	}
	return t
}

func byBreak(t *shoulder.Trial) { t.Contraction = shoulder.Break }

func inTorque(t *shoulder.Trial) { t.Dimension = shoulder.Torque }

func by(i shoulder.Instrument) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Instrument = i }
}

func at(p shoulder.ArmPosition) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Position = p }
}

func turning(r shoulder.Motion) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Motion = r }
}

func unsupported(t *shoulder.Trial) { t.Support = shoulder.Unsupported }

func confirmed(t *shoulder.Trial) { t.Confirmed = true }

// thrice is one test of three equal trials, the number that the published error
// is about.
func thrice(side shoulder.Side, value string, options ...func(*shoulder.Trial)) (trials []shoulder.Trial) {
	for range 3 {
		trials = append(trials, trial(side, value, options...))
	}
	return trials
}

// six is all six tests of both sides, each thrice. An empty value is not measured.
func six(n int, involved, comparison string, options ...func(*shoulder.Trial)) shoulder.Session {
	s := on(n)
	for _, r := range shoulder.Trained {
		for _, p := range shoulder.TrainedPositions {
			here := append([]func(*shoulder.Trial){turning(r), at(p)}, options...)
			if involved != "" {
				s.Trials = append(s.Trials, thrice(right, involved, here...)...)
			}
			if comparison != "" {
				s.Trials = append(s.Trials, thrice(left, comparison, here...)...)
			}
		}
	}
	return s
}

// each is a session of tests that differ: the strengths of external rotation in the three positions, then of internal
// rotation, each as the involved over the comparison side's, such as 70/100. What is not written is not measured, and -
// is a test of neither side.
func each(n int, tests string, options ...func(*shoulder.Trial)) shoulder.Session {
	s := on(n)
	for i, test := range strings.Fields(tests) {
		here := append([]func(*shoulder.Trial){turning(shoulder.Trained[i/3]), at(shoulder.TrainedPositions[i%3])}, options...)
		involved, comparison, _ := strings.Cut(strings.Trim(test, "-"), "/")
		for side, value := range map[shoulder.Side]string{right: involved, left: comparison} {
			if value != "" {
				s.Trials = append(s.Trials, thrice(side, value, here...)...)
			}
		}
	}
	return s
}

// visits are sessions a fortnight apart, each as its tests differ.
func visits(tests ...string) (sessions []shoulder.Session) {
	for i, of := range tests {
		sessions = append(sessions, each(14*i, of))
	}
	return sessions
}

// withError is the default protocol with another measurement error, in per cent.
func withError(percent int) *protocol.Protocol {
	p, err := protocol.Load(fmt.Appendf(nil, `{"id":"clinic","error":{"stabilised":{"value":%[1]d,"source":"x"},
		"usual":{"value":%[1]d,"source":"x"},"unstabilised":{"value":%[2]d,"source":"x"}}}`, percent, max(14, percent)))
	if err != nil {
		panic(err)
	}
	return p
}

func on(n int, trials ...shoulder.Trial) shoulder.Session {
	return shoulder.Session{When: day(n), Trials: trials}
}

func episode(sessions ...shoulder.Session) *shoulder.Episode {
	return &shoulder.Episode{Involved: shoulder.Right, Sessions: sessions}
}

func measured(sessions ...shoulder.Session) *Measurements {
	return Measure(episode(sessions...), protocol.Default())
}
