package record

import (
	"fmt"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// AttachDocuments adds the report as PDF and, if there is an index to draw, the
// chart as PNG to the DiagnosticReport of an answer. They say the same as its
// text. Drawing them costs many times the rest of an answer, so they come only
// when asked for. The issues are those that the answer was built with.
func AttachDocuments(b *fhir.Bundle, a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) error {
	for _, e := range b.Entry {
		r, ok := e.Resource.(*fhir.DiagnosticReport)
		if !ok {
			continue
		}
		pdf, err := report.FullPDF(a, issues, w, typeset.A4)
		if err != nil {
			return fmt.Errorf("draw the report: %w", err)
		}
		attach(r, "application/pdf", pdf)
		if len(a.Measurements.Symmetries) == 0 {
			return nil
		}
		png, err := chart.PNG(a, w)
		if err != nil {
			return fmt.Errorf("draw the chart: %w", err)
		}
		attach(r, "image/png", png)
	}
	return nil
}

// attach adds a form of the report beside the first, which is its text.
func attach(r *fhir.DiagnosticReport, contentType string, data []byte) {
	form := r.PresentedForm[0]
	form.ContentType, form.Data = contentType, data
	r.PresentedForm = append(r.PresentedForm, form)
}
