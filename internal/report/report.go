// Package report writes an assessment for people: as text for a terminal and
// as the narratives that stand in the record. All forms are written from one
// view, so that they say the same.
package report

import (
	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/wording"
)

// Text is the whole report for a terminal of 80 columns.
func Text(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return w.Conclusion(a)
}

// Narrative is the XHTML div of the DiagnosticReport.
func Narrative(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return `<div xmlns="http://www.w3.org/1999/xhtml">` + w.Conclusion(a) + `</div>`
}

// PlanNarrative is the XHTML div of the CarePlan.
func PlanNarrative(a *assess.Assessment, w *wording.Catalogue) string {
	return `<div xmlns="http://www.w3.org/1999/xhtml">` + w.Conclusion(a) + `</div>`
}
