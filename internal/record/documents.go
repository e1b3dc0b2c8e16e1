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

// AttachDocuments adds the report as plain text, as PDF and, if there is an index to draw,
// the chart as PNG to the DiagnosticReport of an answer. They have the same content as its
// narrative. Drawing them costs many times the rest of an answer, so they are only added
// on request. The issues are those that the answer was built with.
func AttachDocuments(b *fhir.Bundle, a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) error {
	for _, e := range b.Entry {
		if r, ok := e.Resource.(*fhir.DiagnosticReport); ok {
			return attachForms(r, a, issues, w)
		}
	}
	return nil
}

func attachForms(r *fhir.DiagnosticReport, a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) error {
	attach(r, w, "text/plain; charset=utf-8", []byte(report.Text(a, issues, w)))
	pdf, err := report.FullPDF(a, issues, w, typeset.A4)
	if err != nil {
		return fmt.Errorf("draw the report: %w", err)
	}
	attach(r, w, "application/pdf", pdf)
	if len(a.Measurements.Symmetries) == 0 {
		return nil
	}
	png, err := chart.PNG(a, w)
	if err != nil {
		return fmt.Errorf("draw the chart: %w", err)
	}
	attach(r, w, "image/png", png)
	return nil
}

// attach adds a form of the report.
func attach(r *fhir.DiagnosticReport, w *wording.Catalogue, contentType string, data []byte) {
	form := fhir.Attachment{ContentType: contentType, Language: w.Language(), Data: data, Title: progressNote.Coding[0].Display}
	if when, ok := r.Effective.(fhir.DateTime); ok {
		form.Creation = string(when)
	}
	r.PresentedForm = append(r.PresentedForm, form)
}
