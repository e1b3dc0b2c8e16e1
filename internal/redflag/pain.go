package redflag

import (
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// painSurge finds pain during the test, or the worst pain of the day, that rose
// much above the least of the last weeks and is over the limit.
func (f *finder) painSurge() {
	for _, now := range f.currentPains() {
		if now.Context != shoulder.PainDuringResistedTest && now.Context != shoulder.PainWorst24h || f.p.Pain.Gate.Met(now.Score) {
			continue
		}
		then := f.painBefore(now)
		if then == nil || !f.p.RedFlag.PainRise.Met(now.Score.Sub(then.Score)) {
			continue
		}
		f.add(Flag{
			Code: PainSurge, Context: now.Context, Position: now.Position, Now: score(now), Then: score(then),
			Threshold: f.p.RedFlag.PainRise, Sources: measure.Union(now.Sources, then.Sources),
		})
		return
	}
}

// currentPains are the latest scores of each occasion that are current, the latest
// first.
func (f *finder) currentPains() []*measure.PainScore {
	pains := slices.DeleteFunc(f.m.LatestPains(), func(p *measure.PainScore) bool { return !f.current(p.When) })
	slices.Reverse(pains)
	return pains
}

func score(p *measure.PainScore) Reading { return Reading{p.Score, "{score}", p.When} }

// painBefore is the least pain of the same occasion in the sessions of the last weeks
// before: measured again, pain that has surged is no better for having been bad the
// last time as well.
func (f *finder) painBefore(now *measure.PainScore) (least *measure.PainScore) {
	for i := len(f.m.Pains) - 1; i >= 0; i-- {
		p := &f.m.Pains[i]
		if !f.recent(p.When, now.When) {
			break
		}
		if p.Session < now.Session && p.Context == now.Context && p.Position == now.Position && (least == nil || p.Score.Cmp(least.Score) < 0) {
			least = p
		}
	}
	return least
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
		for _, p := range f.currentPains() {
			if p.Context == l.context && l.limit.Met(p.Score) {
				f.add(Flag{
					Code: HighRestPain, Context: p.Context, Position: p.Position, Now: score(p), Threshold: l.limit, Sources: p.Sources,
				})
				return
			}
		}
	}
}
