package plan

import (
	"cmp"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/course"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// One test is at 75 %, where its verdict is open; the others are far from both
// thresholds. It is measured first at the re-check.
func TestTheOpenVerdictIsMeasuredFirst(t *testing.T) {
	er, ir := [3]string{"62", "62", "62"}, [3]string{"62", "75", "62"}
	var visits []visit
	for day := range 4 {
		v := open(er, ir, "2")
		v.Day = 14 * day
		visits = append(visits, v)
	}
	requests := strengths(planned(shouldertest.Episode(visits...)))
	first := requests[0]
	if first.Motion != shoulder.Internal || first.Position != shoulder.Flexion90 {
		t.Errorf("first %v %v, want internal rotation in flexion", first.Motion, first.Position)
	}
	if first.Settles <= requests[1].Settles {
		t.Errorf("settles %d, and the next %d: want a difference", first.Settles, requests[1].Settles)
	}
}

// Tests that are alike stay in the usual order: there is nothing to choose.
func TestTestsThatAreAlikeStayInOrder(t *testing.T) {
	requests := strengths(planned(shouldertest.Episode(open(all("60"), all("60"), "2"))))
	for i, r := range requests {
		if want := shoulder.Trained[i/3]; r.Motion != want || r.Position != shoulder.TrainedPositions[i%3] {
			t.Errorf("request %d is %v %v, want the usual order", i, r.Motion, r.Position)
		}
	}
}

func strengths(p *Plan) (requests []Request) {
	for _, r := range p.Requests {
		if r.Ask == AskStrength {
			requests = append(requests, r)
		}
	}
	return requests
}

// Whatever is measured, nothing goes before what comes first, and no measured test before
// one that is not known; the measured ones are in the order of what they settle.
func TestRequestsAreInTheirOrder(t *testing.T) {
	force := rapid.SampledFrom([]string{"", "0", "40", "70", "75", "80", "88", "92", "110"})
	rapid.Check(t, func(t *rapid.T) {
		visits := make([]visit, rapid.IntRange(1, 4).Draw(t, "visits"))
		for i := range visits {
			var er, ir [3]string
			for k := range er {
				er[k], ir[k] = force.Draw(t, "er"), force.Draw(t, "ir")
			}
			visits[i] = open(er, ir, rapid.SampledFrom([]string{"", "2", "6"}).Draw(t, "pain"))
			visits[i].Day = 14 * i
		}
		e := shouldertest.Episode(visits...)
		c := course.Episode(e, measured(e), protocol.Default())
		requests := planned(e).Requests
		group := func(r Request) int {
			switch {
			case r.First:
				return 0
			case r.Ask != AskStrength || r.Why == WhyMissing:
				return 1
			}
			return 2
		}
		if !slices.IsSortedFunc(requests, func(a, b Request) int { return cmp.Compare(group(a), group(b)) }) {
			t.Fatalf("%+v", requests)
		}
		last := -1
		for _, r := range requests {
			if group(r) < 2 {
				continue
			}
			gain := gainOf(c, r)
			if last >= 0 && gain > last {
				t.Fatalf("%v %v settles %d hundredths and comes behind one that settles %d", r.Motion, r.Position, gain, last)
			}
			last = gain
		}
	})
}

// gainOf is what a request settles in whole hundredths, as the course says.
func gainOf(c *course.Course, r Request) int {
	for i := range c.Tests {
		if c.Tests[i].Motion == r.Motion && c.Tests[i].Position == r.Position {
			return int(c.Tests[i].Gain / leastGain)
		}
	}
	return -1
}
