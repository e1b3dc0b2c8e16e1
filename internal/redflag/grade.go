package redflag

import (
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

// gradeLoss finds a manual grade that fell by several whole grades against an
// earlier session of the last weeks, and was not regained. A dynamometer goes before
// it where that position was measured in the session or later.
func (f *finder) gradeLoss() {
	for _, rotation := range shoulder.Rotations {
		for _, position := range shoulder.Positions {
			if f.gradeLossAt(f.grades(rotation, position)) {
				return
			}
		}
	}
}

// grades are the lowest grades of each session of one rotation and position, oldest
// first.
func (f *finder) grades(rotation shoulder.Rotation, position shoulder.ArmPosition) (of []graded) {
	for i := range f.episode.Sessions {
		grades := f.episode.Sessions[i].Grades
		for k := range grades {
			g := &grades[k]
			if g.Side != f.side || g.Rotation != rotation || g.Position != position {
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
func (f *finder) gradeLossAt(grades []graded) bool {
	for n := len(grades) - 1; n > 0; n-- {
		now, latest := grades[n], grades[len(grades)-1]
		if f.measuredSince(now.session)[now.Rotation][now.Position] {
			continue
		}
		for k, then := range grades[:n] {
			recent := k == n-1 || f.recent(f.when(then), f.when(now)) // the session before counts however long ago
			if !recent || !f.fellFrom(then, now) || !f.fellFrom(then, latest) {
				continue
			}
			f.add(f.lossOfGrade(now, then))
			return true
		}
	}
	return false
}

// fellFrom reports whether a grade is lower than another by several whole grades.
func (f *finder) fellFrom(then, now graded) bool {
	fall, _ := exact.Int(int64(then.Value.Thirds() - now.Value.Thirds())).Quo(exact.Int(3))
	return f.p.RedFlag.GradeFall.Met(fall)
}

func (f *finder) when(g graded) time.Time { return f.episode.Sessions[g.session].When }

func (f *finder) lossOfGrade(now, then graded) Flag {
	return Flag{
		Code: SuddenStrengthLoss, Rotation: now.Rotation, Position: now.Position, Grade: now.Value, GradeThen: then.Value,
		Now: Reading{When: f.when(now)}, Then: Reading{When: f.when(then)}, Tests: 1, Threshold: f.p.RedFlag.GradeFall,
		Sources: measure.Union([]shoulder.SourceID{now.Source}, []shoulder.SourceID{then.Source}),
	}
}
