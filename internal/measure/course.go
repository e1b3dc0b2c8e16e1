package measure

import (
	"cmp"
	"slices"

	"evenreach.example/internal/shoulder"
)

// course holds the indices of the results of one test in a list that is in the order of
// the sessions.
type course[Test comparable] struct {
	test                 Test
	first, previous, now int // previous is the one before now, meaningless if times is 1
	times                int
}

// coursesOf finds the tests in a list of results, in the order of their first results.
// Results that do not count are skipped.
func coursesOf[Result any, Test comparable](results []Result, counts func(*Result) bool, testOf func(*Result) Test) []course[Test] {
	const usual = 12 // tests, of every motion, position and side
	courses := make([]course[Test], 0, min(len(results), usual))
	known := make(map[Test]int, min(len(results), usual)) // index of the course
	for i := range results {
		if !counts(&results[i]) {
			continue
		}
		test := testOf(&results[i])
		at, found := known[test]
		if !found {
			known[test] = len(courses)
			courses = append(courses, course[Test]{test: test, first: i, now: i, times: 1})
			continue
		}
		c := &courses[at]
		c.previous, c.now, c.times = c.now, i, c.times+1
	}
	return courses
}

// repeated keeps the courses of more than one result, in the order of their latest
// results.
func repeated[Test comparable](courses []course[Test]) []course[Test] {
	courses = slices.DeleteFunc(courses, func(c course[Test]) bool { return c.times == 1 })
	slices.SortFunc(courses, func(a, b course[Test]) int { return cmp.Compare(a.now, b.now) })
	return courses
}

// resultsOf looks up the results of a course of at least two.
func resultsOf[Result any, Test comparable](results []Result, c course[Test]) (now, previous, first *Result) {
	return &results[c.now], &results[c.previous], &results[c.first]
}

func always[Result any](*Result) bool { return true }

// believed reports whether a score or an index may be used to find a change: nothing about
// it is in doubt.
func (s *Score) believed() bool    { return !s.Doubts.Block() }
func (s *Symmetry) believed() bool { return !s.Doubtful() }

// scoreTest is what must agree before a strength is compared with an earlier one.
type scoreTest struct {
	Setting
	side      shoulder.Side
	dimension shoulder.Dimension
}

func (s *Score) test() scoreTest { return scoreTest{s.Setting, s.Side, s.Dimension} }

// symmetryTest is what must agree before an index is compared with an earlier one.
type symmetryTest struct {
	Setting
	dimension shoulder.Dimension
}

func (s *Symmetry) test() symmetryTest { return symmetryTest{s.Setting, s.Dimension} }

// rangeTest is what must agree before a range is compared with an earlier one.
type rangeTest struct {
	movement shoulder.Movement
	side     shoulder.Side
	active   bool
	position shoulder.ArmPosition
}

func (r *RangeScore) test() rangeTest { return rangeTest{r.Movement, r.Side, r.Active, r.Position} }

// Same reports whether both are the score of one test in one session.
func (r *RangeScore) Same(o *RangeScore) bool {
	return r.Session == o.Session && r.test() == o.test()
}

// painTest is what must agree before a pain is compared with an earlier one.
type painTest struct {
	context  shoulder.PainContext
	position shoulder.ArmPosition
}

func (s *PainScore) test() painTest { return painTest{s.Context, s.Position} }

// Same reports whether both are the score of one context and position in one session.
func (s *PainScore) Same(o *PainScore) bool {
	return s.Session == o.Session && s.test() == o.test()
}
