package population

import (
	"cmp"
	"math"
	"slices"

	"evenreach.example/internal/shoulder"
	"evenreach.example/population/statistics"
)

// group is who is shown together: by the kind of repair, or those without one.
type group struct {
	Since  string `json:"since"`  // repair, or first-visit
	Repair string `json:"repair"` // kind; none without one
}

// What the weeks are counted from.
const (
	sinceRepair = "repair"
	sinceFirst  = "first-visit"
	noRepair    = "none"
)

func groupOf(p *Patient) group {
	if p.Repair != nil && p.Repair.Day != "" {
		return group{sinceRepair, p.Repair.Kind}
	}
	return group{sinceFirst, noRepair}
}

func (g group) compare(other group) int {
	return cmp.Or(cmp.Compare(g.Since, other.Since), cmp.Compare(g.Repair, other.Repair))
}

// Curve is how the index of a rotation in a position goes over the weeks.
type Curve struct {
	group
	Motion   string  `json:"rotation"`
	Position string  `json:"position"`
	Points   []Point `json:"points"`
}

// Point is the spread of the index in a week: percentiles in per cent.
type Point struct {
	Week     int     `json:"week"`
	Patients int     `json:"patients"`
	P10      float64 `json:"p10"`
	P50      float64 `json:"p50"`
	P90      float64 `json:"p90"`
}

// longest is the last week that is shown. Ours: two years.
const longest = 104

type curveKey struct {
	group
	motion, position string
}

// curves hold the indices, counted by tenths of a per cent, so that they take no more room
// the more patients there are.
type curves map[curveKey]*[longest + 1]map[int]int

func (c curves) add(g group, course *Course) {
	key := curveKey{g, course.Motion, course.Position}
	weeks := c[key]
	if weeks == nil {
		weeks = new([longest + 1]map[int]int)
		c[key] = weeks
	}
	for i, week := range course.Weeks {
		if week < 0 || week > longest {
			continue
		}
		if weeks[week] == nil {
			weeks[week] = map[int]int{}
		}
		weeks[week][int(math.Round(course.Index[i]*10))]++
	}
}

func (c curves) conclude() []Curve {
	all := []Curve{}
	for key, weeks := range c {
		curve := Curve{group: key.group, Motion: key.motion, Position: key.position}
		for week, counts := range weeks {
			if point, ok := pointOf(week, counts); ok {
				curve.Points = append(curve.Points, point)
			}
		}
		if len(curve.Points) > 0 {
			all = append(all, curve)
		}
	}
	slices.SortFunc(all, func(a, b Curve) int {
		return cmp.Or(a.compare(b.group), cmp.Compare(rank(a.Motion, shoulder.Motions[:]), rank(b.Motion, shoulder.Motions[:])),
			cmp.Compare(rank(a.Position, shoulder.Positions[:]), rank(b.Position, shoulder.Positions[:])))
	})
	return all
}

// rank is the place of a code in a list of terms.
func rank[T interface{ String() string }](code string, list []T) int {
	return slices.IndexFunc(list, func(t T) bool { return t.String() == code })
}

// pointOf is the spread of the indices of a week, unless there are too few.
func pointOf(week int, counts map[int]int) (Point, bool) {
	var values []float64
	for value, n := range counts {
		for range n {
			values = append(values, float64(value)/10)
		}
	}
	if len(values) < smallest {
		return Point{}, false
	}
	slices.Sort(values)
	at := func(fraction float64) float64 { return tenth(statistics.Percentile(values, fraction)) }
	return Point{week, len(values), at(0.1), at(0.5), at(0.9)}, true
}
