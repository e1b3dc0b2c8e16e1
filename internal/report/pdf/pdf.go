// Package pdf writes pictures of pages as a document: with embedded letters,
// text that can be searched and copied, title and language, and no date but the
// one it is given, so that the same pages give the same bytes.
package pdf

import (
	"bytes"
	"crypto/fips140"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
)

// Meta describes a document.
type Meta struct {
	Title    string
	Language string    // BCP 47
	Created  time.Time // the date that the content holds for
}

// producer is what wrote the document.
const producer = "Evenreach"

// family is the name of the typeface within the document.
const family = "sans"

// Write writes the pages, each in its own size. The error is the library's.
func Write(pages []*drawing.Drawing, m Meta) ([]byte, error) {
	f := fpdf.New("P", "pt", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.SetCatalogSort(true)
	f.SetCreationDate(m.Created.UTC())
	f.SetModificationDate(m.Created.UTC())
	f.SetProducer(producer, true)
	f.SetTitle(typeface.Printable(m.Title), true)
	f.SetLang(language(m.Language))
	f.SetXmpMetadata(metadata(m))
	addFonts(f)
	p := painter{f}
	for _, page := range pages {
		f.AddPageFormat("P", fpdf.SizeType{Wd: page.Width, Ht: page.Height})
		for _, s := range page.Shapes {
			p.shape(s)
		}
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("write a PDF: %w", err)
	}
	return out.Bytes(), nil
}

// addFonts embeds the typeface. The library tells fonts apart by a SHA-1, which secures
// nothing, so that the strict FIPS 140-3 mode need not refuse it.
func addFonts(f *fpdf.Fpdf) {
	fips140.WithoutEnforcement(func() {
		f.AddUTF8FontFromBytes(family, "", typeface.Regular().TTF)
		f.AddUTF8FontFromBytes(family, "B", typeface.Bold().TTF)
	})
}

// language keeps what a language tag may hold, because the library writes it
// as it is.
//
// Source: RFC 5646, section 2.1.
func language(tag string) string {
	const allowed = "-0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
	if strings.Trim(tag, allowed) != "" {
		return ""
	}
	return tag
}

// painter paints shapes on the present page.
type painter struct{ f *fpdf.Fpdf }

func (p painter) shape(s drawing.Shape) {
	switch s := s.(type) {
	case drawing.Area:
		p.f.SetFillColor(rgb(s.Fill))
		p.path(s.Corners)
		p.f.ClosePath()
		p.f.DrawPath("F")
	case drawing.Line:
		p.line(s)
	case drawing.Dot:
		p.f.SetFillColor(rgb(s.Fill))
		p.f.Circle(s.Centre.X, s.Centre.Y, s.Radius, "F")
	case drawing.Label:
		p.label(s)
	}
}

func rgb(c drawing.Colour) (r, g, b int) { return int(c.R), int(c.G), int(c.B) }

func (p painter) path(points []drawing.Point) {
	for i, point := range points {
		if i == 0 {
			p.f.MoveTo(point.X, point.Y)
			continue
		}
		p.f.LineTo(point.X, point.Y)
	}
}

func (p painter) line(l drawing.Line) {
	if len(l.Points) < 2 {
		return
	}
	p.f.SetDrawColor(rgb(l.Colour))
	p.f.SetLineWidth(l.Width)
	p.f.SetLineJoinStyle("round")
	var dash []float64
	if l.Dash != (drawing.Dash{}) {
		dash = []float64{l.Dash.Stroke, l.Dash.Gap}
	}
	p.f.SetDashPattern(dash, 0)
	p.path(l.Points)
	p.f.DrawPath("D")
}

func (p painter) label(l drawing.Label) {
	text := typeface.Printable(l.Text)
	if text == "" {
		return
	}
	weight := ""
	if l.Bold {
		weight = "B"
	}
	p.f.SetFont(family, weight, l.Size)
	p.f.SetTextColor(rgb(l.Colour))
	p.f.Text(l.Left(), l.At.Y, text)
}
