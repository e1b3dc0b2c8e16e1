package course_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder/shouldertest"
)

// sound fails unless every number of a course is finite and lies in its domain.
func sound(t rapid.TB, c *course.Course) {
	t.Helper()
	probability := func(what string, p float64) {
		if !(p >= -1e-9 && p <= 1+1e-9) {
			t.Fatalf("%s = %g, want a probability", what, p)
		}
	}
	finite := func(what string, values ...float64) {
		for _, x := range values {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%s: %v, want numbers", what, values)
			}
		}
	}
	probability("all even", c.AllEven())
	for i := range c.Tests {
		test := &c.Tests[i]
		for _, m := range test.Estimates {
			probability("even", m.Even)
			probability("good enough", m.GoodEnough)
			finite("estimate", m.Index, m.Low, m.High)
			if m.Even > m.GoodEnough+1e-9 || !(m.Low <= m.Index && m.Index <= m.High) {
				t.Fatalf("estimate %+v", m)
			}
		}
		for _, change := range []course.Change{test.First, test.Last, test.Best} {
			for _, d := range []course.Difference{change.Strength, change.Index} {
				probability("below", d.Below)
				finite("difference", d.Percent, d.Low, d.High)
			}
		}
		outlook(t, &test.Outlook)
		probability("short", test.Outlook.Short)
		finite("plateau", test.Outlook.Plateau, test.Outlook.Low, test.Outlook.High)
		if !(test.Gain >= -1e-9 && test.Gain <= float64(2*len(c.Deciding))/4+1e-9) {
			t.Fatalf("gain %g, want no more than there is to be known", test.Gain)
		}
	}
	outlook(t, &c.All)
}

// notAllBeforeOne fails if all tests are more likely to be even than one of them.
func notAllBeforeOne(t rapid.TB, c *course.Course) {
	t.Helper()
	all := c.AllEven()
	for _, i := range c.Deciding {
		if one := c.Tests[i].Now().Even; all > one {
			t.Fatalf("all even %v, one of them %v", all, one)
		}
	}
}

func outlook(t rapid.TB, o *course.Outlook) {
	if !(o.Reach >= 0 && o.Reach <= 1+1e-9) || o.Reach > 0 && (o.Earliest < 0 || o.Date < o.Earliest || o.Latest < o.Date) {
		t.Fatalf("outlook %+v", *o)
	}
}

// What a record may hold and no study has: an answer for each, of numbers.
func TestCourseIsSoundAtTheEdges(t *testing.T) {
	all := shouldertest.All
	many := make([]visit, 300)
	for i := range many {
		many[i] = visit{Day: 3 * i, ER: all(fmt.Sprint(60 + i%40)), IR: all(fmt.Sprint(70 + i%30))}
	}
	for _, tt := range []struct {
		name   string
		visits []visit
		days   int // that are followed
	}{
		{"one visit", []visit{{ER: all("80"), IR: all("85")}}, 1},
		{"one test of one visit", []visit{{ER: [3]string{"80"}}}, 1},
		{"positions missing, others at each visit", []visit{
			{ER: [3]string{"80"}}, {Day: 14, ER: [3]string{1: "70"}}, {Day: 28, IR: [3]string{2: "60"}}, {Day: 42, ER: [3]string{"85", "75"}},
		}, 4},
		{"the involved side silent", []visit{{ER: all("0"), IR: all("0")}, {Day: 14, ER: all("0"), IR: all("0")}}, 2},
		{"both sides silent", []visit{{ER: all("0"), LeftER: all("0")}, {Day: 14, ER: all("0"), LeftER: all("0")}}, 2},
		{"the comparison side silent", []visit{{ER: all("80"), LeftER: all("0")}}, 1},
		{"silent, then so strong that it is in doubt and left out", []visit{{ER: all("0"), IR: all("0")}, {Day: 1, ER: all("690"), IR: all("690")}}, 1},
		{"three sessions at one time", []visit{{ER: all("60"), IR: all("60")}, {ER: all("90"), IR: all("90")}, {ER: all("75"), IR: all("75")}}, 1},
		{"ten years between two visits", []visit{{ER: all("60"), IR: all("65")}, {Day: 3653, ER: all("95"), IR: all("99")}}, 2},
		{"a hundred years between two visits", []visit{{ER: all("60"), IR: all("65")}, {Day: 36525, ER: all("95"), IR: all("99")}}, 2},
		{"300 visits, of which the latest 60 are followed", many, 60},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := followed(shouldertest.Episode(tt.visits...))
			if c == nil || len(c.Days) != tt.days {
				t.Fatalf("want a course of %d days", tt.days)
			}
			sound(t, c)
			notAllBeforeOne(t, c)
		})
	}
}

