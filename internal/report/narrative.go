package report

import (
	"strconv"
	"strings"

	"evenreach.example/internal/report/markup"
)

// Narrative is the XHTML div of the DiagnosticReport: the decision first, then
// why, the measurements, what next, what is missing, cautions and sources. It
// keeps to the elements that FHIR allows and can be shown alone.
//
// Source: FHIR R4 4.0.1, Narrative.
func (r *Writer) Narrative() string { return r.div(r.findings()) }

// PlanNarrative is the XHTML div of the CarePlan: the decision, why, exercises,
// what to measure, goals and cautions.
func (r *Writer) PlanNarrative() string { return r.div(r.proposal()) }

// usualSize is a little more than a form of the report usually needs, in bytes.
const usualSize = 16 << 10

// div writes a narrative where the form before was written.
func (r *Writer) div(v *view) string {
	r.space = v.appendDiv(r.room(), r.w.Language())
	return string(r.space)
}

// room is for writing a form, whose length is not known before.
func (r *Writer) room() []byte {
	if r.space == nil {
		r.space = make([]byte, 0, usualSize)
	}
	return r.space[:0]
}

func (v *view) appendDiv(out []byte, language string) []byte {
	x := xhtml{out}
	x.raw(`<div xmlns="http://www.w3.org/1999/xhtml" lang="`)
	x.text(language)
	x.raw(`" xml:lang="`)
	x.text(language)
	x.raw(`">`)
	x.element("h2", v.title)
	x.element("p", strings.Join(v.who, " "))
	for _, alarm := range v.alarms {
		x.raw("<p><b>")
		x.text(alarm)
		x.raw("</b></p>")
	}
	x.raw("<p><b>")
	x.text(v.decision)
	x.raw("</b></p>")
	for _, line := range v.lines {
		x.element("p", line)
	}
	for i := range v.sections {
		x.section(&v.sections[i])
	}
	x.raw("</div>")
	return x.b
}

// xhtml appends markup that is ours and text that is escaped.
type xhtml struct{ b []byte }

func (x *xhtml) raw(s string) { x.b = append(x.b, s...) }

func (x *xhtml) text(s string) { x.b = markup.AppendText(x.b, s) }

func (x *xhtml) element(tag, text string) {
	x.b = append(append(append(x.b, '<'), tag...), '>')
	x.text(text)
	x.b = append(append(append(x.b, "</"...), tag...), '>')
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
	x.raw("<ul>")
	for _, e := range s.entries {
		x.raw("<li>")
		if e.strong {
			x.element("b", e.text)
		} else {
			x.text(e.text)
		}
		for _, point := range e.points {
			x.raw("<br/>")
			x.text(point)
		}
		x.raw("</li>")
	}
	x.raw("</ul>")
}

func (x *xhtml) table(t *table) {
	x.raw("<table><thead><tr>")
	for _, c := range t.columns {
		x.columnHead(c.head)
	}
	span := len(t.columns)
	if t.notes != "" {
		x.columnHead(t.notes)
		span++
	}
	x.raw("</tr></thead>")
	for _, g := range t.groups {
		x.raw("<tbody>")
		if g.name != "" {
			x.raw(`<tr><th scope="rowgroup" colspan="`)
			x.text(strconv.Itoa(span))
			x.raw(`">`)
			x.text(g.name)
			x.raw("</th></tr>")
		}
		for _, r := range g.rows {
			x.row(r, t.notes != "")
		}
		x.raw("</tbody>")
	}
	x.raw("</table>")
}

func (x *xhtml) columnHead(text string) {
	x.raw(`<th scope="col">`)
	x.text(text)
	x.raw("</th>")
}

func (x *xhtml) row(r row, noted bool) {
	x.raw("<tr>")
	for i, cell := range r.cells {
		if i == 0 {
			x.raw(`<th scope="row">`)
			x.text(cell)
			x.raw("</th>")
			continue
		}
		x.element("td", cell)
	}
	if noted {
		x.element("td", strings.Join(r.notes, " "))
	}
	x.raw("</tr>")
}
