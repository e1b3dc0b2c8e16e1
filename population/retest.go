package population

import (
	"math"
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// Retest is the difference of two scores of one test a few days apart, without treatment
// in between, as planned: what it shows is error of measurement.
type Retest struct {
	Motion     string  `json:"rotation"`
	Position   string  `json:"position"`
	Involved   bool    `json:"involved"`   // side
	Difference float64 `json:"difference"` // of the natural logarithms
}

// retestDays is how far apart a planned re-test and the visit before it may lie. Ours.
const retestDays = 7

// retests are the differences between each visit that is marked as a planned re-test and
// the visit before it. Ordinary re-checks never count: the shoulder changed in between.
func (v *view) retests() (all []Retest) {
	marked := v.markedDays()
	for k := 1; k < len(v.sessions) && len(marked) > 0; k++ {
		first, second := v.sessions[k-1], v.sessions[k]
		days := measure.DaysBetween(v.when(first), v.when(second))
		if !marked[v.when(second).Format(dayLayout)] || days > retestDays {
			continue
		}
		all = append(all, v.differences(first, second)...)
	}
	return all
}

// markedDays are the days of the Encounters that are marked as planned re-tests.
func (v *view) markedDays() map[string]bool {
	days := map[string]bool{}
	for i := range v.c.entries {
		e, ok := v.c.entries[i].Resource.(*fhir.Encounter)
		if ok && e.Meta != nil && e.Period != nil && len(e.Period.Start) >= len(dayLayout) && slices.ContainsFunc(e.Meta.Tag, isPlannedRetest) {
			days[e.Period.Start[:len(dayLayout)]] = true
		}
	}
	return days
}

func isPlannedRetest(c fhir.Coding) bool {
	return c.System == fhir.SystemShoulder && c.Code == fhir.CodePlannedRetest
}

// differences are those of the tests that two sessions have in common.
func (v *view) differences(first, second int) (all []Retest) {
	scores := v.a.Measurements.Scores
	for i := range scores {
		now := &scores[i]
		if now.Session != second || now.Doubts.Block() || now.Value.Sign() <= 0 || !now.Motion.Trained() {
			continue
		}
		at := slices.IndexFunc(scores, func(s measure.Score) bool {
			return s.Session == first && s.Setting == now.Setting && s.Side == now.Side && s.Dimension == now.Dimension && !s.Doubts.Block() && s.Value.Sign() > 0
		})
		if at < 0 {
			continue
		}
		all = append(all, Retest{
			Motion: now.Motion.String(), Position: now.Position.String(), Involved: now.Side == v.a.Episode.Involved,
			Difference: logRatio(now, &scores[at]),
		})
	}
	return all
}

// logRatio is the difference of the logarithms of two scores, to a millionth.
func logRatio(a, b *measure.Score) float64 {
	return math.Round(1e6*math.Log(a.Value.Float64()/b.Value.Float64())) / 1e6
}

// Reading is the comparison side's strength as a device measured it in a month: the mean
// of the natural logarithms of one patient's scores.
type Reading struct {
	Device   string  `json:"device"`
	Month    string  `json:"month"` // 2026-01
	Motion   string  `json:"rotation"`
	Position string  `json:"position"`
	Log      float64 `json:"log"`
}

// devices are the comparison side's strengths by device and month: the first of each
// month, so that a patient counts once.
func (v *view) devices() (all []Reading) {
	for i := range v.a.Measurements.Scores {
		s := &v.a.Measurements.Scores[i]
		if s.Side == v.a.Episode.Involved || v.a.Episode.ComparisonAffected || s.Dimension != shoulder.Force ||
			s.Doubts.Block() || s.Value.Sign() <= 0 || !s.Motion.Trained() {
			continue
		}
		device := v.deviceOf(s.First)
		if device == "" {
			continue
		}
		r := Reading{Device: device, Month: s.When.Format("2006-01"), Motion: s.Motion.String(), Position: s.Position.String()}
		if !slices.ContainsFunc(all, r.isSameTest) {
			r.Log = math.Round(1e6*math.Log(s.Value.Float64())) / 1e6
			all = append(all, r)
		}
	}
	return all
}

func (r Reading) isSameTest(other Reading) bool {
	r.Log = other.Log
	return r == other
}

// deviceOf is the device that an Observation names, "" for none.
func (v *view) deviceOf(id shoulder.SourceID) string {
	o := v.observation(id)
	if o == nil || o.Device == nil {
		return ""
	}
	return strings.TrimPrefix(o.Device.Reference, "Device/")
}
