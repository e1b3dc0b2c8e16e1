package report

import (
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/wording"
)

// Narrative is the XHTML div of the DiagnosticReport: the decision first, then
// why, the measurements, what next, what is missing, cautions and sources. It
// keeps to the elements that FHIR allows and can be shown alone.
//
// Source: FHIR R4 4.0.1, Narrative.
func Narrative(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return findings(a, issues, w).div(w.Language())
}

// PlanNarrative is the XHTML div of the CarePlan: the decision, why, exercises,
// what to measure, goals and cautions.
func PlanNarrative(a *assess.Assessment, w *wording.Catalogue) string {
	return proposal(a, w).div(w.Language())
}

// usualSize is a little more than a narrative usually needs, in bytes.
const usualSize = 16 << 10

func (v *view) div(language string) string {
	x := xhtml{make([]byte, 0, usualSize)}
	x.markup(`<div xmlns="http://www.w3.org/1999/xhtml" lang="`)
	x.text(language)
	x.markup(`" xml:lang="`)
	x.text(language)
	x.markup(`">`)
	x.element("h2", v.title)
	x.markup("<p><b>")
	x.text(v.decision)
	x.markup("</b></p>")
	x.element("p", strings.Join(v.facts, " "))
	for i := range v.sections {
		x.section(&v.sections[i])
	}
	x.markup("</div>")
	return string(x.b)
}

// xhtml appends markup that is ours and text that is escaped.
type xhtml struct{ b []byte }

func (x *xhtml) markup(s string) { x.b = append(x.b, s...) }

func (x *xhtml) text(s string) { x.b = appendEscaped(x.b, s) }

func (x *xhtml) element(tag, text string) {
	x.markup("<" + tag + ">")
	x.text(text)
	x.markup("</" + tag + ">")
}

func (x *xhtml) section(s *section) {
	if s.empty() {
		return
	}
	x.element("h3", s.heading)
	if s.table != nil {
		x.table(s.table)
	}
	if len(s.entries) == 0 {
		return
	}
	x.markup("<ul>")
	for _, e := range s.entries {
		x.markup("<li>")
		x.text(e.text)
		for _, point := range e.points {
			x.markup("<br/>")
			x.text(point)
		}
		x.markup("</li>")
	}
	x.markup("</ul>")
}

func (x *xhtml) table(t *table) {
	x.markup("<table><thead><tr>")
	for _, head := range t.head {
		x.markup(`<th scope="col">`)
		x.text(head)
		x.markup("</th>")
	}
	x.markup("</tr></thead>")
	for _, g := range t.groups {
		x.markup(`<tbody><tr><th scope="rowgroup" colspan="7">`)
		x.text(g.name)
		x.markup("</th></tr>")
		for _, r := range g.rows {
			x.row(r)
		}
		x.markup("</tbody>")
	}
	x.markup("</table>")
}

func (x *xhtml) row(r row) {
	x.markup("<tr>")
	for i, cell := range r.cells {
		if i == 0 {
			x.markup(`<th scope="row">`)
			x.text(cell)
			x.markup("</th>")
			continue
		}
		x.element("td", cell)
	}
	x.element("td", strings.Join(r.notes, " "))
	x.markup("</tr>")
}
