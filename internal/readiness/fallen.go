package readiness

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/redflag"
)

// fallenStrength: more than half of the tests of strength, and as many as a red flag asks for
// at least, are clearly worse than at the session before, as the course of all tests shows it.
// That is less sure than a red flag has to be, which holds all load; functional work waits, and
// it is measured again early.
func (j *judge) fallenStrength(flags []redflag.Flag) []Concern {
	lost := func(f redflag.Flag) bool { return f.Code == redflag.SuddenStrengthLoss }
	at := j.episode.Latest()
	if j.before || at < 0 || slices.ContainsFunc(flags, lost) {
		return nil
	}
	tests, fell := 0, []*measure.Change(nil)
	for i := range j.m.Changes {
		k := &j.m.Changes[i]
		counts := k.Subject == measure.StrengthChange && k.Against == measure.Previous && k.Side == j.episode.Involved && k.Setting.Motion.Trained()
		if !counts || measure.DaysBetween(k.ToWhen, j.episode.Sessions[at].When) != 0 {
			continue
		}
		tests++
		if k.Direction == measure.Declined {
			fell = append(fell, k)
		}
	}
	if 2*len(fell) <= tests || !j.p.RedFlag.Tests.Met(exact.Int(int64(len(fell)))) {
		return nil
	}
	return []Concern{{Kind: StrengthFell, Side: j.episode.Involved, Tests: len(fell), Then: redflag.Measured{When: fell[0].FromWhen}, Now: redflag.Measured{When: fell[0].ToWhen}}}
}
