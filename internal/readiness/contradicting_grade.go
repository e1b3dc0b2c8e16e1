package readiness

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// contradictingGrade: a manual test, of the day of an index or later, found the involved side
// weaker than good enough, and the index is good enough. One of the two is a slip, and nobody
// knows which. Of several the lowest grade is named.
func (j *judge) contradictingGrade() []Concern {
	lowest := Concern{Kind: GradeContradicts, Side: j.episode.Involved}
	for _, motion := range shoulder.Motions {
		for _, position := range shoulder.Positions {
			grade, when, _ := j.grade(motion, position)
			index := j.currentIndex(motion, position)
			if index == nil || !j.p.Symmetry.GoodEnough.Met(index.Index) || grade == shoulder.GradeUnknown || grade >= j.p.Grade.GoodEnough.Value || measure.DaysBetween(index.When, when) < 0 {
				continue
			}
			if lowest.Grade == shoulder.GradeUnknown || grade < lowest.Grade {
				lowest.Grade, lowest.Index, lowest.Now = grade, index, redflag.Measured{When: when}
			}
		}
	}
	if lowest.Grade == shoulder.GradeUnknown {
		return nil
	}
	return []Concern{lowest}
}
