package redflag

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// painSurge finds pain during the test, the worst pain of the day, or pain of which nobody
// says when it was felt, that rose much above the least of the last weeks and is over the limit: now, or in an earlier
// session if it has not settled since.
func (f *finder) painSurge() {
	var surges []Flag
	for _, latest := range f.latestPains() {
		if latest.Context == shoulder.PainAtRest {
			continue
		}
		if surge, found := f.surgeOf(f.painsLike(latest)); found {
			surges = append(surges, surge)
		}
	}
	f.addFirst(surges)
}

// surgeOf is the latest surge of the pain of one occasion that has not settled.
func (f *finder) surgeOf(course []*measure.PainScore) (Flag, bool) {
	for i, now := range slices.Backward(course) {
		if !f.overGate(now.Score) {
			continue
		}
		then := f.painBefore(now)
		if then == nil || !f.p.RedFlag.PainRise.Met(now.Score.Sub(then.Score)) || f.settled(laterPains(course[i+1:], now), then, f.overGate) {
			continue
		}
		return Flag{
			Code: PainSurge, Context: now.Context, Position: now.Position, Now: score(now), Then: score(then),
			Since: since(score(now), score(course[len(course)-1])), Threshold: f.p.RedFlag.PainRise, Sources: measure.Union(now.Sources, then.Sources),
		}, true
	}
	return Flag{}, false
}

func (f *finder) overGate(score exact.Number) bool { return !f.p.Pain.Gate.Met(score) }

// settled reports whether pain that was over a limit has come down whole since: a real
// change below the limit, or under it and no real change above what it was before, if
// that is known.
func (f *finder) settled(since []*measure.PainScore, before *measure.PainScore, over func(exact.Number) bool) bool {
	change := f.p.Pain.Change
	return slices.ContainsFunc(since, func(s *measure.PainScore) bool {
		asBefore := before != nil && !over(s.Score) && !change.Met(s.Score.Sub(before.Score))
		return asBefore || !over(s.Score.Add(change.Value))
	})
}

// laterPains are those of the scores since another that are of a later day.
func laterPains(since []*measure.PainScore, than *measure.PainScore) []*measure.PainScore {
	return laterDays(since, than.When, func(p *measure.PainScore) time.Time { return p.When })
}

// latestPains are the latest scores of each occasion, the latest first.
func (f *finder) latestPains() []*measure.PainScore {
	pains := f.m.LatestPains()
	slices.Reverse(pains)
	return pains
}

// tellsOf reports whether a score says how strong the pain of another is: of the same
// occasion, or the worst of the day for a pain of which nobody says when it was felt. That
// one counts as worst pain where it raises an alarm, because the worst was no less; it
// never ends the alarm of a worst pain, because the worst may have been more.
func tellsOf(p, of *measure.PainScore) bool {
	if of.Context == shoulder.PainUnstated && p.Context == shoulder.PainWorst24h {
		return true
	}
	return p.Context == of.Context && p.Position == of.Position
}

// painsLike are the scores that tell of a pain in the latest sessions, oldest first.
func (f *finder) painsLike(latest *measure.PainScore) (course []*measure.PainScore) {
	for i := range f.m.Pains {
		if p := &f.m.Pains[i]; tellsOf(p, latest) {
			course = append(course, p)
		}
	}
	return course[max(0, len(course)-mostSessions):]
}

func score(p *measure.PainScore) Measured { return Measured{p.Score, "{score}", p.When} }

// painBefore is the least pain of the same occasion in the sessions of the last weeks
// before: measured again, pain that has surged is no better for having been bad the
// last time as well.
func (f *finder) painBefore(now *measure.PainScore) (least *measure.PainScore) {
	for i := len(f.m.Pains) - 1; i >= 0; i-- {
		p := &f.m.Pains[i]
		if !f.recent(p.When, now.When) {
			break
		}
		if p.Session < now.Session && tellsOf(p, now) && (least == nil || p.Score.Cmp(least.Score) < 0) {
			least = p
		}
	}
	return least
}

// restPain finds strong pain at rest, or a very bad worst of the day, which pain of an
// occasion that nobody recorded counts as: now, or in an
// earlier session if it has not settled since.
func (f *finder) restPain() {
	limits := [...]struct {
		context shoulder.PainContext
		limit   protocol.Threshold
	}{
		{shoulder.PainAtRest, f.p.RedFlag.RestPain},
		{shoulder.PainWorst24h, f.p.RedFlag.WorstPain},
		{shoulder.PainUnstated, f.p.RedFlag.WorstPain},
	}
	var high []Flag
	for _, l := range limits {
		for _, latest := range f.latestPains() {
			if latest.Context != l.context {
				continue
			}
			if p := f.unsettled(f.painsLike(latest), l.limit); p != nil {
				high = append(high, Flag{
					Code: HighRestPain, Context: p.Context, Position: p.Position, Now: score(p), Since: since(score(p), score(latest)),
					Threshold: l.limit, Sources: p.Sources,
				})
			}
		}
	}
	f.addFirst(high)
}

// unsettled is the latest score over a limit that has not settled, nil if there is none.
func (f *finder) unsettled(course []*measure.PainScore, limit protocol.Threshold) *measure.PainScore {
	for i, p := range slices.Backward(course) {
		if limit.Met(p.Score) && !f.settled(laterPains(course[i+1:], p), lastUnder(course[:i], limit), limit.Met) {
			return p
		}
	}
	return nil
}

// lastUnder is the latest score that is not over a limit, nil if there is none.
func lastUnder(course []*measure.PainScore, limit protocol.Threshold) *measure.PainScore {
	for _, p := range slices.Backward(course) {
		if !limit.Met(p.Score) {
			return p
		}
	}
	return nil
}
