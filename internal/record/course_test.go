package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// courses are the courses of the rotations and that of the shoulder.
func courses(b *fhir.Bundle) (motions []*fhir.Observation, whole *fhir.Observation) {
	if all := results(b, fhir.CodeStrengthCourse); len(all) > 0 {
		whole = all[0]
	}
	return results(b, fhir.CodeRotationCourse), whole
}

// Three visits of six tests: each rotation has its course, of which the shoulder's has the
// members; the report has all of them.
func TestCourseIsOfAllSessions(t *testing.T) {
	b := threeVisits().answer(t, Transaction)
	motions, whole := courses(b)
	if len(motions) != 2 || whole == nil || len(whole.HasMember) != 2 {
		t.Fatalf("%d courses of rotations and %v, want two and that of the shoulder", len(motions), whole)
	}
	for i, o := range motions {
		for _, p := range shoulder.TrainedPositions {
			if got := componentValue(o, CourseCode(fhir.CodeCourseSessions, p)); got != "3" {
				t.Errorf("%d: %s sessions in %s, want 3", i, got, p)
			}
			for _, code := range []string{fhir.CodeCourseIndex, fhir.CodeCourseLow, fhir.CodeCourseHigh, fhir.CodeCourseGoodEnough, fhir.CodeCourseEven} {
				if c := componentOf(o, CourseCode(code, p)); c == nil || !strings.HasSuffix(valueOf(c.Value), " %") {
					t.Errorf("%d: no %s in %s", i, code, p)
				}
			}
		}
		if n := len(o.DerivedFrom); n != 3+3*2*2*2 {
			t.Errorf("%d: derived from %d, want three indices and two trials of two sides in three positions of two earlier sessions", i, n)
		}
		if o.Value != nil || len(o.Component) == 0 {
			t.Errorf("%d: a course has its numbers in components, not as a value", i)
		}
	}
	if got := valueOf(whole.Effective); got != "2026-04-13" {
		t.Errorf("the course goes up to %s, want the day of the third visit", got)
	}
	results := of[*fhir.DiagnosticReport](b)[0].Result
	for _, member := range whole.HasMember {
		if !slices.ContainsFunc(results, func(r fhir.Reference) bool { return r.Reference == member.Reference }) {
			t.Errorf("the report has no %s", member.Reference)
		}
	}
}

// One session has no course; one test alone has one, and tells of no others.
func TestCourseOfLess(t *testing.T) {
	if motions, whole := courses(onePosition("80").answer(t, Transaction)); len(motions) > 0 || whole != nil {
		t.Error("a course of one session, want none")
	}
	s := newSent()
	for i, newtons := range []string{"60", "70"} {
		s.both([]string{firstVisit, secondVisit}[i], shoulder.External, shoulder.AtSide, newtons)
	}
	motions, whole := courses(s.answer(t, Transaction))
	if len(motions) != 1 || whole.Value != nil || whole.DataAbsentReason == nil {
		t.Errorf("%d rotations, probability %v; want one, and a reason for what was not measured", len(motions), valueOf(whole.Value))
	}
	if componentOf(motions[0], CourseCode(fhir.CodeCourseIndex, shoulder.Flexion90)) != nil {
		t.Error("an index in a position that was not tested")
	}
}

// visits are the days of up to six sessions.
var visits = []string{firstVisit, secondVisit, thirdVisit, "2026-05-04T09:30:00+02:00", "2026-05-25T09:30:00+02:00", "2026-06-15T09:30:00+02:00"}

// What the course says about evenness is said only after enough sessions, and each in its way.
func TestOutlook(t *testing.T) {
	for _, tt := range []struct {
		name     string
		newtons  []string // of 100
		outlook  string
		has, not []string
	}{
		{"two visits", []string{"60", "80"}, "too-few-sessions", nil, []string{fhir.CodeCourseDate, fhir.CodeCourseLevel}},
		{"always the same", []string{"62", "61", "63", "62", "61", "62"}, "levelling-off", []string{fhir.CodeCourseLevel, fhir.CodeCourseLevelLow, fhir.CodeCourseLevelTop}, []string{fhir.CodeCourseDate}},
		{"far above", []string{"80", "100", "115", "120"}, "reached", nil, []string{fhir.CodeCourseDate, fhir.CodeCourseLevel}},
		{"rising fast", []string{"50", "66", "79", "87"}, "forecast", []string{fhir.CodeCourseDate, fhir.CodeCourseEarliest, fhir.CodeCourseLatest}, []string{fhir.CodeCourseLevel}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSent()
			for i, newtons := range tt.newtons {
				for _, r := range shoulder.Trained {
					for _, p := range shoulder.TrainedPositions {
						s.both(visits[i], r, p, newtons)
					}
				}
			}
			motions, whole := courses(s.answer(t, Transaction))
			o := motions[0]
			got := componentValue(o, CourseCode(fhir.CodeCourseOutlook, shoulder.AtSide))
			if got == "" {
				got = componentValue(whole, fhir.CodeOutlook) // the same
			}
			if got != tt.outlook {
				t.Errorf("outlook %s, want %s", got, tt.outlook)
			}
			for _, code := range tt.has {
				if componentOf(o, CourseCode(code, shoulder.AtSide)) == nil {
					t.Errorf("no %s", code)
				}
			}
			for _, code := range tt.not {
				if componentOf(o, CourseCode(code, shoulder.AtSide)) != nil {
					t.Errorf("%s, want none", code)
				}
			}
		})
	}
}

