package record

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/wording"
)

// Every kind of result that has a text of its own has one in every language.
func TestResultsHaveATitleInEveryLanguage(t *testing.T) {
	for _, language := range wording.Languages()[1:] {
		for _, code := range []string{
			fhir.CodeLimbSymmetryIndex, fhir.CodeRotationRatio, fhir.CodeRangeFraction, fhir.CodeStrengthChange, fhir.CodeRangeChange,
			fhir.CodePainChange, fhir.CodeOutcomeChange, fhir.CodeStrengthCourse, fhir.CodeRotationCourse, fhir.CodeRotationReadiness, fhir.CodeOverallReadiness, fhir.CodeRedFlag,
			fhir.CodeDemand,
		} {
			if title := wording.For(language).Title(code, ""); title == "" || title == titles[code] {
				t.Errorf("%s: the title of %s is %q", language, code, title)
			}
		}
	}
}
