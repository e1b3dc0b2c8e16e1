package redflag

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// painSurge finds pain during the test, or the worst pain of the day, that rose
// much since the session before and is over the limit.
func (f *finder) painSurge() {
	for i := len(f.m.Pains) - 1; i >= 0 && f.current(f.m.Pains[i].When); i-- {
		now := &f.m.Pains[i]
		if now.Context != shoulder.PainDuringResistedTest && now.Context != shoulder.PainWorst24h || f.p.Pain.Gate.Met(now.Score) {
			continue
		}
		then := f.painBefore(i)
		if then == nil || !f.isLatestPain(i) || !f.p.RedFlag.PainRise.Met(now.Score.Sub(then.Score)) {
			continue
		}
		f.add(Flag{
			Code: PainSurge, Context: now.Context, Position: now.Position, Now: score(now), Then: score(then),
			Threshold: f.p.RedFlag.PainRise, Sources: measure.Union(now.Sources, then.Sources),
		})
		return
	}
}

func score(p *measure.PainScore) Reading { return Reading{p.Score, "{score}", p.When} }

// painBefore is the pain of the same occasion in the session before, if it is not
// long ago.
func (f *finder) painBefore(i int) *measure.PainScore {
	now := &f.m.Pains[i]
	for k := i - 1; k >= 0; k-- {
		p := &f.m.Pains[k]
		if !f.recent(p.When, now.When) {
			return nil
		}
		if p.Session < now.Session && p.Context == now.Context && p.Position == now.Position {
			return p
		}
	}
	return nil
}

// isLatestPain reports whether no later session has a score of the same occasion.
func (f *finder) isLatestPain(i int) bool {
	for k := i + 1; k < len(f.m.Pains); k++ {
		p := &f.m.Pains[k]
		if p.Session > f.m.Pains[i].Session && p.Context == f.m.Pains[i].Context && p.Position == f.m.Pains[i].Position {
			return false
		}
	}
	return true
}

// restPain finds strong pain at rest, or a very bad worst of the day.
func (f *finder) restPain() {
	limits := [...]struct {
		context shoulder.PainContext
		limit   protocol.Threshold
	}{
		{shoulder.PainAtRest, f.p.RedFlag.RestPain},
		{shoulder.PainWorst24h, f.p.RedFlag.WorstPain},
	}
	for _, l := range limits {
		for i := len(f.m.Pains) - 1; i >= 0 && f.current(f.m.Pains[i].When); i-- {
			p := &f.m.Pains[i]
			if p.Context == l.context && l.limit.Met(p.Score) && f.isLatestPain(i) {
				f.add(Flag{
					Code: HighRestPain, Context: p.Context, Position: p.Position, Now: score(p), Threshold: l.limit, Sources: p.Sources,
				})
				return
			}
		}
	}
}
