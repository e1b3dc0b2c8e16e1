package measure

import (
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
		Source: nextSource, Side: side, Value: exact.MustParse(value), Rotation: shoulder.External,
		Position: shoulder.AtSide, Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.Handheld,
	}
	for _, o := range options {
		o(&t)
	}
	return t
}

func with(contraction shoulder.Contraction) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Contraction = contraction }
}

func as(d shoulder.Dimension) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Dimension = d }
}

func by(i shoulder.Instrument) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Instrument = i }
}

func at(p shoulder.ArmPosition) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Position = p }
}

func turning(r shoulder.Rotation) func(*shoulder.Trial) {
	return func(t *shoulder.Trial) { t.Rotation = r }
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