// While a red flag stands nothing is said of the time to come, in no form.
func TestNothingIsForeseenBesideARedFlag(t *testing.T) {
	s := newSent()
	for i, newtons := range []string{"50", "66", "79", "87", "35"} {
		for _, r := range shoulder.Trained {
			for _, p := range shoulder.TrainedPositions {
				s.both(visits[i], r, p, newtons)
			}
		}
	}
	b := s.answer(t, Transaction)
	if len(results(b, fhir.CodeRedFlag)) == 0 {
		t.Fatal("no red flag: want one where all tests fell by more than half")
	}
	motions, whole := courses(b)
	for _, o := range append(motions, whole) {
		foreseen := 0
		for _, c := range o.Component {
			code := c.Code.Coding[0].Code
			if strings.Contains(code, "forecast") || strings.Contains(code, "level-off") {
				t.Errorf("%s, want nothing of the time to come", code)
			}
			if strings.HasPrefix(code, "course-outlook") || code == "outlook" {
				foreseen++
				if c.Value != nil || c.DataAbsentReason == nil || c.DataAbsentReason.Coding[0].Code != "temp-unknown" {
					t.Errorf("%s is %s, want no value and that it may be known later", code, valueOf(c.Value))
				}
			}
		}
		if foreseen != len(o.HasMember)/2 || len(o.Note) > 0 {
			t.Errorf("%d outlooks, notes %v; want that of the shoulder without a value, and no note", foreseen, o.Note)
		}
	}
}

// One change has one word: that of the measured change, which the probability of a fall since
// that day does not repeat.
func TestOneChangeHasOneWord(t *testing.T) {
	compared := 0
	for name, input := range everyInput(t) {
		b := input.answer(t, Transaction)
		motions, _ := courses(b)
		for _, change := range results(b, fhir.CodeStrengthChange) {
			for _, o := range motions {
				if componentValue(o, fhir.CodeRotation) != componentValue(change, fhir.CodeRotation) || valueOf(change.BodySite) != valueOf(o.BodySite) {
					continue
				}
				at := "-" + componentValue(change, fhir.CodeArmPosition)
				compared += wordless(t, name, componentOf(o, fhir.CodeCourseBelowLast+at), change.Interpretation)
				if c := componentOf(change, fhir.CodeChangeBaseline); c != nil {
					compared += wordless(t, name, componentOf(o, fhir.CodeCourseBelowFirst+at), c.Interpretation)
				}
			}
		}
	}
	if compared < 50 {
		t.Errorf("%d words compared, want those of all scenarios", compared)
	}
}

func wordless(t *testing.T, name string, fall *fhir.Component, word []fhir.CodeableConcept) int {
	t.Helper()
	if fall == nil {
		return 0
	}
	if len(fall.Interpretation) > 0 || len(word) != 1 {
		t.Errorf("%s: %s is called %v, the measured change %v; want a word of the change alone", name, fall.Code.Coding[0].Code, fall.Interpretation, word)
	}
	return 1
}

// Since the best session there is no change of strength in an answer, so that the course has
// the word.
func TestFallSinceTheBestHasItsWord(t *testing.T) {
	s := newSent()
	for i, newtons := range []string{"70", "95", "85", "86"} {
		s.both(visits[i], shoulder.External, shoulder.AtSide, newtons)
	}
	motions, _ := courses(s.answer(t, Transaction))
	fall := componentOf(motions[0], CourseCode(fhir.CodeCourseBelowBest, shoulder.AtSide))
	if fall == nil || len(fall.Interpretation) != 1 {
		t.Errorf("%+v, want the fall since the second visit with its word", fall)
	}
}