// Whatever is measured, the numbers are sound and the same again.
func TestCourseIsSoundWhateverIsMeasured(t *testing.T) {
	force := rapid.SampledFrom([]string{"", "0", "0.01", "5", "40", "80", "90 95 85", "100", "130", "690"})
	rapid.Check(t, func(t *rapid.T) {
		var visits []visit
		day := 0
		for range rapid.IntRange(0, 5).Draw(t, "visits") {
			v := visit{Day: day, Belt: rapid.Bool().Draw(t, "belt")}
			for i := range 3 {
				v.ER[i], v.IR[i] = force.Draw(t, "er"), force.Draw(t, "ir")
				v.LeftER[i] = force.Draw(t, "left")
			}
			visits = append(visits, v)
			day += rapid.SampledFrom([]int{0, 1, 14, 400, 3653}).Draw(t, "days")
		}
		e := shouldertest.Episode(visits...)
		c := followed(e)
		if c == nil {
			return
		}
		sound(t, c)
		notAllBeforeOne(t, c)
		if again := followed(e); again.AllEven() != c.AllEven() {
			t.Fatal("the same episode gave another answer")
		}
	})
}

// Whatever a protocol may assume, too: each value of the model is drawn at one of the
// ends that a protocol is allowed, or is the default's.
func TestCourseIsSoundWhateverIsAssumed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := *protocol.Default()
		for _, s := range []struct {
			name    string
			setting *protocol.Setting
			ends    [2]int64
		}{
			{"errorSpread", &p.Course.ErrorSpread, [2]int64{0, 60}},
			{"bothSides", &p.Course.BothSides, [2]int64{0, 95}},
			{"leastDay", &p.Course.LeastDay, [2]int64{0, 100}},
			{"plateau", &p.Course.Plateau, [2]int64{50, 120}},
			{"plateauSpread", &p.Course.PlateauSpread, [2]int64{1, 100}},
			{"testSpread", &p.Course.TestSpread, [2]int64{1, 50}},
			{"gap", &p.Course.Gap, [2]int64{0, 100}},
			{"gapSpread", &p.Course.GapSpread, [2]int64{1, 100}},
			{"stableGap", &p.Course.StableGap, [2]int64{1, 50}},
			{"fast", &p.Course.Fast, [2]int64{1, 52}},
			{"slow", &p.Course.Slow, [2]int64{1, 104}},
			{"comparisonDrift", &p.Course.ComparisonDrift, [2]int64{0, 10}},
			{"plateauDrift", &p.Course.PlateauDrift, [2]int64{0, 10}},
			{"testDrift", &p.Course.TestDrift, [2]int64{0, 10}},
			{"gapDrift", &p.Course.GapDrift, [2]int64{0, 20}},
			{"day", &p.Error.Day, [2]int64{0, 100}},
			{"stabilised", &p.Error.Stabilised, [2]int64{0, 40}},
			{"usual", &p.Error.Usual, [2]int64{0, 40}},
			{"floorForce", &p.Error.FloorForce, [2]int64{0, 50}},
			{"share", &p.Trials.Share, [2]int64{0, 100}},
		} {
			if at := rapid.IntRange(0, 2).Draw(t, s.name); at < 2 {
				s.setting.Value = exact.Int(s.ends[at])
			}
		}
		force := rapid.SampledFrom([]string{"", "0", "70", "95", "690"})
		var visits []visit
		for i := range rapid.IntRange(1, 4).Draw(t, "visits") {
			v := visit{Day: 14 * i}
			for k := range 3 {
				v.ER[k], v.IR[k] = force.Draw(t, "er"), force.Draw(t, "ir")
			}
			visits = append(visits, v)
		}
		e := shouldertest.Episode(visits...)
		if c := course.Episode(e, measure.Measure(e, &p), &p); c != nil {
			sound(t, c)
			notAllBeforeOne(t, c)
		}
	})
}

// In another unit both sides' numbers are larger by one factor, and nothing else is said.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		factor := math.Log(rapid.Float64Range(0.01, 100).Draw(t, "factor"))
		var observations, other []course.Observation
		for visit := range rapid.IntRange(1, 4).Draw(t, "visits") {
			for test := range 3 {
				for _, comparison := range []bool{true, false} {
					o := course.Observation{Day: 14 * visit, Test: test, Comparison: comparison, Own: 0.07, Shared: 0.07}
					o.Log = math.Log(rapid.Float64Range(30, 150).Draw(t, "strength"))
					observations = append(observations, o)
					o.Log += factor
					other = append(other, o)
				}
			}
		}
		p := protocol.Default()
		one, two := course.Of(observations, 3, []int{0, 1, 2}, p), course.Of(other, 3, []int{0, 1, 2}, p)
		for i := range one.Tests {
			a, b := one.Tests[i].Now(), two.Tests[i].Now()
			if math.Abs(a.Index-b.Index) > 0.05 || math.Abs(a.Even-b.Even) > 0.002 {
				t.Fatalf("index %.4f or %.4f, even %.4f or %.4f", a.Index, b.Index, a.Even, b.Even)
			}
		}
	})
}
