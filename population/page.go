package population

import (
	"encoding/base64"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/markup"
	"evenreach.example/internal/report/pdf"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// page is a page in progress, as HTML that stands alone, without script and with nothing from
// elsewhere, and as blocks for paper.
type page struct {
	b      []byte
	blocks []typeset.Block
	title  string
	w      *wording.Catalogue
	t      *wording.Population
}

// style is plain enough to be printed in black and white.
const style = `body{font-family:"Liberation Sans",Arial,Helvetica,sans-serif;max-width:62rem;margin:2rem auto;padding:0 1rem;color:#111;background:#fff;line-height:1.45}` +
	`h1{font-size:1.6rem}h2{font-size:1.2rem;margin-top:2rem;border-bottom:1px solid #999}h3{font-size:1rem;margin-bottom:.3rem}` +
	`table{border-collapse:collapse;margin:.5rem 0}th,td{border:1px solid #999;padding:.2rem .6rem;text-align:left;vertical-align:top}td.n{text-align:right}th{background:#eee}` +
	`p.caveat{border-left:4px solid #111;padding:.3rem .8rem;background:#f3f3f3;font-weight:bold}figure{margin:.5rem 0}img{max-width:100%;height:auto}` +
	`@media print{h2,h3,figure,tr{break-inside:avoid;break-after:auto}h2,h3{break-after:avoid}}`

func newPage(w *wording.Catalogue, title string) *page {
	p := &page{title: title, w: w, t: w.Population()}
	p.raw(`<!DOCTYPE html>` + "\n" + `<html lang="` + w.Language() + `"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><title>`)
	p.text(title)
	p.raw(`</title><style>` + style + `</style></head><body><main>`)
	p.element("h1", title)
	return p
}

// html is the page for a browser.
func (p *page) html() []byte {
	p.raw("</main></body></html>\n")
	return p.b
}

// paper is the page for printing, of an ISO day, which is empty if nobody had a visit. The
// error is that of writing a document.
func (p *page) paper(size typeset.Paper, on string) ([]byte, error) {
	format := typeset.Format{Paper: size, Pages: mostPages, Largest: 10, Comfortable: 9}
	day, undated := time.Parse(dayLayout, on)
	foot := func(number, pages int) []string { return []string{p.w.Foot(p.title, day, number, pages)} }
	if undated != nil {
		day = time.Unix(0, 0) // for the document's date: the same bytes each time
		foot = func(number, pages int) []string { return []string{fmt.Sprintf("%s. %d/%d", p.title, number, pages)} }
	}
	return pdf.Write(typeset.Pages(p.blocks, format, foot), pdf.Meta{Title: p.title, Language: p.w.Language(), Created: day})
}

// mostPages is how many pages the report has before its letters are made smaller. Ours: more
// than any export of one kind of repair has needed.
const mostPages = 12

func (p *page) raw(s string) { p.b = append(p.b, s...) }

func (p *page) text(s string) { p.b = markup.AppendText(p.b, s) }

func (p *page) element(name, text string) {
	p.raw("<" + name + ">")
	p.text(text)
	p.raw("</" + name + ">\n")
	p.blocks = append(p.blocks, blockOf(name, text))
}

// blockOf is an element of a page on paper.
func blockOf(name, text string) typeset.Block {
	switch name {
	case "h1":
		return typeset.Title(text)
	case "h2", "h3":
		return typeset.Heading(text)
	}
	return typeset.Text{Text: text}
}

func (p *page) caveat(text string) {
	p.blocks = append(p.blocks, typeset.Frame(text))
	p.raw(`<p class="caveat">`)
	p.text(text)
	p.raw("</p>\n")
}

func (p *page) fill(text string, values ...string) string { return p.w.Fill(text, values...) }

// day is an ISO day as the language writes it.
func (p *page) day(iso string) string {
	day, err := time.Parse(dayLayout, iso)
	if err != nil {
		return iso
	}
	return p.w.Date(day)
}

// picture shows a drawing as an image, so that several in one page do not share names.
func (p *page) picture(d *drawing.Drawing) {
	p.blocks = append(p.blocks, typeset.Picture{Drawing: d})
	p.raw(`<figure><img width="` + strconv.Itoa(int(d.Width)) + `" height="` + strconv.Itoa(int(d.Height)) + `" alt="`)
	p.text(d.Title + ". " + d.Description)
	p.raw(`" src="data:image/svg+xml;base64,` + base64.StdEncoding.EncodeToString(d.SVG()) + `"></figure>` + "\n")
}

// together writes what stays on one page of paper.
func (p *page) together(write func()) {
	from := len(p.blocks)
	write()
	group := typeset.Together(slices.Clone(p.blocks[from:]))
	p.blocks = append(p.blocks[:from], group)
}

// table writes a table; cells that are numbers are to the right.
func (p *page) table(heads []string, rows [][]string) {
	if len(rows) == 0 {
		p.element("p", p.t.NothingHere)
		return
	}
	p.blocks = append(p.blocks, tableBlock(heads, rows))
	p.raw("<table><thead><tr>")
	for _, head := range heads {
		p.raw(`<th scope="col">`)
		p.text(head)
		p.raw("</th>")
	}
	p.raw("</tr></thead><tbody>\n")
	for _, row := range rows {
		p.raw("<tr>")
		for _, cell := range row {
			p.raw("<td")
			if isNumber(cell) {
				p.raw(` class="n"`)
			}
			p.raw(">")
			p.text(cell)
			p.raw("</td>")
		}
		p.raw("</tr>\n")
	}
	p.raw("</tbody></table>\n")
}

// tableBlock is a table on paper. A column is to the right if all its cells are numbers.
func tableBlock(heads []string, rows [][]string) typeset.Table {
	b, group := typeset.Table{}, typeset.Group{}
	for i, head := range heads {
		right := !slices.ContainsFunc(rows, func(row []string) bool { return !isNumber(row[i]) })
		b.Columns = append(b.Columns, typeset.Column{Head: head, Right: right})
	}
	for _, row := range rows {
		group.Rows = append(group.Rows, typeset.Row{Cells: row})
	}
	b.Groups = []typeset.Group{group}
	return b
}

func isNumber(s string) bool { return s != "" && strings.Trim(s, "0123456789.,") == "" }

// cells writes a table of numbers of patients.
func (p *page) cells(head string, cells map[string]Cell, order []string, name func(string) string) {
	var rows [][]string
	for _, key := range order {
		if cell, ok := cells[key]; ok {
			rows = append(rows, []string{name(key), p.cell(cell)})
		}
	}
	p.table([]string{head, p.t.Count}, rows)
}

// cell is a number of patients, or the word for a small one.
func (p *page) cell(c Cell) string {
	if c.Hidden {
		return p.t.Few
	}
	return strconv.Itoa(c.Patients)
}

// codesOf are the codes of an enumeration, in its order.
func codesOf[T interface{ String() string }](values []T) (codes []string) {
	for _, v := range values {
		codes = append(codes, v.String())
	}
	return codes
}

// named finds the words for the code of an enumeration.
func named[T interface{ String() string }](values []T, word func(T) string) func(string) string {
	return func(code string) string {
		for _, v := range values {
			if v.String() == code {
				return wording.Capital(word(v))
			}
		}
		return code
	}
}

// test names a rotation in a position.
func (p *page) test(motion, position string) string {
	return named(shoulder.Motions[:], p.w.Motion)(motion) + ", " +
		named(shoulder.Positions[:], p.w.PositionShort)(position)
}

// reportPage is the page about all patients together. It names nobody.
func reportPage(s *Summary, w *wording.Catalogue) *page {
	p := newPage(w, w.Population().Title)
	p.element("p", p.fill(p.t.AsOf, p.day(s.On)))
	p.element("p", p.t.About)
	p.element("p", p.t.NoRanking)
	p.element("p", p.t.SmallCells)
	p.read(s)
	p.stand(s)
	p.curves(s)
	p.ready(s)
	p.precision(s)
	p.devices(s)
	p.element("h2", p.t.HowWorkedOut)
	p.element("p", p.t.HowPercentile)
	p.element("p", p.t.HowSurvival)
	p.element("p", p.fill(p.t.HowProtocols, strings.Join(s.Software, ", "), strings.Join(s.Protocols, ", ")))
	return p
}

func (p *page) read(s *Summary) {
	n := strconv.Itoa
	p.element("h2", p.t.Read)
	p.element("p", p.fill(p.t.Lines, n(s.Lines.Read), n(s.Lines.Used), n(total(s.Lines.Elsewhere)), n(total(s.Lines.Rejected))))
	patients := s.Patients.cells()
	p.element("p", p.fill(p.t.Patients, p.cell(patients[string(Assessed)]), p.cell(patients[string(Refused)]), p.cell(patients[string(NoShoulder)])))
	if unread := s.Lines.Rejected["syntax"] + s.Lines.Rejected["input-incomplete"]; unread > 0 {
		p.element("p", p.fill(p.t.Unread, n(unread)))
		p.element("p", p.fill(p.t.Incomplete, p.cell(patients["incomplete"])))
	}
	if len(s.Refusals) > 0 {
		p.cells(p.t.Reason, s.Refusals, slices.Sorted(maps.Keys(s.Refusals)), func(reason string) string { return reason })
	}
}

func (p *page) stand(s *Summary) {
	p.element("h2", p.t.Status)
	p.cells(p.t.Status, s.Status, codesOf(readiness.Overalls[:]), named(readiness.Overalls[:], p.w.Overall))
	p.element("h3", p.t.Flags)
	p.cells(p.t.Flags, s.Flags, codesOf(redflag.Codes[:]), named(redflag.Codes[:], p.w.FlagName))
	p.element("h3", p.t.Rechecks)
	words := map[string]string{"due": p.t.Due, "overdue": p.t.Overdue, "later": p.t.Later, "not-followed": p.t.NotFollowed}
	p.cells(p.t.Rechecks, s.Rechecks, []string{"later", "due", "overdue", "not-followed"}, func(code string) string { return words[code] })
	p.element("h3", p.t.Progress)
	p.element("p", p.t.ProgressNote)
	words = map[string]string{"shown": p.t.Shown, "not-shown": p.t.NotShown, "not-followed-long-enough": p.t.TooShort}
	p.cells(p.t.Progress, s.Progress, []string{"shown", "not-shown", "not-followed-long-enough"}, func(code string) string { return words[code] })
}

// since names what the weeks of a group are counted from.
func (p *page) since(g group) string {
	if g.Since == sinceFirst {
		return p.t.SinceFirst
	}
	var kinds []shoulder.RepairKind
	for kind := shoulder.RepairUnstated; kind <= shoulder.RepairPossible; kind++ {
		kinds = append(kinds, kind)
	}
	return p.fill(p.t.SinceRepair, named(kinds, p.w.RepairKind)(g.Repair))
}

func (p *page) curves(s *Summary) {
	p.element("h2", p.t.Curves)
	p.caveat(p.t.CurvesCaveat)
	p.element("p", p.t.CurvesKey)
	if len(s.Curves) == 0 {
		p.element("p", p.t.NothingHere)
	}
	for from := 0; from < len(s.Curves); {
		to := from
		for to < len(s.Curves) && s.Curves[to].group == s.Curves[from].group {
			to++
		}
		p.together(func() {
			p.element("h3", p.since(s.Curves[from].group))
			p.picture(p.curvesPicture(s.Curves[from:to]))
		})
		from = to
	}
}

func (p *page) ready(s *Summary) {
	p.element("h2", p.t.Ready)
	p.caveat(p.t.ReadyCaveat)
	p.element("p", p.t.ReadyKey)
	if len(s.Ready) == 0 {
		p.element("p", p.t.NothingHere)
	}
	for i := range s.Ready {
		p.together(func() { p.readyOf(&s.Ready[i]) })
	}
}

func (p *page) readyOf(r *TimeToReady) {
	p.element("h3", p.since(r.group))
	p.element("p", p.fill(p.t.SeenReady, p.cell(r.Seen), strconv.Itoa(r.Patients)))
	if len(r.Weeks) == 0 {
		return
	}
	if r.Median != nil {
		p.element("p", p.fill(p.t.Median, p.w.Decimal(*r.Median, 0)))
	} else {
		p.element("p", p.t.NoMedian)
	}
	p.picture(p.readyPicture(r))
}

func (p *page) precision(s *Summary) {
	p.element("h2", p.t.Error)
	p.element("p", p.t.ErrorNote)
	var rows [][]string
	for i := range s.Error {
		e := &s.Error[i]
		side := p.t.Comparison
		if e.Involved {
			side = p.t.Involved
		}
		rows = append(rows, []string{p.test(e.Motion, e.Position), side, strconv.Itoa(e.Pairs), p.w.Decimal(e.Percent, 1),
			p.w.Decimal(e.Low, 1) + " – " + p.w.Decimal(e.High, 1)})
	}
	p.table([]string{"", "", p.t.Pairs, p.t.Deviation, p.t.Limits}, rows)
}

func (p *page) devices(s *Summary) {
	p.element("h2", p.t.Devices)
	p.element("p", p.t.DevicesNote)
	if len(s.Devices) == 0 {
		p.element("p", p.t.NothingHere)
	}
	for i := range s.Devices {
		p.together(func() {
			p.element("h3", p.fill(p.t.Device, s.Devices[i].Device))
			p.picture(p.devicePicture(&s.Devices[i]))
		})
	}
}

// clinicPage is the lists of patients, for the clinic alone.
func clinicPage(l *Lists, w *wording.Catalogue) *page {
	p := newPage(w, w.Population().Clinic)
	p.caveat(p.t.ForClinic)
	p.element("p", p.fill(p.t.AsOf, p.day(l.On)))
	p.list(p.t.Examine, l.Examine, p.what(named(redflag.Codes[:], w.FlagName)))
	window := column{[]string{p.t.From, p.t.To}, func(e *Listed) []string { return []string{p.day(e.From), p.day(e.To)} }}
	p.list(p.t.Overdue, l.Overdue, window)
	p.list(p.t.Due, l.Due, window)
	p.list(p.t.NoProgress, l.NoProgress, column{[]string{p.t.Likely}, func(e *Listed) []string { return []string{p.w.Decimal(100**e.Likely, 0) + " %"} }})
	p.element("p", p.t.ProbabilityHint)
	same := func(text string) string { return text }
	p.list(p.t.Missing, l.Missing, p.what(same))
	p.list(p.t.Refused, l.Refused, p.what(same))
	return p
}

// column is one or more columns of a list.
type column struct {
	heads []string
	cells func(*Listed) []string
}

func (p *page) what(name func(string) string) column {
	return column{[]string{p.t.What}, func(e *Listed) []string {
		words := make([]string, len(e.What))
		for i, code := range e.What {
			words[i] = name(code)
		}
		return []string{strings.Join(words, "; ")}
	}}
}

func (p *page) list(title string, list []Listed, c column) {
	p.element("h2", title+" ("+strconv.Itoa(len(list))+")")
	rows := make([][]string, len(list))
	for i := range list {
		last := ""
		if list[i].Last != "" {
			last = p.day(list[i].Last)
		}
		rows[i] = append([]string{list[i].Patient, last}, c.cells(&list[i])...)
	}
	p.table(append([]string{p.t.Patient, p.t.LastVisit}, c.heads...), rows)
}
