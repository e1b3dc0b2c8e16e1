package course

import (
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// A shoulder that is falling is promised no evenness: the model expects a weak shoulder to
// recover, and follows a fall slowly, so that it would go on to name a date, or a plateau that
// the shoulder is below already.

// promiseNothing takes back what is said of the time to come of each test that falls, and of
// all of them together while any that decides does.
func (c *Course) promiseNothing(m *measure.Measurements, involved shoulder.Side, p *protocol.Protocol) {
	falls := fallsOf(m, involved)
	anyDecides := false
	for i := range c.Tests {
		t := &c.Tests[i]
		latest, even := falls.of(t, m, p)
		if latest == nil {
			continue
		}
		above := t.Outlook.Plateau > latest.Index.Float64()
		t.Outlook.promiseNothing(even, above)
		if slices.Contains(c.Deciding, i) {
			anyDecides = true
			c.All.promiseNothing(even, true)
		}
	}
	if anyDecides {
		c.fillLowest()
	}
}

// promiseNothing leaves no date, no plateau that is above what was measured, and of evenness
// now only what was measured so.
func (o *Outlook) promiseNothing(even, plateauAbove bool) {
	switch {
	case o.Prospect == Forecast, o.Prospect == Levelling && plateauAbove, o.Prospect == Reached && !even:
		o.Prospect = NoDate
	}
}

// falls are the changes of the involved side's strength, and of the index, from the visit
// before to the latest.
type falls struct {
	changes []*measure.Change
	all     bool // every test of strength is lower
}

func fallsOf(m *measure.Measurements, involved shoulder.Side) (f falls) {
	for i := range m.Changes {
		k := &m.Changes[i]
		of := k.Subject == measure.StrengthChange && k.Side == involved || k.Subject == measure.SymmetryChange
		if of && k.Against == measure.Previous {
			f.changes = append(f.changes, k)
		}
	}
	f.all = measure.AllLower(f.changes) > 0
	return f
}

// of is the latest index of a test that falls, and whether it is even; nil if it does not fall:
// at the latest visit at least probably, or beyond the error of the test. While it is not even it
// falls by less too: with all other tests, or at the latest two visits.
func (f *falls) of(t *TestCourse, m *measure.Measurements, p *protocol.Protocol) (latest *measure.Symmetry, even bool) {
	indices := indicesOf(t, m)
	n := len(indices)
	if n == 0 {
		return nil, false
	}
	latest = indices[n-1]
	even = p.Symmetry.Even.Met(latest.Index)
	twice := n > 2 && latest.Index.Cmp(indices[n-2].Index) < 0 && indices[n-2].Index.Cmp(indices[n-3].Index) < 0
	if f.fell(t.Setting, !even) || twice && !even {
		return latest, even
	}
	return nil, even
}

// fell reports whether a test is lower: by less than a real change only where that counts, and
// all tests are.
func (f *falls) fell(s measure.Setting, little bool) bool {
	return slices.ContainsFunc(f.changes, func(k *measure.Change) bool {
		if k.Setting != s || k.Difference.Sign() >= 0 {
			return false
		}
		return little && f.all || k.Direction == measure.Declined || k.Direction == measure.PossiblyDeclined || k.FellBeyondError()
	})
}

// indicesOf are the indices of a test that are believed, oldest first.
func indicesOf(t *TestCourse, m *measure.Measurements) (all []*measure.Symmetry) {
	for i := range m.Symmetries {
		if s := &m.Symmetries[i]; s.Setting == t.Setting && !s.CarriedForward && !s.Doubtful() {
			all = append(all, s)
		}
	}
	return all
}
