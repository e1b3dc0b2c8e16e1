package redflag

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// graded is a grade of the manual test with its session.
type graded struct {
	*shoulder.Grade
	session int
}

// eachTest calls a function with the grades of each motion and position that has any.
func (f *finder) eachTest(trained bool, do func([]graded)) {
	for _, motion := range shoulder.Motions {
		for _, position := range shoulder.Positions {
			if grades := f.grades(motion, position); len(grades) > 0 && motion.Trained() == trained {
				do(grades)
			}
		}
	}
}

// gradeLoss finds a manual grade that fell by several whole grades against an
// earlier session of the last weeks, and was not regained. A dynamometer goes before
// it where that position was measured in the same session, or on a later day.
func (f *finder) gradeLoss(trained bool) {
	var losses []Flag
	f.eachTest(trained, func(grades []graded) {
		if loss, found := f.gradeLossAt(grades); found {
			losses = append(losses, loss)
		}
	})
	f.addFirst(losses)
}

// nearZeroGrades are the grades of almost no strength, now or in an earlier session if
// nothing of a later day is whole. A force of the same day does not answer a grade: who
// felt no resistance and who read the dynamometer contradict each other, and one of them
// missed a loss.
func (f *finder) nearZeroGrades(trained bool) (all []Flag) {
	f.eachTest(trained, func(grades []graded) {
		for n, g := range slices.Backward(grades) {
			if g.Value > f.p.RedFlag.Grade.Value || f.forceSince(g) || f.gradeRegained(f.laterGrades(grades[n+1:], g), bestGrade(grades[:n])) {
				continue
			}
			all = append(all, Flag{
				Code: NearZeroForce, Motion: g.Motion, Position: g.Position, Grade: g.Value,
				Now: Measured{When: f.when(g)}, Sources: []shoulder.SourceID{g.Source},
			})
			return
		}
	})
	return all
}

// laterGrades are those of the grades since another that are of a later day.
func (f *finder) laterGrades(since []graded, g graded) []graded {
	return laterDays(since, f.when(g), f.when)
}

// forceSince reports whether the dynamometer found strength on a later day than a grade:
// above the force that is almost none, beyond its own error.
func (f *finder) forceSince(g graded) bool {
	for i := len(f.m.Scores) - 1; i >= 0 && f.m.Scores[i].Session > g.session; i-- {
		s := &f.m.Scores[i]
		same := s.Side == f.side && s.Motion == g.Motion && s.Position == g.Position
		if same && laterDay(f.when(g), s.When) && !s.Doubts.Block() && f.clearlyAbove(s, measure.AlmostNone(s, f.p)) {
			return true
		}
	}
	return false
}

// bestGrade is the highest of several grades, the highest there is for none.
func bestGrade(grades []graded) shoulder.MuscleGrade {
	if len(grades) == 0 {
		return shoulder.Grade5
	}
	return slices.MaxFunc(grades, func(a, b graded) int { return int(a.Value) - int(b.Value) }).Value
}

// wholeGrade holds against resistance that is more than slight. Source: the Medical
// Research Council's scale, in which 4 is movement against gravity and resistance.
const wholeGrade = shoulder.Grade4

// gradeRegained reports whether a later grade is whole: as good as before a loss, or good
// against resistance. A grade that came back in part is still lost.
func (f *finder) gradeRegained(since []graded, before shoulder.MuscleGrade) bool {
	whole := max(min(before, wholeGrade), f.p.RedFlag.Grade.Value+1)
	return slices.ContainsFunc(since, func(g graded) bool { return g.Value >= whole })
}

// grades are the lowest grades of each session of one rotation and position, oldest
// first.
func (f *finder) grades(motion shoulder.Motion, position shoulder.ArmPosition) (of []graded) {
	for i := range f.episode.Sessions {
		grades := f.episode.Sessions[i].Grades
		for k := range grades {
			g := &grades[k]
			if g.Side != f.side || g.Motion != motion || g.Position != position {
				continue
			}
			switch n := len(of); {
			case n == 0 || of[n-1].session != i:
				of = append(of, graded{g, i})
			case g.Value < of[n-1].Value:
				of[n-1].Grade = g
			}
		}
	}
	return of[max(0, len(of)-mostSessions):]
}

// gradeLossAt looks at the grades of one rotation and position, the latest first.
func (f *finder) gradeLossAt(grades []graded) (Flag, bool) {
	for n := len(grades) - 1; n > 0; n-- {
		now := grades[n]
		if f.measuredWithOrAfter(now) {
			continue
		}
		for k, then := range grades[:n] {
			recent := k == n-1 || f.recent(f.when(then), f.when(now)) // the session before counts however long ago
			if recent && f.fellFrom(then, now) && !f.gradeRegained(f.laterGrades(grades[n+1:], now), then.Value) {
				return f.lossOfGrade(now, then), true
			}
		}
	}
	return Flag{}, false
}

// fellFrom reports whether a grade is lower than another by several whole grades.
func (f *finder) fellFrom(then, now graded) bool {
	fall, _ := exact.Int(int64(then.Value.Thirds() - now.Value.Thirds())).Quo(exact.Int(3))
	return f.p.RedFlag.GradeFall.Met(fall)
}

func (f *finder) when(g graded) time.Time { return f.episode.Sessions[g.session].When }

func (f *finder) lossOfGrade(now, then graded) Flag {
	return Flag{
		Code: SuddenStrengthLoss, Motion: now.Motion, Position: now.Position, Grade: now.Value, GradeThen: then.Value,
		Now: Measured{When: f.when(now)}, Then: Measured{When: f.when(then)}, Tests: 1, Threshold: f.p.RedFlag.GradeFall,
		Sources: measure.Union([]shoulder.SourceID{now.Source}, []shoulder.SourceID{then.Source}),
	}
}
