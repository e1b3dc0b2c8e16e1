package main

import (
	"evenreach.example/internal/program"
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// documents are the forms for people, each written from the assessment as the command
// asks for it.
var documents = map[string]func(*service.Answer, assessCommand) ([]byte, error){
	"text": func(a *service.Answer, c assessCommand) ([]byte, error) {
		if c.Full {
			return []byte(report.FullText(a.Assessment, a.Issues, c.words())), nil
		}
		return []byte(report.Text(a.Assessment, a.Issues, c.words())), nil
	},
	"pdf": func(a *service.Answer, c assessCommand) ([]byte, error) {
		if c.Full {
			return report.FullPDF(a.Assessment, a.Issues, c.words(), c.paper())
		}
		return report.PDF(a.Assessment, a.Issues, c.words(), c.paper())
	},
	"chart": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return chart.SVG(a.Assessment, c.words()), nil
	},
	"patient": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return []byte(report.Patient(a.Assessment, c.words())), nil
	},
	"patient-pdf": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return report.PatientPDF(a.Assessment, c.words(), c.paper())
	},
	"home": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return []byte(report.Home(a.Assessment, c.words())), nil
	},
	"home-pdf": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return report.HomePDF(a.Assessment, c.words(), c.paper())
	},
	"note": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return []byte(report.ProgressNote(a.Assessment, a.Issues, c.words())), nil
	},
	"note-pdf": func(a *service.Answer, c assessCommand) ([]byte, error) {
		return report.ProgressNotePDF(a.Assessment, a.Issues, c.words(), c.paper())
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

// paper is the size of the pages that was asked for.
func (c assessCommand) paper() typeset.Paper { return program.Papers[c.Paper] }
