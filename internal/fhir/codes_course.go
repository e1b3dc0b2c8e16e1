package fhir

// Our own codes of SystemShoulder for the course of strength, which rests on all sessions.
const (
	CodeStrengthCourse = "strength-course" // %, that all tests are even
	CodeRotationCourse = "rotation-course" // of one rotation, without a value
)

// Our own codes of SystemShoulder for what the course of a rotation says of the test in one
// arm position: each is followed by a hyphen and the position, as in
// course-index-flexion-90.
const (
	CodeCourseIndex      = "course-index" // %
	CodeCourseLow        = "course-interval-low"
	CodeCourseHigh       = "course-interval-high"
	CodeCourseGoodEnough = "course-probability-good-enough" // %
	CodeCourseEven       = "course-probability-even"        // %
	CodeCourseSessions   = "course-sessions"

	CodeCourseBelowLast  = "course-probability-below-last" // %, of the involved side's strength
	CodeCourseBelowFirst = "course-probability-below-first"
	CodeCourseBelowBest  = "course-probability-below-best"
	CodeCourseBestDate   = "course-best-date"

	CodeCourseOutlook  = "course-outlook"
	CodeCourseDate     = "course-forecast-date"
	CodeCourseEarliest = "course-forecast-earliest"
	CodeCourseLatest   = "course-forecast-latest"
	CodeCourseLevel    = "course-level-off" // %
	CodeCourseLevelLow = "course-level-off-low"
	CodeCourseLevelTop = "course-level-off-high"
)

// OfCourse lists the codes that are followed by an arm position, with their displays.
var OfCourse = [...]Coding{
	own(CodeCourseIndex, "Limb symmetry index, all sessions together"),
	own(CodeCourseLow, "Lower end of the interval of the index, all sessions together"),
	own(CodeCourseHigh, "Upper end of the interval of the index, all sessions together"),
	own(CodeCourseGoodEnough, "Probability that the true index is at least good enough, all sessions together"),
	own(CodeCourseEven, "Probability that the true index is at least even, all sessions together"),
	own(CodeCourseSessions, "Number of sessions that count together"),
	own(CodeCourseBelowLast, "Probability that the true strength is below that of the previous session"),
	own(CodeCourseBelowFirst, "Probability that the true strength is below that of the first session"),
	own(CodeCourseBelowBest, "Probability that the true strength is below that of the best session"),
	own(CodeCourseBestDate, "Date of the best session"),
	own(CodeCourseOutlook, "Outlook on evenness"),
	own(CodeCourseDate, "Date of evenness, if the course goes on"),
	own(CodeCourseEarliest, "Earliest date of evenness, if the course goes on"),
	own(CodeCourseLatest, "Latest date of evenness, if the course goes on"),
	own(CodeCourseLevel, "Index at which the course levels off"),
	own(CodeCourseLevelLow, "Lower end of the interval of the index at which the course levels off"),
	own(CodeCourseLevelTop, "Upper end of the interval of the index at which the course levels off"),
}
