package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// testCodes are the concepts of what the course says of the test in one arm position.
type testCodes struct {
	index, low, high, goodEnough, even, sessions fhir.CodeableConcept
	belowLast, belowFirst, belowBest, bestDate   fhir.CodeableConcept
	outlook                                      outlookCodes
}

// outlookCodes are those of what may be said about evenness.
type outlookCodes struct {
	outlook fhir.CodeableConcept
	dates   [3]fhir.CodeableConcept // the day, the earliest, the latest
	level   [3]fhir.CodeableConcept // where the course levels off, with the ends of its interval
}

// ofShoulder are the concepts of the outlook on all tests together, which has no level.
var ofShoulder = outlookCodes{
	outlook: ownCode(fhir.CodeOutlook),
	dates:   [3]fhir.CodeableConcept{ownCode(fhir.CodeForecastDate), ownCode(fhir.CodeForecastEarliest), ownCode(fhir.CodeForecastLatest)},
}

// courseCodes are the concepts by position.
var courseCodes = func() (all [len(shoulder.Positions) + 1]testCodes) {
	for _, p := range shoulder.TrainedPositions {
		at := func(code string) fhir.CodeableConcept { return ownCode(CourseCode(code, p)) }
		all[p] = testCodes{
			index: at(fhir.CodeCourseIndex), low: at(fhir.CodeCourseLow), high: at(fhir.CodeCourseHigh),
			goodEnough: at(fhir.CodeCourseGoodEnough), even: at(fhir.CodeCourseEven), sessions: at(fhir.CodeCourseSessions),
			belowLast: at(fhir.CodeCourseBelowLast), belowFirst: at(fhir.CodeCourseBelowFirst),
			belowBest: at(fhir.CodeCourseBelowBest), bestDate: at(fhir.CodeCourseBestDate),
			outlook: outlookCodes{
				outlook: at(fhir.CodeCourseOutlook),
				dates:   [3]fhir.CodeableConcept{at(fhir.CodeCourseDate), at(fhir.CodeCourseEarliest), at(fhir.CodeCourseLatest)},
				level:   [3]fhir.CodeableConcept{at(fhir.CodeCourseLevel), at(fhir.CodeCourseLevelLow), at(fhir.CodeCourseLevelTop)},
			},
		}
	}
	return all
}()

// CourseCode is the project's code of what the course says of the test in an arm position,
// such as course-index-flexion-90.
func CourseCode(code string, p shoulder.ArmPosition) string { return code + "-" + p.String() }
