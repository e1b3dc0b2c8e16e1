package fhirapi

import (
	"slices"

	"evenreach.example/internal/course"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/record"
	"evenreach.example/internal/shoulder"
)

// codeProperty declares a property of concepts.
type codeProperty struct {
	Code        string `json:"code"`
	URI         string `json:"uri,omitempty"`
	Description string `json:"description"`
	Type        string `json:"type"`
}

// conceptProperty is a property of one concept.
type conceptProperty struct {
	Code      string `json:"code"`
	ValueCode string `json:"valueCode"`
}

// listedConcept is a concept with its properties.
type listedConcept struct {
	concept
	Property []conceptProperty `json:"property,omitempty"`
}

// The properties of a code that is written no more, and that a record may still hold.
//
// Source: HL7 Terminology, CodeSystem http://hl7.org/fhir/concept-properties, for status; it
// has no property for what replaces a code.
var retirementProperties = []codeProperty{
	{"status", "http://hl7.org/fhir/concept-properties#status", "Whether the code is still written: retired if not. Absent for a code that is.", "code"},
	{"replacedBy", "", "A code that is written instead.", "code"},
}

// retired is a code that was published and is written no more.
type retired struct {
	concept
	replacedBy []string
}

func (r retired) listed() listedConcept {
	properties := []conceptProperty{{"status", "retired"}}
	for _, code := range r.replacedBy {
		properties = append(properties, conceptProperty{"replacedBy", code})
	}
	return listedConcept{r.concept, properties}
}

// listedOf are the concepts of a code system: those in use, and behind them the retired.
func listedOf(inUse []concept, gone []retired) (all []listedConcept) {
	for _, c := range inUse {
		all = append(all, listedConcept{concept: c})
	}
	for _, r := range gone {
		all = append(all, r.listed())
	}
	return all
}

// retiredCodes are those of a shoulder re-check, with the meaning that they had. None may be
// used again for anything else.
func retiredCodes() []retired {
	noDate := []string{course.NoDate.String()}
	all := []retired{
		{concept{"symmetry-trend", "Trend of the limb symmetry index", "The Theil-Sen slope of the limb symmetry index over its sessions, three or more."}, []string{fhir.CodeRotationCourse}},
		{concept{"trend-interval-low", "Lower end of the interval of the trend", "The lower end of the interval of the slope."}, nil},
		{concept{"trend-interval-high", "Upper end of the interval of the trend", "The upper end of the interval of the slope."}, nil},
		{concept{"trend-sessions", "Number of sessions of the trend", "How many sessions the slope is fitted to."}, inEachPosition(fhir.CodeCourseSessions)},
		{concept{"beyond-horizon", "Too slow for a forecast", "The trend takes longer than the protocol looks ahead."}, noDate},
		{concept{"falling", "Falling, so no forecast", "The index falls, so that no date is given."}, noDate},
		{concept{"flat", "Not to be told from flat, so no forecast", "The slope cannot be told from zero, so that no date is given."}, noDate},
		{concept{"drift", "Weekly drift of the true index, standard deviation", "How far the true index is taken to move in a week, as a standard deviation in per cent of itself."}, nil},
		{concept{"clear", "Beyond measurement error", "The interval lies on one side of the threshold."}, []string{measure.ClearlyNot.String(), measure.ClearlyMet.String()}},
		{concept{"sessions", "Number of sessions", "How many sessions a result rests on."}, nil},
		{concept{"baseline-value", "Value of the first session", "The value of the first session in which it was measured."}, nil},
		{concept{"change-since-previous-percent", "Change since the previous session in per cent", "The change since the previous session in per cent of the value then."}, nil},
		{concept{"change-since-baseline-percent", "Change since the first session in per cent", "The change since the first session in per cent of the value then."}, nil},
		{concept{"direction-since-previous", "Direction since the previous session", "What the change since the previous session comes to."}, []string{fhir.CodeChangePrevious}},
		{concept{"direction-since-baseline", "Direction since the first session", "What the change since the first session comes to."}, []string{fhir.CodeChangeBaseline}},
		{concept{"pooled-symmetry-index", "Limb symmetry index, all sessions together", "The limb symmetry index now, as all sessions show it together."}, inEachPosition(fhir.CodeCourseIndex)},
		{concept{"pooled-interval-low", "Lower end of the interval of all sessions together", "The lower end of the interval of the index as all sessions show it together."}, inEachPosition(fhir.CodeCourseLow)},
		{concept{"pooled-interval-high", "Upper end of the interval of all sessions together", "The upper end of the interval of the index as all sessions show it together."}, inEachPosition(fhir.CodeCourseHigh)},
		{concept{"pooled-probability", "Probability that the true index is at least even, by all sessions together", "The probability, from all sessions together, that the true index reaches the threshold of evenness."}, inEachPosition(fhir.CodeCourseEven)},
		{concept{"pooled-sessions", "Number of sessions that count together", "How many sessions count together for an index."}, inEachPosition(fhir.CodeCourseSessions)},
		{concept{"level-off", "Index at which the course levels off", "The index at which the course of a test levels off, below evenness."}, inEachPosition(fhir.CodeCourseLevel)},
		{concept{"level-off-low", "Lower end of the interval of the index at which the course levels off", "The lower end of the interval of the index at which the course of a test levels off."}, inEachPosition(fhir.CodeCourseLevelLow)},
		{concept{"level-off-high", "Upper end of the interval of the index at which the course levels off", "The upper end of the interval of the index at which the course of a test levels off."}, inEachPosition(fhir.CodeCourseLevelTop)},
		{concept{"certainty", "Certainty against measurement error", "How sure it is that the true index meets the threshold of evenness."}, inEachPosition(readiness.Even.String())},
		{concept{"strength-for-good-enough", "Strength of the involved side that would be good enough", "The strength of the involved side at which the index would be good enough, the comparison side staying as it is."}, nil},
		{concept{"strength-for-even", "Strength of the involved side that would be even", "The strength of the involved side at which the index would be even, the comparison side staying as it is."}, nil},
	}
	return slices.Concat(all, retiredDirections(), retiredValues())
}

// retiredDirections stood beside the standard interpretations better, worse and equivocal,
// which say the same.
func retiredDirections() []retired {
	return []retired{
		{concept{measure.Unchanged.String(), "not clear", "Neither probably better nor probably worse: the change is within measurement error."}, nil},
		{concept{measure.Improved.String(), "better", "Clearly better."}, nil},
		{concept{measure.Declined.String(), "worse", "Clearly worse."}, nil},
	}
}

// retiredValues are the values of criteria whose value stands in a result of its own.
func retiredValues() (all []retired) {
	for _, v := range [...]struct {
		rule, display string
		replacedBy    []string
	}{
		{"load-permitted", "Load permitted by the healing of a repair", nil},
		{"range-open", "Active range, share of full range", []string{fhir.CodeRangeFraction}},
		{"range-minimum", "Active range, position reached", nil},
	} {
		for _, p := range shoulder.TrainedPositions {
			code := record.CourseCode(v.rule, p)
			all = append(all, retired{concept{
				code + fhir.SuffixValue, v.display + ": " + words.Position(p) + ", value", "What was held against the threshold of " + code + ".",
			}, v.replacedBy})
		}
	}
	return all
}

// inEachPosition is a code of the course in all arm positions.
func inEachPosition(code string) (all []string) {
	for _, p := range shoulder.TrainedPositions {
		all = append(all, record.CourseCode(code, p))
	}
	return all
}
