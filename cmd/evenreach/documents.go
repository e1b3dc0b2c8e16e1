package main

import (
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// documents are the forms for people, each written from the assessment.
var documents = map[string]func(*service.Answer, *wording.Catalogue) ([]byte, error){
	"text": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return []byte(report.Text(a.Assessment, a.Issues, w)), nil
	},
	"pdf": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return report.PDF(a.Assessment, a.Issues, w)
	},
	"chart": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return chart.SVG(a.Assessment, w), nil
	},
	"patient": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return []byte(report.Patient(a.Assessment, w)), nil
	},
	"patient-pdf": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return report.PatientPDF(a.Assessment, w)
	},
	"note-pdf": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return report.ProgressNotePDF(a.Assessment, a.Issues, w)
	},
	"note": func(a *service.Answer, w *wording.Catalogue) ([]byte, error) {
		return []byte(report.ProgressNote(a.Assessment, a.Issues, w)), nil
	},
}

// words are the texts in the language and the unit that were asked for.
func (c assessCommand) words() *wording.Catalogue {
	var unit wording.ForceUnit
	if err := unit.UnmarshalText([]byte(c.Force)); err != nil {
		unit = wording.Newton // the flag takes no other
	}
	return wording.For(c.Language).InForce(unit)
}
