package intake

import (
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// visit identifies a session: by Encounter, by day, or by both.
type visit struct {
	encounter string
	day       day
}

// longestVisit is the longest that one session can last. An Encounter that
// lasts longer covers a series of visits, as recurring outpatient treatment is
// often recorded; its measurements are told apart by day.
const longestVisit = 24 * time.Hour

// stay is a time and an Encounter at which something was measured. A visit has one or
// more.
type stay struct {
	encounter string
	when      dateTime
}

// visits assigns the stays, which are in order of time, to visits. One without an
// Encounter joins the first Encounter of its day.
type visits struct {
	spans map[string]span
	days  map[day]visit
}

type span struct{ first, last time.Time }

func newVisits(stays []stay) visits {
	v := visits{map[string]span{}, map[day]visit{}}
	for _, s := range stays {
		if s.encounter != "" {
			v.spans[s.encounter] = v.spans[s.encounter].with(s.when.time)
		}
	}
	for _, s := range stays {
		if s.encounter == "" {
			continue
		}
		if d := s.when.day(); v.days[d] == (visit{}) {
			v.days[d] = v.of(s)
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

// of is the visit of a stay.
func (v visits) of(s stay) visit {
	d := s.when.day()
	if s.encounter == "" {
		if joined, ok := v.days[d]; ok {
			return joined
		}
		return visit{day: d}
	}
	if lasted := v.spans[s.encounter]; lasted.last.Sub(lasted.first) > longestVisit {
		return visit{s.encounter, d}
	}
	return visit{encounter: s.encounter}
}

// inSession reports whether the finding is part of a visit. What the record states for all
// visits, such as the dominant hand, is not.
func (f *finding) inSession() bool {
	switch f.kind {
	case clearance, examination, permit, confirmation, tear, handedness, repair:
		return false
	}
	return true
}

// isOfShoulder reports whether the finding is a measurement of the shoulder, which can be
// assessed.
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
func (r *reader) episode(involved shoulder.Side, sessions []shoulder.Session) shoulder.Episode {
	r.allocateTrials(sessions)
	e := shoulder.Episode{Involved: involved, ComparisonAffected: r.comparisonAffected(involved), Sessions: sessions}
	examiners := examiners{}
	for _, f := range r.findings {
		if f.inSession() {
			f.addToSession(&e.Sessions[f.session], examiners)
		} else {
			f.addTo(&e)
		}
	}
	r.addRefused(e.Sessions)
	e.Onsets = r.onsets(involved)
	e.Repairs = r.repairs(involved)
	return e
}

// allocateTrials allocates the trials of the sessions.
func (r *reader) allocateTrials(sessions []shoulder.Session) {
	trials := make([]int, len(sessions))
	for _, f := range r.findings {
		if f.inSession() {
			trials[f.session] += len(f.trialValues)
		}
	}
	for i, n := range trials {
		if n > 0 {
			sessions[i].Trials = make([]shoulder.Trial, 0, n)
		}
	}
}

// startSessions creates the sessions, oldest first, and gives each finding the index of
// its session.
func (r *reader) startSessions() []shoulder.Session {
	stays, at := r.stays()
	sessions, numbers := newSessions(stays)
	for i, f := range r.findings {
		if f.inSession() {
			f.session = numbers[at[i]]
		}
	}
	return sessions
}

// stays lists the stays, and the index of the stay of each finding. Findings of one stay
// mostly follow each other; where they do not, it is listed again.
func (r *reader) stays() (stays []stay, at []int) {
	at = make([]int, len(r.findings))
	for i, f := range r.findings {
		if !f.inSession() {
			continue
		}
		s := stay{f.encounter, f.when}
		if len(stays) == 0 || stays[len(stays)-1] != s {
			stays = append(stays, s)
		}
		at[i] = len(stays) - 1
	}
	return stays, at
}

// newSessions creates a session for each visit, and lists the session of each stay.
func newSessions(stays []stay) (sessions []shoulder.Session, numbers []int) {
	visits := newVisits(stays)
	byVisit := map[visit]int{}
	for _, s := range stays {
		v := visits.of(s)
		n, found := byVisit[v]
		if !found {
			n = len(sessions)
			byVisit[v] = n
			sessions = append(sessions, shoulder.Session{When: s.when.time})
		}
		numbers = append(numbers, n)
	}
	return sessions, numbers
}

// addTo adds the finding to the episode if it holds for all of it. Of several statements
// about the dominant hand the latest counts.
func (f *finding) addTo(e *shoulder.Episode) {
	switch f.kind {
	case clearance:
		e.Clearances = append(e.Clearances, f.statement())
	case examination:
		e.Examinations = append(e.Examinations, f.statement())
	case permit:
		p := shoulder.Permit{Source: f.source, When: f.when.time, Side: f.side, Phase: f.phase}
		if f.unread {
			e.Unread = append(e.Unread, p)
		} else {
			e.Permits = append(e.Permits, p)
		}
	case tear:
		e.Tears = append(e.Tears, shoulder.Tear{Source: f.source, Side: f.side, Centimetres: f.value})
	case handedness:
		e.Handedness = f.hand
	}
}

func (f *finding) statement() shoulder.Statement {
	return shoulder.Statement{Source: f.source, When: f.when.time, IsDay: f.when.isDay, Side: f.side, Cleared: f.yes}
}

// addToSession adds a measurement to its session. Of several body masses or
// heights the latest counts.
func (f *finding) addToSession(s *shoulder.Session, examiners examiners) {
	switch f.kind {
	case strength:
		for _, value := range f.trialValues {
			s.Trials = append(s.Trials, f.trial(value))
		}
		for _, value := range f.refused {
			s.Refused = append(s.Refused, f.trial(value))
		}
	case grade:
		s.Grades = append(s.Grades, shoulder.Grade{Source: f.source, Motion: f.motion, Position: f.position, Side: f.side, Value: f.grade})
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
	case outcome:
		s.Outcomes = append(s.Outcomes, shoulder.Outcome{Source: f.source, Measure: f.outcome.ID, Side: f.side, Value: f.value})
	case bodyMass:
		s.Mass = &shoulder.Measured{Source: f.source, Value: f.value}
	case bodyHeight:
		s.Height = &shoulder.Measured{Source: f.source, Value: f.value}
	}
}

func (f *finding) trial(r trialValue) shoulder.Trial {
	return shoulder.Trial{
		Source:      f.source,
		Motion:      f.motion,
		Position:    f.position,
		Support:     f.support,
		Side:        f.side,
		Contraction: f.contraction,
		Instrument:  f.instrument,
		Dimension:   r.dimension,
		Value:       r.value,
		Confirmed:   f.confirmed,
		Denied:      f.denied,
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

// lastEncounter is the Encounter of the latest session with a measurement of the shoulder.
// It is nil if its measurements name none or several, or a contained one.
func (r *reader) lastEncounter() *fhir.Reference {
	var latest int
	for _, f := range r.findings {
		if f.isOfShoulder() {
			latest = f.session
		}
	}
	var found fhir.Reference
	for _, f := range r.findings {
		o, ok := f.entry.resource.(*fhir.Observation)
		if !ok || !f.isOfShoulder() || o.Encounter == nil || f.session != latest {
			continue
		}
		prefer(&found, r.stored(o.Encounter), f.entry)
	}
	if found.Reference == "" && found.Identifier == nil {
		return nil
	}
	return &found
}
