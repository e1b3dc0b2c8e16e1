package record

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/wording"
)

func withDocuments(t *testing.T, s *sent) *fhir.DiagnosticReport {
	t.Helper()
	a, reading := s.assessed(t, protocol.Default())
	words := wording.For("en")
	b := Build(a, reading, Options{Words: words})
	if err := AttachDocuments(b, a, Issues(a, reading, Transaction), words); err != nil {
		t.Fatal(err)
	}
	for _, e := range b.Entry {
		if r, ok := e.Resource.(*fhir.DiagnosticReport); ok {
			return r
		}
	}
	t.Fatal("no DiagnosticReport")
	return nil
}

func TestDocumentsAreAttached(t *testing.T) {
	forms := withDocuments(t, twoVisits()).PresentedForm
	if len(forms) != 3 || !strings.HasPrefix(forms[0].ContentType, "text/plain") || forms[1].ContentType != "application/pdf" || forms[2].ContentType != "image/png" {
		t.Fatalf("%d forms, want text, PDF and PNG", len(forms))
	}
	if text := forms[0]; !bytes.HasPrefix(text.Data, []byte("SHOULDER ROTATION STRENGTH")) || text.Title == "" || text.Language != "en" || text.Creation == "" {
		t.Errorf("form %q in %s of %s: %.40s; want the report", text.Title, text.Language, text.Creation, text.Data)
	}
	if !bytes.HasPrefix(forms[1].Data, []byte("%PDF-")) {
		t.Error("the PDF does not begin like one")
	}
	if _, err := png.Decode(bytes.NewReader(forms[2].Data)); err != nil {
		t.Errorf("the chart: %v", err)
	}
	again := withDocuments(t, twoVisits()).PresentedForm
	for i := range forms {
		if !bytes.Equal(forms[i].Data, again[i].Data) {
			t.Errorf("%s: the same input gives other bytes", forms[i].ContentType)
		}
	}
}

func TestNoChartWithoutAnIndex(t *testing.T) {
	s := newSent()
	s.elevation(firstVisit, "150")
	if forms := withDocuments(t, s).PresentedForm; len(forms) != 2 {
		t.Errorf("%d forms, want text and PDF: there is no index to draw", len(forms))
	}
}
