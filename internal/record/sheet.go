package record

import (
	"fmt"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// Sheet is a paper that is made of an assessment for one reader.
type Sheet uint8

// The sheets.
const (
	NoSheet      Sheet = iota
	ReportSheet        // the report on one page, for a clinician
	PatientSheet       // what the patient is handed
	HomeSheet          // the home programme
	NoteSheet          // the progress note
)

var sheetCodes = map[string]Sheet{"report": ReportSheet, "patient": PatientSheet, "home": HomeSheet, "note": NoteSheet}

// SheetOf is the sheet of a code, and reports whether there is one.
func SheetOf(code string) (Sheet, bool) {
	sheet, ok := sheetCodes[code]
	return sheet, ok
}

// AttachSheet adds one sheet as PDF to the DiagnosticReport of an answer; none for
// NoSheet. The issues are those that the answer was built with.
func AttachSheet(b *fhir.Bundle, s Sheet, a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) error {
	if s == NoSheet {
		return nil
	}
	for _, e := range b.Entry {
		r, ok := e.Resource.(*fhir.DiagnosticReport)
		if !ok {
			continue
		}
		pdf, err := s.pdf(a, issues, w)
		if err != nil {
			return fmt.Errorf("draw the sheet: %w", err)
		}
		attach(r, w, "application/pdf", pdf)
	}
	return nil
}

func (s Sheet) pdf(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) ([]byte, error) {
	switch s {
	case PatientSheet:
		return report.PatientPDF(a, w, typeset.A4)
	case HomeSheet:
		return report.HomePDF(a, w, typeset.A4)
	case NoteSheet:
		return report.ProgressNotePDF(a, issues, w, typeset.A4)
	}
	return report.PDF(a, issues, w, typeset.A4)
}
