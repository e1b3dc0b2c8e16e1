package redflag

import "evenreach.example/internal/measure"

// indexLoss finds a loss that a change of the way of testing hides: strengths of two
// instruments, supports or lever arms cannot be compared, but the indices can.
func (f *finder) indexLoss(trained bool) {
	if f.side != f.episode.Involved || f.episode.ComparisonAffected {
		return
	}
	loss, found := f.m.LossOfIndex(trained, f.p)
	if !found {
		return
	}
	threshold := f.p.RedFlag.LargeFall
	if loss.Together > 0 {
		threshold = f.p.RedFlag.JointFall
	}
	now := measuredIndex(loss.Now)
	f.add(Flag{
		Code: SuddenStrengthLoss, Motion: loss.Now.Motion, Position: loss.Now.Position, Tests: loss.Tests, Together: loss.Together,
		Now: now, Then: measuredIndex(loss.Then), Since: since(now, measuredIndex(loss.Latest)), Threshold: threshold,
		Sources: measure.Union(
			measure.Union(loss.Now.Involved.Sources, loss.Now.Comparison.Sources),
			measure.Union(loss.Then.Involved.Sources, loss.Then.Comparison.Sources),
		),
	})
}

func measuredIndex(s *measure.Symmetry) Measured { return Measured{s.Index, "%", s.When} }
