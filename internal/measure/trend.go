package measure

import (
	"math"
	"slices"
	"time"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Slope is a robust line through points: the median of all pairwise slopes.
type Slope struct {
	Slope     float64
	Intercept float64 // median(y) - slope median(x)
	Low, High float64 // Sen's interval of the slope
}

// TheilSen fits a line to points with at least two different x. The interval
// has the given confidence in per cent; ties in x and y narrow the variance of
// Kendall's statistic. It reports false if no slope exists.
//
// Source: Sen 1968, J Am Stat Assoc 63:1379-89; Theil 1950.
func TheilSen(x, y []float64, confidence float64) (Slope, bool) {
	slopes := pairwiseSlopes(x, y)
	if len(slopes) == 0 {
		return Slope{}, false
	}
	s := Slope{Slope: median(slopes)}
	orderedX, orderedY := sorted(x), sorted(y)
	s.Intercept = median(orderedY) - s.Slope*median(orderedX)
	n, count := float64(len(x)), float64(len(slopes))
	variance := (n*(n-1)*(2*n+5) - tieTerm(orderedX) - tieTerm(orderedY)) / 18
	reach := quantile(confidence) * math.Sqrt(math.Max(variance, 0))
	low := int(math.RoundToEven((count-reach)/2)) - 1
	high := int(math.RoundToEven((count + reach) / 2))
	s.Low, s.High = slopes[max(low, 0)], slopes[min(high, len(slopes)-1)]
	return s, true
}

// pairwiseSlopes returns the slopes of all pairs with different x, ascending.
func pairwiseSlopes(x, y []float64) []float64 {
	slopes := make([]float64, 0, len(x)*(len(x)-1)/2)
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	slices.Sort(slopes)
	return slopes
}

// tieTerm is the sum of t (t - 1)(2t + 5) over groups of t equal values, which
// are ascending.
func tieTerm(ordered []float64) (total float64) {
	for len(ordered) > 0 {
		n := 1
		for n < len(ordered) && ordered[n] == ordered[0] {
			n++
		}
		t := float64(n)
		total += t * (t - 1) * (2*t + 5)
		ordered = ordered[n:]
	}
	return total
}

// sorted is the values ascending: themselves if they are, else a copy.
func sorted(values []float64) []float64 {
	if slices.IsSorted(values) {
		return values
	}
	values = slices.Clone(values)
	slices.Sort(values)
	return values
}

// median is the median of ascending values, of which there is at least one.
func median(ordered []float64) float64 {
	n := len(ordered)
	if n%2 == 1 {
		return ordered[n/2]
	}
	return (ordered[n/2-1] + ordered[n/2]) / 2
}

// Outlook is the forecast of a trend about reaching the threshold of evenness.
type Outlook uint8

// The outlooks.
const (
	Reached  Outlook = iota // the current index has reached it
	Forecast                // Date and its interval are given
	Flat                    // the slope cannot be told from zero
	Falling
	BeyondHorizon // it would take longer than the protocol's horizon
)

// String names the outlook.
func (o Outlook) String() string {
	return [...]string{"reached", "forecast", "flat", "falling", "beyond-horizon"}[o]
}

// Trend is the course of the symmetry index of one test over its sessions.
type Trend struct {
	Setting   Setting
	Dimension shoulder.Dimension
	Sessions  int
	From, To  time.Time
	// PerWeek is the slope in percentage points a week, with its interval.
	PerWeek, Low, High float64
	Outlook            Outlook
	// Date is when the line reaches the threshold; Earliest and Latest are
	// where the ends of the slope's interval do. Only for a Forecast. Latest is
	// zero if it lies beyond the horizon.
	Date, Earliest, Latest time.Time
	Sources                []shoulder.SourceID
}

// EndsWith reports whether the course ends with an index.
func (t *Trend) EndsWith(s *Symmetry) bool {
	return t.Setting == s.Setting && t.Dimension == s.Dimension && t.To.Equal(s.When)
}

// Trends fits the course of each test that was done in enough sessions.
func Trends(symmetries []Symmetry, p *protocol.Protocol) []Trend {
	courses := coursesOf(symmetries, (*Symmetry).believed, (*Symmetry).test)
	var trends []Trend
	for _, c := range courses {
		if float64(min(c.times, longestTrend)) < p.Trend.Sessions.Value.Float64() {
			continue
		}
		t, ok := trendOf(seriesOf(symmetries, c), p)
		if !ok {
			continue
		}
		if trends == nil {
			trends = make([]Trend, 0, len(courses))
		}
		trends = append(trends, t)
	}
	return trends
}

// longestTrend bounds the sessions of a trend, the latest ones, because the
// number of slopes grows with the square. Common practice: no episode of care
// has more re-checks.
const longestTrend = 60

// seriesOf is the latest symmetries of a test, oldest first.
func seriesOf(symmetries []Symmetry, c course[symmetryTest]) []*Symmetry {
	series := make([]*Symmetry, 0, c.times)
	for i := c.first; i <= c.now; i++ {
		if symmetries[i].believed() && symmetries[i].test() == c.test {
			series = append(series, &symmetries[i])
		}
	}
	return series[max(0, len(series)-longestTrend):]
}

const daysPerWeek = 7

func trendOf(series []*Symmetry, p *protocol.Protocol) (Trend, bool) {
	first, last := series[0], series[len(series)-1]
	t := Trend{Setting: first.Setting, Dimension: first.Dimension, Sessions: len(series), From: first.When, To: last.When}
	start := dayOf(first.When)
	weeks, indices := make([]float64, len(series)), make([]float64, len(series))
	for i, s := range series {
		weeks[i] = float64(dayOf(s.When)-start) / daysPerWeek
		indices[i] = s.Index.Float64()
	}
	line, ok := TheilSen(weeks, indices, p.Error.Interval.Float())
	if !ok {
		return Trend{}, false
	}
	t.Sources = sourcesOf(series)
	t.PerWeek, t.Low, t.High = line.Slope, line.Low, line.High
	t.lookAhead(line.Intercept+line.Slope*weeks[len(weeks)-1], last, p)
	return t, true
}

// sourcesOf is the inputs of a series, ascending, each once.
func sourcesOf(series []*Symmetry) []shoulder.SourceID {
	n := 0
	for _, s := range series {
		n += len(s.Involved.Sources) + len(s.Comparison.Sources)
	}
	all := make([]shoulder.SourceID, 0, n)
	for _, s := range series {
		all = append(append(all, s.Involved.Sources...), s.Comparison.Sources...)
	}
	return eachOnce(all)
}

// lookAhead says when the line, now at level, reaches evenness.
func (t *Trend) lookAhead(level float64, last *Symmetry, p *protocol.Protocol) {
	missing := p.Symmetry.Even.Value.Float64() - level
	horizon := p.Trend.Horizon.Value.Float64()
	switch {
	case p.Symmetry.Even.Met(last.Index):
		t.Outlook = Reached
	case t.High < 0:
		t.Outlook = Falling
	case t.Low <= 0:
		t.Outlook = Flat
	case missing/t.PerWeek > horizon:
		t.Outlook = BeyondHorizon
	default:
		t.Outlook = Forecast
		t.Date = t.reach(missing, t.PerWeek)
		t.Earliest = t.reach(missing, t.High)
		if missing/t.Low <= horizon {
			t.Latest = t.reach(missing, t.Low)
		}
	}
}

// reach is the day on which a rise of missing points is made at a rate.
func (t *Trend) reach(missing, perWeek float64) time.Time {
	days := math.Ceil(math.Max(missing, 0) / perWeek * daysPerWeek)
	return t.To.AddDate(0, 0, int(days))
}
