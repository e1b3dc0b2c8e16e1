package statistics

import (
	"math"
	"slices"
)

// Interval is when something happened: after Left, and at Right at the latest. Right is
// infinite for whom it was not seen. Left is below Right.
type Interval struct{ Left, Right float64 }

// Mass is a share of all to whom it happened in an interval, nobody can tell when.
type Mass struct {
	Interval
	Share float64
}

// Turnbull estimates when something happened, that is only known to lie between two visits:
// the distribution under which what was seen is most likely. The masses are in the order of
// their intervals, and come to 1.
//
// Source: Turnbull 1976, J R Stat Soc B 38:290-5, by his self-consistent iteration.
func Turnbull(all []Interval) []Mass {
	seen, weights := grouped(all)
	masses := innermost(seen)
	covers := make([][2]int, len(seen)) // of each interval, the first mass within and one behind the last
	for i, s := range seen {
		for covers[i][0] < len(masses) && masses[covers[i][0]].Left < s.Left {
			covers[i][0]++
		}
		covers[i][1] = covers[i][0]
		for covers[i][1] < len(masses) && masses[covers[i][1]].Right <= s.Right {
			covers[i][1]++
		}
	}
	for i := range masses {
		masses[i].Share = 1 / float64(len(masses))
	}
	for range mostIterations {
		if iterate(masses, covers, weights, float64(len(all))) < enough {
			break
		}
	}
	return slices.DeleteFunc(masses, func(m Mass) bool { return m.Share < nothing })
}

// When the iteration ends, and what share is none. Ours: far below what is printed.
const (
	mostIterations = 20_000
	enough         = 1e-9
	nothing        = 1e-7
)

// iterate makes the shares those that are expected under the present ones, and tells how
// far the furthest moved.
func iterate(masses []Mass, covers [][2]int, weights []float64, n float64) (moved float64) {
	upTo := make([]float64, len(masses)+1) // sum of the shares before each mass
	for k := range masses {
		upTo[k+1] = upTo[k] + masses[k].Share
	}
	begins := make([]float64, len(masses)+1) // what is added from each mass on
	for i, cover := range covers {
		if sum := upTo[cover[1]] - upTo[cover[0]]; sum > 0 {
			begins[cover[0]] += weights[i] / sum
			begins[cover[1]] -= weights[i] / sum
		}
	}
	factor := 0.0
	for k := range masses {
		factor += begins[k]
		next := masses[k].Share * max(factor, 0) / n
		moved = max(moved, math.Abs(next-masses[k].Share))
		masses[k].Share = next
	}
	return moved
}

// grouped are the different intervals, with how often each was seen.
func grouped(all []Interval) (seen []Interval, weights []float64) {
	sorted := slices.Clone(all)
	slices.SortFunc(sorted, func(a, b Interval) int {
		if c := compare(a.Left, b.Left); c != 0 {
			return c
		}
		return compare(a.Right, b.Right)
	})
	for _, s := range sorted {
		if n := len(seen); n > 0 && seen[n-1] == s {
			weights[n-1]++
			continue
		}
		seen, weights = append(seen, s), append(weights, 1)
	}
	return seen, weights
}

// innermost are the intervals that can have a share: each from a left end to the next right
// end, with no other end between them.
func innermost(seen []Interval) (masses []Mass) {
	rights := make([]float64, len(seen))
	for i, s := range seen {
		rights[i] = s.Right
	}
	slices.Sort(rights)
	for i, s := range seen {
		if i+1 < len(seen) && seen[i+1].Left == s.Left {
			continue // the same left end again
		}
		k, _ := slices.BinarySearchFunc(rights, s.Left, func(r, left float64) int {
			if r <= left {
				return -1
			}
			return 1
		})
		right := rights[k] // above the left end, because the interval's own is
		if i+1 < len(seen) && seen[i+1].Left < right {
			continue // a later left end comes before it
		}
		masses = append(masses, Mass{Interval: Interval{s.Left, right}})
	}
	return masses
}
