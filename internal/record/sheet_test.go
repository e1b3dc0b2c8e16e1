package record

import (
	"bytes"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/wording"
)

func TestEachSheetIsAPDFOfItsOwn(t *testing.T) {
	seen := map[string]string{}
	for code := range sheetCodes {
		sheet, ok := SheetOf(code)
		if !ok {
			t.Fatalf("%s is no sheet", code)
		}
		for _, language := range wording.Languages() {
			forms := withSheet(t, sheet, wording.For(language))
			if len(forms) != 1 || !bytes.HasPrefix(forms[0].Data, []byte("%PDF-")) || forms[0].Language != language {
				t.Fatalf("%s in %s: %d forms, expected one PDF in the language", code, language, len(forms))
			}
			if same, known := seen[string(forms[0].Data)]; known {
				t.Errorf("%s in %s is the same as %s", code, language, same)
			}
			seen[string(forms[0].Data)] = code + " in " + language
		}
	}
	if forms := withSheet(t, NoSheet, wording.For("en")); len(forms) != 0 {
		t.Errorf("without a sheet there are %d forms, expected none", len(forms))
	}
}

func withSheet(t *testing.T, sheet Sheet, words *wording.Catalogue) []fhir.Attachment {
	t.Helper()
	a, reading := twoVisits().assessed(t, protocol.Default())
	b := Build(a, reading, Options{Words: words})
	if err := AttachSheet(b, sheet, a, Issues(a, reading, Transaction), words); err != nil {
		t.Fatal(err)
	}
	for _, e := range b.Entry {
		if r, ok := e.Resource.(*fhir.DiagnosticReport); ok {
			return r.PresentedForm
		}
	}
	t.Fatal("no DiagnosticReport")
	return nil
}
