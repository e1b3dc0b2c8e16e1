package readiness

import (
	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

type visit = shouldertest.Visit

var (
	day     = shouldertest.Day
	next    = shouldertest.Next
	episode = shouldertest.Episode
	all     = shouldertest.All
)

// complete is a visit at which nothing but strength, in per cent of the other side,
// can keep functional work closed.
func complete(day int, strength string) visit {
	return visit{
		Day: day, ER: all(strength), IR: all(strength), Flexion: "170", Abduction: "170",
		Pain: "1", RestPain: "1", WorstPain: "3",
	}
}

// judged is the readiness on the day of the last visit.
func judged(e *shoulder.Episode) *Readiness {
	asOf := day(0)
	if n := len(e.Sessions); n > 0 {
		asOf = e.Sessions[n-1].When
	}
	p := protocol.Default()
	m := measure.Measure(e, p)
	return Judge(e, m, course.Episode(e, m, p), redflag.Find(e, m, p, asOf), p, asOf)
}
