package pdf

import (
	"bytes"
	"encoding/xml"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/pdf/pdftest"
)

var created = time.Date(2026, 3, 30, 10, 0, 0, 0, time.FixedZone("", 2*60*60))

// page has text of several alphabets, what has to be escaped, and each shape.
func page(texts ...string) *drawing.Drawing {
	d := &drawing.Drawing{Width: 300, Height: 200}
	d.Add(
		drawing.Area{Corners: []drawing.Point{{X: 1, Y: 1}, {X: 50, Y: 1}, {X: 50, Y: 50}}, Fill: drawing.Colour{R: 200}},
		drawing.Dot{Centre: drawing.Point{X: 100, Y: 20}, Radius: 5},
		drawing.Line{Points: []drawing.Point{{X: 1, Y: 60}, {X: 50, Y: 60}}, Width: 1, Dash: drawing.Dash{Stroke: 3, Gap: 2}},
		drawing.Line{}, drawing.Line{Points: []drawing.Point{{X: 1, Y: 1}}},
	)
	for i, text := range texts {
		d.Add(drawing.Label{At: drawing.Point{X: 10, Y: float64(80 + 12*i)}, Text: text, Size: 10, Bold: i%2 == 1})
	}
	return d
}

func written(t *testing.T, m Meta, pages ...*drawing.Drawing) []byte {
	t.Helper()
	b, err := Write(pages, m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestTextReadsBack(t *testing.T) {
	first := []string{"Plain words.", "90° – äöüß ≥ Ω Ж", `(brackets) \ and \n`, strings.Repeat("long ", 100)}
	second := []string{"漢 \xff\u202Eend"}
	pages, err := pdftest.Pages(written(t, Meta{Title: "T", Language: "en", Created: created}, page(first...), page(second...), page()))
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{first, {"□ □end"}}
	if !slices.EqualFunc(pages, want, slices.Equal) {
		t.Errorf("got  %q\nwant %q", pages, want)
	}
}

func TestMetadata(t *testing.T) {
	title := `Schulter (rechts) <&> "Prüfung"`
	b := written(t, Meta{Title: title, Language: "de-CH", Created: created}, page("text"))
	for name, want := range map[string]string{
		"Title": title, "Lang": "de-CH", "Producer": "Evenreach", "CreationDate": "D:20260330080000", "ModDate": "D:20260330080000",
	} {
		if got := pdftest.Info(b, name); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	start, end := bytes.Index(b, []byte("<x:xmpmeta")), bytes.Index(b, []byte("</x:xmpmeta>"))
	if start < 0 || end < 0 {
		t.Fatal("no metadata")
	}
	var m struct {
		Title    string `xml:"RDF>Description>title>Alt>li"`
		Language string `xml:"RDF>Description>language>Bag>li"`
		Created  string `xml:"RDF>Description>CreateDate"`
	}
	if err := xml.Unmarshal(b[start:end+len("</x:xmpmeta>")], &m); err != nil {
		t.Fatal(err)
	}
	if m.Title != title || m.Language != "de-CH" || m.Created != "2026-03-30T08:00:00Z" {
		t.Errorf("metadata %+v", m)
	}
}

// The library writes the language as it is given.
func TestLanguageCannotBreakOut(t *testing.T) {
	b := written(t, Meta{Language: "en) /OpenAction (x", Created: created}, page("text"))
	if got := pdftest.Info(b, "Lang"); got != "" {
		t.Errorf("language %q is written", got)
	}
}

func TestFontsAreEmbedded(t *testing.T) {
	b := written(t, Meta{Created: created}, page("regular", "bold"))
	if n := bytes.Count(b, []byte("/FontFile2")); n != 2 {
		t.Errorf("%d fonts are embedded, want regular and bold", n)
	}
	if bytes.Contains(b, []byte("/BaseFont /Helvetica")) {
		t.Error("a font is left to the reader's machine")
	}
}

func TestSamePagesSameBytes(t *testing.T) {
	again := func() []byte {
		return written(t, Meta{Title: "T", Language: "en", Created: created}, page("a", "b"), page("ä"))
	}
	first := again()
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			if !bytes.Equal(first, again()) {
				t.Error("other bytes")
			}
		})
	}
	group.Wait()
}

// Nobody's text can stop the writing.
func FuzzWrite(f *testing.F) {
	for _, seed := range []string{"plain", "(\\", "漢\xff\u202E", "\U0001F600", "\x00\r\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Write([]*drawing.Drawing{page(text, text)}, Meta{Title: text, Language: text, Created: created})
		if err != nil || !bytes.HasPrefix(b, []byte("%PDF-")) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
