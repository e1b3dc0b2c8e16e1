package simulation

import (
	"slices"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Declines counts answers that call a strength or an index declined.
type Declines struct {
	Answers int // from the second visit on
	// Detectable goes by the detectable change of a test between two sessions, Product
	// by what the product calls declined, Model by the probability that the true change
	// is below zero.
	Detectable, Product, Model int
}

func (d *Declines) count(a *answer, p *protocol.Protocol) {
	if len(a.c.Days) < 2 {
		return
	}
	d.Answers++
	if a.fell {
		d.Detectable++
	}
	if declinedBetweenSessions(a.m, measure.Declined) {
		d.Product++
	}
	if declinedByModel(a.c, p.Certainty.Clear.Value.Float64()/100) {
		d.Model++
	}
}

func declinedBetweenSessions(m *measure.Measurements, called ...measure.Direction) bool {
	for i := range m.Changes {
		c := &m.Changes[i]
		if strength := c.Subject == measure.StrengthChange || c.Subject == measure.SymmetryChange; strength && slices.Contains(called, c.Direction) {
			return true
		}
	}
	return false
}

func declinedByModel(c *course.Course, probability float64) bool {
	for i := range c.Tests {
		t := &c.Tests[i]
		for _, change := range [...]course.Change{t.First, t.Last, t.Best} {
			if change.Known && (change.Strength.Below >= probability || change.Index.Below >= probability) {
				return true
			}
		}
	}
	return false
}

// Forecasts counts dates of evenness, at each visit from the third on at which
// something is truly not even yet.
type Forecasts struct {
	// Line and Model are the dates of single tests, by a line through the indices and
	// by the model; All are the model's for all six.
	Line, Model, All Dates
}

// Dates counts the dates that could be given.
type Dates struct {
	Asked, Given int // tests, or shoulders, of a visit
	Covered      int // of the given, the interval contains the true date
	Open         int // of the given, the interval ends beyond the horizon
	NeverEven    int // of the given, there is no true date
	Patients     int // to whom a date was given at some visit
	Anyone       int // patients asked about

	last, lastGiven *patient
}

// count adds a test of a patient. Latest is -1 if the interval is open.
func (d *Dates) count(who *patient, truth int, given bool, earliest, latest int) {
	if truth == 0 {
		return
	}
	d.Asked++
	if d.last != who {
		d.last = who
		d.Anyone++
	}
	if !given {
		return
	}
	d.Given++
	if d.lastGiven != who {
		d.lastGiven = who
		d.Patients++
	}
	if latest < 0 {
		d.Open++
	}
	if truth >= beyond {
		d.NeverEven++
	}
	if earliest <= truth && (latest < 0 || truth <= latest) {
		d.Covered++
	}
}

const firstForecast = 2 // the third visit

func (f *Forecasts) count(a *answer, who *patient, p *protocol.Protocol) {
	if a.visit < firstForecast {
		return
	}
	each, all := who.evenFrom(a.visit)
	for _, motion := range shoulder.Trained {
		for _, position := range motion.TestedIn() {
			indices := slices.DeleteFunc(a.m.DecidingIndices(motion, position), (*measure.Symmetry).Doubtful)
			if len(indices) > firstForecast {
				given, earliest, latest := lineDates(indices, p)
				f.Line.count(who, each[testOf(indices[0].Setting)], given, earliest, latest)
			}
		}
	}
	for i := range a.c.Tests {
		t := &a.c.Tests[i]
		o := &t.Outlook
		f.Model.count(who, each[testOf(t.Setting)], o.Prospect == course.Forecast, o.Earliest, o.Latest)
	}
	o := &a.c.All
	f.All.count(who, all, o.Prospect == course.Forecast, o.Earliest, o.Latest)
}
