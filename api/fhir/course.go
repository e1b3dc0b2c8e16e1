package fhirapi

import (
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
	"evenreach.example/internal/shoulder"
)

// rotationCourse has the same components in each arm position.
func rotationCourse() profile {
	parts := []part{ofRotation}
	for _, p := range shoulder.TrainedPositions {
		for _, c := range fhir.OfCourse {
			parts = append(parts, may(record.CourseCode(c.Code, p), courseValue(c.Code)))
		}
	}
	return profile{
		id: "rotation-course", title: "Course of strength of a rotation",
		description: "What all sessions show together of the strength of one rotation, by the model of the course, in each arm position with several sessions: the index on the day of the latest session with its interval, the probabilities that it is good enough and even, the probability that the involved side's strength is below that of earlier sessions, and what that says about evenness, as far as the course of the shoulder does not say the same: a date if it goes on so, which promises nothing, where it levels off, or that no date can be given. It has no value, because it is of several tests, and is derived from the indices that decide and from the strengths of the sessions before.",
		code:        fhir.CodeRotationCourse, derived: true, parts: parts,
	}
}

// courseValue is what a component of the course may be.
func courseValue(code string) content {
	switch code {
	case fhir.CodeCourseSessions:
		return ofType("integer")
	case fhir.CodeCourseOutlook:
		return codedBy("outlook")
	case fhir.CodeCourseBestDate, fhir.CodeCourseDate, fhir.CodeCourseEarliest, fhir.CodeCourseLatest:
		return ofType("dateTime")
	}
	return inUnit("%")
}

// strengthCourse is that of the shoulder.
func strengthCourse() profile {
	outlook := one(fhir.CodeOutlook, codedBy("outlook"))
	outlook.lacking = true
	return profile{
		id: "strength-course", title: "Course of strength of the shoulder",
		description: "The probability that the true indices of all six tests are even on the day of the latest session, which is the effective date, and what the course says about when they will be. The courses of the rotations are its members. Where not all six tests were done it has a reason in place of the value.",
		code:        fhir.CodeStrengthCourse, value: inUnit("%"), members: 1,
		parts: []part{
			outlook,
			may(fhir.CodeForecastDate, ofType("dateTime")),
			may(fhir.CodeForecastEarliest, ofType("dateTime")),
			may(fhir.CodeForecastLatest, ofType("dateTime")),
		},
	}
}

// ofCourse are what the course says of a test, in all arm positions that it is told for.
func ofCourse() (all []concept) {
	for _, p := range shoulder.TrainedPositions {
		for _, c := range fhir.OfCourse {
			all = append(all, concept{record.CourseCode(c.Code, p), c.Display, courseDefinitions[c.Code]}.in(p))
		}
	}
	return all
}

// courseActions are how the numbers of the course come about.
func courseActions(p *protocol.Protocol) []action {
	c, model := &p.Course, courseSources(p)
	return []action{
		courseAction("All sessions together, by the model of the course", model,
			[]string{fhir.CodeStrengthCourse},
			fhir.CodeCourseIndex, fhir.CodeCourseLow, fhir.CodeCourseHigh, fhir.CodeCourseGoodEnough, fhir.CodeCourseEven, fhir.CodeCourseSessions),
		courseAction("True change of strength, by the model of the course", append(slices.Clip(model), p.Certainty.Clear.Source, p.Certainty.Probable.Source), nil,
			fhir.CodeCourseBelowLast, fhir.CodeCourseBelowFirst, fhir.CodeCourseBelowBest, fhir.CodeCourseBestDate),
		courseAction("What the course says about evenness",
			[]string{p.Trend.Sessions.Source, p.Trend.Horizon.Source, c.Reach.Source, c.ReachOne.Source, c.Levelling.Source},
			[]string{fhir.CodeOutlook, fhir.CodeForecastDate, fhir.CodeForecastEarliest, fhir.CodeForecastLatest},
			fhir.CodeCourseOutlook, fhir.CodeCourseDate, fhir.CodeCourseEarliest, fhir.CodeCourseLatest,
			fhir.CodeCourseLevel, fhir.CodeCourseLevelLow, fhir.CodeCourseLevelTop),
	}
}

// courseAction is how some numbers of the shoulder, and some of a test in each arm
// position, come about.
func courseAction(title string, sources []string, ofShoulder []string, ofTest ...string) action {
	a := methodAction(title, sources, ofShoulder...)
	for _, code := range ofTest {
		a.Description = strings.TrimSpace(a.Description + " " + courseDefinitions[code])
		for _, p := range shoulder.TrainedPositions {
			a.Code = append(a.Code, conceptOf(ours(record.CourseCode(code, p))))
		}
	}
	return a
}

// courseDefinitions are of the codes that are followed by an arm position.
var courseDefinitions = map[string]string{
	fhir.CodeCourseIndex:      "The limb symmetry index on the day of the latest session, as all sessions show it together by the model of the course.",
	fhir.CodeCourseLow:        "The lower end of the interval of the index as all sessions show it together.",
	fhir.CodeCourseHigh:       "The upper end of the interval of the index as all sessions show it together.",
	fhir.CodeCourseGoodEnough: "The probability, from all sessions together, that the true index reaches the threshold at which the next position may open.",
	fhir.CodeCourseEven:       "The probability, from all sessions together, that the true index reaches the threshold of evenness.",
	fhir.CodeCourseSessions:   "How many sessions count together.",
	fhir.CodeCourseBelowLast:  "The probability that the involved side's true strength is below what it was in the session before the latest, as all sessions show it. The interpretation says what the change comes to, unless a change of strength since that day says it.",
	fhir.CodeCourseBelowFirst: "The probability that the involved side's true strength is below what it was in the first session, as all sessions show it. The interpretation says what the change comes to, unless a change of strength since that day says it. Absent where that is the session before the latest.",
	fhir.CodeCourseBelowBest:  "The probability that the involved side's true strength is below what it was in the session of its best measurement, as all sessions show it. The interpretation says what the change comes to, unless a change of strength since that day says it. Absent where that is the first session or the one before the latest.",
	fhir.CodeCourseBestDate:   "The day of the session of the best measurement before the latest.",
	fhir.CodeCourseOutlook:    "What the course says about evenness within the horizon of the protocol. Absent where it is the outlook of the shoulder and gives neither a day nor a level, and while nothing may be said of the time to come.",
	fhir.CodeCourseDate:       "The median of the first day of evenness, if the course goes on and evenness is reached within the horizon. It promises nothing.",
	fhir.CodeCourseEarliest:   "The lower end of the interval of the first day of evenness, at the confidence of the protocol.",
	fhir.CodeCourseLatest:     "The upper end of the interval of the first day of evenness, at the confidence of the protocol.",
	fhir.CodeCourseLevel:      "The index at which the course levels off, below evenness.",
	fhir.CodeCourseLevelLow:   "The lower end of the interval of the index at which the course levels off.",
	fhir.CodeCourseLevelTop:   "The upper end of the interval of the index at which the course levels off.",
}
