package population

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// Device is a control chart: how the comparison side's strength, as one instrument measured
// it in each month, lies to what it measured in all of them.
type Device struct {
	Device string  `json:"device"`
	Months []Month `json:"months"`
}

// Month is one month of an instrument: the mean difference to its own mean of all months, in
// per cent, with the limits that three standard errors make.
type Month struct {
	Month    string  `json:"month"`
	Patients int     `json:"patients"`
	Percent  float64 `json:"percent"`
	Limit    float64 `json:"limit"` // above and below 0
	Outside  bool    `json:"outside"`
}

// limitErrors is how many standard errors a month may lie off.
//
// Source: Shewhart 1931, Economic control of quality of manufactured product.
const limitErrors = 3

type deviceKey struct{ device, month, motion, position string }

// sums are those of the logarithms of strengths. They are whole numbers, of millionths
// and their squares, so that they do not depend on the order in which they are added up.
type sums struct{ n, sum, square int64 }

// usualLog is near the logarithm of a usual strength in newtons. Subtracting it keeps the
// squares small; it drops out.
const usualLog = 4.6

const millionths = 1e6

func (s *sums) add(log float64) {
	x := int64(math.Round((log - usualLog) * millionths))
	s.n++
	s.sum += x
	s.square += x * x
}

func (s *sums) mean() float64 { return float64(s.sum) / float64(s.n) / millionths }

// squares is the sum of the squared differences to the mean.
func (s *sums) squares() float64 {
	return float64(s.square)/millionths/millionths - s.mean()*s.mean()*float64(s.n)
}

// devices add strengths up by instrument, month and test.
type devices map[deviceKey]*sums

func (d devices) add(r *Reading) {
	key := deviceKey{r.Device, r.Month, r.Motion, r.Position}
	if d[key] == nil {
		d[key] = new(sums)
	}
	d[key].add(r.Log)
}

// conclude makes a chart of each instrument that has at least two months of ten patients.
func (d devices) conclude() []Device {
	byDevice := map[string][]deviceKey{}
	for _, key := range slices.SortedFunc(maps.Keys(d), compareDeviceKeys) {
		if d[key].n >= smallest {
			byDevice[key.device] = append(byDevice[key.device], key)
		}
	}
	all := []Device{}
	for _, device := range slices.Sorted(maps.Keys(byDevice)) {
		if chart := d.chart(device, byDevice[device]); len(chart.Months) >= 2 {
			all = append(all, chart)
		}
	}
	return all
}

func compareDeviceKeys(a, b deviceKey) int {
	return cmp.Or(cmp.Compare(a.device, b.device), cmp.Compare(a.month, b.month), cmp.Compare(a.motion, b.motion), cmp.Compare(a.position, b.position))
}

// test is a key without its month.
func (k deviceKey) test() deviceKey {
	k.month = ""
	return k
}

// chart is the mean over the tests of how each month lies to the mean of all months. The
// strengths of one patient in several tests go together, so the error is not made smaller by
// their number.
func (d devices) chart(device string, keys []deviceKey) Device {
	whole, squares, free := map[deviceKey]*sums{}, map[deviceKey]float64{}, map[deviceKey]int64{}
	for _, key := range keys {
		s, test := d[key], key.test()
		if whole[test] == nil {
			whole[test] = new(sums)
		}
		whole[test].n += s.n
		whole[test].sum += s.sum
		squares[test] += s.squares()
		free[test] += s.n - 1
	}
	chart := Device{Device: device}
	for i := 0; i < len(keys); {
		month, tests, off, deviation, patients := keys[i].month, 0.0, 0.0, 0.0, int64(math.MaxInt64)
		for ; i < len(keys) && keys[i].month == month; i++ {
			s, test := d[keys[i]], keys[i].test()
			tests++
			off += s.mean() - whole[test].mean()
			deviation += math.Sqrt(math.Max(squares[test], 0) / float64(max(free[test], 1)))
			patients = min(patients, s.n)
		}
		off, deviation = off/tests, deviation/tests
		limit := limitErrors * deviation / math.Sqrt(float64(patients))
		chart.Months = append(chart.Months, Month{
			Month: month, Patients: int(patients), Percent: tenth(100 * math.Expm1(off)), Limit: tenth(100 * math.Expm1(limit)), Outside: math.Abs(off) > limit,
		})
	}
	return chart
}
