package redflag

import (
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// painSurge finds pain during the test, or the worst pain of the day, that rose
// much above the least of the last weeks and is over the limit: now, or in an earlier
// session if no later one shows less.
func (f *finder) painSurge() {
	for _, latest := range f.latestPains() {
		if latest.Context != shoulder.PainDuringResistedTest && latest.Context != shoulder.PainWorst24h || f.p.Pain.Gate.Met(latest.Score) {
			continue
		}
		if f.surgeOf(latest) {
			return
		}
	}
}

// surgeOf adds the latest surge of the pain of one occasion, if its latest score is as
// much above the score before the surge.
func (f *finder) surgeOf(latest *measure.PainScore) bool {
	looked := 0
	for i := len(f.m.Pains) - 1; i >= 0 && looked < mostSessions; i-- {
		now := &f.m.Pains[i]
		if now.Context != latest.Context || now.Position != latest.Position {
			continue
		}
		looked++
		then := f.painBefore(now)
		if then == nil || f.p.Pain.Gate.Met(now.Score) || !f.p.RedFlag.PainRise.Met(now.Score.Sub(then.Score)) || !f.p.RedFlag.PainRise.Met(latest.Score.Sub(then.Score)) {
			continue
		}
		f.add(Flag{
			Code: PainSurge, Context: now.Context, Position: now.Position, Now: score(now), Then: score(then),
			Threshold: f.p.RedFlag.PainRise, Sources: measure.Union(now.Sources, then.Sources),
		})
		return true
	}
	return false
}

// latestPains are the latest scores of each occasion, the latest first.
func (f *finder) latestPains() []*measure.PainScore {
	pains := f.m.LatestPains()
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
		for _, p := range f.latestPains() {
			if p.Context == l.context && l.limit.Met(p.Score) {
				f.add(Flag{
					Code: HighRestPain, Context: p.Context, Position: p.Position, Now: score(p), Threshold: l.limit, Sources: p.Sources,
				})
				return
			}
		}
	}
}
