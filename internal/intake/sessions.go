package intake

import (
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// visit tells sessions apart: by Encounter, by day, or by both.
type visit struct {
	encounter string
	day       day
}

// longestVisit is the longest that one session can last. An Encounter that
// lasts longer covers a series of visits, as recurring outpatient treatment is
// often recorded; its measurements are told apart by day.
const longestVisit = 24 * time.Hour

// visits assigns the findings, which are in order of time, to visits. One
// without an Encounter joins the first Encounter of its day.
type visits struct {
	spans map[string]span
	days  map[day]visit
}

type span struct{ first, last time.Time }

func newVisits(findings []*finding) visits {
	v := visits{map[string]span{}, map[day]visit{}}
	for _, f := range findings {
		if f.encounter != "" && f.inSession() {
			v.spans[f.encounter] = v.spans[f.encounter].with(f.when.time)
		}
	}
	for _, f := range findings {
		if f.encounter == "" || !f.inSession() {
			continue
		}
		if d := f.when.day(); v.days[d] == (visit{}) {
			v.days[d] = v.of(f)
		}
	}
	return v
}

// with extends the span to a time that is not before it.
func (s span) with(t time.Time) span {
	if s.first.IsZero() {
		s.first = t
	}
	s.last = t
	return s
}

// of is the visit of a finding.
func (v visits) of(f *finding) visit {
	d := f.when.day()
	if f.encounter == "" {
		if joined, ok := v.days[d]; ok {
			return joined
		}
		return visit{day: d}
	}
	if s := v.spans[f.encounter]; s.last.Sub(s.first) > longestVisit {
		return visit{f.encounter, d}
	}
	return visit{encounter: f.encounter}
}

// inSession reports whether the finding is part of a visit; what the record
// states once for all visits is not.
func (f *finding) inSession() bool {
	switch f.kind {
	case clearance, tear, handedness, repair:
		return false
	}
	return true
}

// isOfShoulder reports whether the finding is something to assess.
func (f *finding) isOfShoulder() bool {
	switch f.kind {
	case strength, grade, motion, pain, steadiness:
		return true
	}
	return false
}

func (r *reader) anythingToAssess() bool {
	for _, f := range r.findings {
		if f.isOfShoulder() {
			return true
		}
	}
	return false
}

// episode puts the findings together, oldest first.
func (r *reader) episode(involved shoulder.Side, visits visits) shoulder.Episode {
	e := shoulder.Episode{Involved: involved, ComparisonAffected: r.comparisonAffected(involved)}
	sessions := map[visit]int{}
	examiners := examiners{}
	for _, f := range r.findings {
		if !f.inSession() {
			f.addTo(&e)
			continue
		}
		at := visits.of(f)
		i, found := sessions[at]
		if !found {
			i = len(e.Sessions)
			sessions[at] = i
			e.Sessions = append(e.Sessions, shoulder.Session{When: f.when.time})
		}
		f.addToSession(&e.Sessions[i], examiners)
	}
	e.Repairs = r.repairs(involved)
	return e
}

// addTo adds what is stated for the whole episode. Of several statements about
// the dominant hand the latest counts.
func (f *finding) addTo(e *shoulder.Episode) {
	switch f.kind {
	case clearance:
		e.Clearances = append(e.Clearances, shoulder.Clearance{Source: f.source, When: f.when.time, Side: f.side, Cleared: f.yes})
	case tear:
		e.Tears = append(e.Tears, shoulder.Tear{Source: f.source, Side: f.side, Centimetres: f.value})
	case handedness:
		e.Handedness = f.hand
	}
}

// addToSession adds a measurement to its session. Of several body masses or
// heights the latest counts.
func (f *finding) addToSession(s *shoulder.Session, examiners examiners) {
	switch f.kind {
	case strength:
		for _, reading := range f.readings {
			s.Trials = append(s.Trials, f.trial(reading))
		}
	case grade:
		s.Grades = append(s.Grades, shoulder.Grade{Source: f.source, Rotation: f.rotation, Position: f.position, Side: f.side, Value: f.grade})
	case motion:
		s.Ranges = append(s.Ranges, shoulder.Range{
			Source: f.source, Movement: f.movement, Side: f.side, Active: f.active, Position: f.position,
			Degrees: f.value, Examiner: examiners.id(f.examiner),
		})
	case pain:
		s.Pains = append(s.Pains, shoulder.Pain{Source: f.source, Context: f.context, Side: f.side, Position: f.position, Score: f.value})
	case steadiness:
		s.Steady = append(s.Steady, shoulder.Steadiness{Source: f.source, Position: f.position, Side: f.side, Steady: f.yes})
	case lever:
		s.Levers = append(s.Levers, shoulder.Lever{Source: f.source, Side: f.side, Metres: f.value})
	case bodyMass:
		s.Mass = &shoulder.Measured{Source: f.source, Value: f.value}
	case bodyHeight:
		s.Height = &shoulder.Measured{Source: f.source, Value: f.value}
	}
}

func (f *finding) trial(r reading) shoulder.Trial {
	return shoulder.Trial{
		Source:      f.source,
		Rotation:    f.rotation,
		Position:    f.position,
		Support:     f.support,
		Side:        f.side,
		Contraction: f.contraction,
		Instrument:  f.instrument,
		Dimension:   r.dimension,
		Value:       r.value,
		Painful:     f.painful,
	}
}

// examiners numbers the examiners from 1, in the order in which they measured.
type examiners map[string]shoulder.ExaminerID

func (e examiners) id(key string) shoulder.ExaminerID {
	if key == "" {
		return 0
	}
	if _, known := e[key]; !known {
		e[key] = shoulder.ExaminerID(len(e) + 1)
	}
	return e[key]
}

// lastEncounter is the Encounter of the latest session with a measurement of
// the shoulder. It is nil if its measurements name none, or several, or one
// that cannot be pointed at from outside.
func (r *reader) lastEncounter(visits visits) *fhir.Reference {
	var latest visit
	for _, f := range r.findings {
		if f.isOfShoulder() {
			latest = visits.of(f)
		}
	}
	var found fhir.Reference
	for _, f := range r.findings {
		o, ok := f.entry.resource.(*fhir.Observation)
		if !ok || !f.isOfShoulder() || o.Encounter == nil || visits.of(f) != latest {
			continue
		}
		found = preferred(found, withoutDisplay(*o.Encounter, f.entry))
	}
	if found.Reference == "" && found.Identifier == nil {
		return nil
	}
	return &found
}
