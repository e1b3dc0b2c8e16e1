// Package report writes an assessment for people: for the clinician, for the
// patient, and as a progress note; each as text for a terminal, as a narrative
// for the record, and for printing. All forms are written from one view, so that
// they say the same.
package report

import (
	"slices"
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/wording"
)

// A view is a report without a form: what is said, in which order.
type view struct {
	title string
	summary
	sections []section
}

// A section has a heading and entries, or a table. An empty one is left out.
type section struct {
	heading string
	entries []entry
	table   *table
	// picture shows what the table holds, where a form can show pictures.
	picture *drawing.Drawing
	// drawn says that the picture stands in place of the table.
	drawn bool
	// legend explains the pictures of the entries, where a form can show them.
	legend string
	// fine is what is there to be looked up, in smaller letters.
	fine bool
}

func (s *section) empty() bool { return s.table == nil && len(s.entries) == 0 }

// An entry is a text, and the points that belong to it. A strong one is a
// result, which the points explain.
type entry struct {
	text   string
	points []string
	strong bool
	// picture stands beside the entry, where a form can show pictures.
	picture *drawing.Drawing
}

// A table has a cell for each column in every row. Notes heads the notes of the
// rows; it is empty if no row has any.
type table struct {
	columns []column
	notes   string
	groups  []group
}

// A column has a head and, for a terminal, a width in characters with the space
// before the next column. Numbers stand at the right.
type column struct {
	head  string
	width int
	right bool
}

// A group is rows under a name.
type group struct {
	name string
	rows []row
}

// A row is its cells, and notes: sentences that must be known to read the
// numbers rightly.
type row struct {
	cells []string
	notes []string
}

// composer writes the parts of a view.
type composer struct {
	*assess.Assessment
	w *wording.Catalogue
}

// A Writer writes one assessment in the forms that an answer carries. What they
// have in common is composed once.
type Writer struct {
	composer
	issues []fault.Issue
	space  []byte // see room

	alarm, table, reasons, measured, history, work, demanded, asked, aims, sent, warnings, citations section

	first summary
	then  []string // when to measure again, and what first
}

// New composes what there is to say of an assessment.
func New(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) *Writer {
	c := composer{a, w}
	first := c.summary()
	return &Writer{
		composer: c, issues: issues,
		first: first, alarm: c.furtherAlarms(&first), table: c.tests(&first, wholePage),
		reasons: c.why(), measured: c.strength(), history: c.course(),
		work: c.exercises(), demanded: c.demands(), asked: c.requests(), aims: c.goals(),
		sent: c.input(issues), warnings: c.cautions(), citations: c.sources(),
		then: w.Next(a.Plan),
	}
}

// Conclusion is the decision, then why, then what next, in lines of plain text.
func (r *Writer) Conclusion() string {
	lines := append(r.alarms(), r.w.Decision(r.Readiness))
	lines = append(lines, r.w.Healing(&r.Readiness.Tissue, r.Readiness.Examine())...)
	lines = append(lines, r.w.Concerns(r.Readiness)...)
	for i := range r.reasons.entries {
		if !r.Readiness.Examine() { // before the examination a step would read as leave to train
			lines = append(lines, strings.Join(r.reasons.entries[i].lines(), " "))
		}
	}
	return strings.Join(append(lines, r.then...), "\n")
}

// lines are the text and the points.
func (e *entry) lines() []string { return append([]string{e.text}, e.points...) }

// page is what a reader needs who has seen such a report before: the summary, the six
// tests, what to do and what to measure. How it was worked out is in full.
func (r *Writer) page() *view { return r.pageAt(r.pageStep(), false) }

// printedPage is the page with the chart.
func (r *Writer) printedPage() *view { return r.pageAt(r.pageStep(), true) }

func (r *Writer) pageStep() pageStep {
	return shortened(changesTabled, func(step pageStep) bool {
		return fitsEverywhere(r.w, pageLines, func(t *textWriter, w *wording.Catalogue) {
			t.view(New(r.Assessment, r.issues, w).pageAt(step, false))
		})
	})
}

func (r *Writer) pageAt(step pageStep, drawn bool) *view {
	table := r.tests(&r.first, step)
	if drawn {
		table = r.drawn(table)
	}
	issues := r.mainIssues()
	if step >= counted {
		issues = section{}
	}
	work, demanded := r.workAndDemands(step)
	return r.view(r.w.Headings.Title, r.alarmsAt(step), table, work, demanded, r.asking(step), issues, r.ownCautions(step))
}

// tests are the six tests, with what the summary had no room for.
func (c composer) tests(s *summary, step pageStep) section {
	table, below := c.sixTests(step), s.below
	if step >= changesTabled {
		told := c.changedSides(alarmsBelow) // as below, where the summary had no room for them
		below = slices.DeleteFunc(slices.Clone(below), func(line string) bool { return slices.Contains(told, line) })
		table.table.withoutIndex()
	}
	table.entries = append(texts(below...), table.entries...)
	return table
}

// full is everything there is to say.
func (r *Writer) full() *view {
	return r.view(r.w.Headings.Title,
		r.alarm, r.table, r.reasons, r.measured, r.history, r.work, r.demanded, r.asked, r.aims, r.sent, r.warnings, r.citations)
}

// findings is the report on the measurements.
func (r *Writer) findings() *view {
	return r.view(r.w.Headings.Title,
		r.alarm, r.table, r.reasons, r.measured, r.history, r.demanded, r.next(r.then), r.sent, r.warnings, r.citations)
}

// proposal is the plan.
func (r *Writer) proposal() *view {
	return r.view(r.w.Headings.PlanTitle, r.alarm, r.work, r.asked, r.aims, r.warnings)
}

func (r *Writer) view(title string, sections ...section) *view {
	return &view{title: title, summary: r.first, sections: sections}
}

// printed is everything there is to say, in the order of a sheet of paper: the six
// tests and what to do stand on its face.
func (r *Writer) printed() *view {
	return r.view(r.w.Headings.Title,
		r.alarm, r.drawn(r.table), r.work, r.demanded, r.asked, r.aims, r.reasons, r.measured, r.history, r.sent, r.warnings, r.citations)
}

// drawn is the table of six with its chart.
func (r *Writer) drawn(table section) section {
	if len(r.Measurements.Symmetries) > 0 {
		table.picture = chart.Of(r.Assessment, r.w)
	}
	return table
}

func (c composer) alarms() []string {
	return c.w.Alarms(c.Readiness, c.Plan)
}

func (c composer) why() section {
	s, examine := section{heading: c.w.Headings.Why}, c.Readiness.Examine()
	if examine {
		s.heading = c.w.Headings.WhyFlag
	}
	for i := range c.Readiness.Trained() {
		r := &c.Readiness.Motions[i]
		s.entries = append(s.entries, entry{text: c.w.OpenStep(r), points: c.w.Reasons(r, c.Episode.Involved, examine), strong: true})
	}
	return s
}

// next is what to do, and then what to measure.
func (c composer) next(then []string) section {
	s := section{heading: c.w.Headings.Next}
	for i := range c.Plan.Exercises {
		s.entries = append(s.entries, entry{text: c.w.Sentence(c.w.Exercise(&c.Plan.Exercises[i]))})
	}
	for _, line := range then {
		s.entries = append(s.entries, entry{text: line})
	}
	return s
}

func (c composer) exercises() section {
	s := section{heading: c.w.Headings.Exercises}
	if len(c.Plan.Exercises) == 0 {
		s.entries = []entry{{text: c.w.NoExercise(c.Plan)}}
		return s
	}
	s.entries = append(s.entries, entry{text: c.w.Sentence(c.w.IrritabilityLine(c.Plan.Irritability))})
	for _, group := range byDose(c.Plan.Exercises) {
		s.entries = append(s.entries, c.dosed(group))
	}
	return s
}

// byDose puts together the exercises with one resistance and dose.
func byDose(exercises []plan.Exercise) [][]*plan.Exercise {
	var groups [][]*plan.Exercise
	for i := range exercises {
		e := &exercises[i]
		at := slices.IndexFunc(groups, func(g []*plan.Exercise) bool { return g[0].Mode == e.Mode && g[0].Dose == e.Dose })
		if at < 0 {
			groups = append(groups, []*plan.Exercise{e})
			continue
		}
		groups[at] = append(groups[at], e)
	}
	return groups
}

// dosed is a dose with the cues of all its exercises, and the exercises with
// their own.
func (c composer) dosed(group []*plan.Exercise) entry {
	forAll := func(cue plan.Cue) bool {
		return !slices.ContainsFunc(group, func(e *plan.Exercise) bool { return !slices.Contains(e.Cues, cue) })
	}
	shared := []string{c.w.Dose(group[0])}
	for _, cue := range group[0].Cues {
		if forAll(cue) {
			shared = append(shared, c.w.Cue(cue))
		}
	}
	dose := entry{text: strings.Join(append(shared, c.w.DoseSource(group[0])), " ")}
	for _, e := range group {
		own := []string{c.w.Sentence(c.w.Exercise(e))}
		if e.Provisional {
			own = append(own, c.w.Provisional())
		}
		for _, cue := range e.Cues {
			if !forAll(cue) {
				own = append(own, c.w.Cue(cue))
			}
		}
		dose.points = append(dose.points, strings.Join(own, " "))
	}
	return dose
}

// requests are what to measure at the next visit, then what at the re-check.
func (c composer) requests() section {
	first, later := entry{text: c.w.AtVisit(c.Plan)}, entry{text: c.w.Recheck(c.Plan)}
	for _, group := range wording.RequestGroups(c.Plan.Requests) {
		at := &later
		if group[0].First {
			at = &first
		}
		at.points = append(at.points, c.w.Sentence(c.w.Requests(group)))
	}
	s := section{heading: c.w.Headings.Measure}
	if len(first.points) > 0 {
		s.entries = append(s.entries, first)
	}
	s.entries = append(s.entries, later)
	return s
}

func (c composer) goals() section {
	s := section{heading: c.w.Headings.Goals}
	for i := range c.Plan.Goals {
		s.entries = append(s.entries, entry{text: c.w.Sentence(c.w.Goal(&c.Plan.Goals[i]))})
	}
	return s
}

// input is what was not used: scores that could not be compared, and what the
// reading of the input found.
func (c composer) input(issues []fault.Issue) section {
	lines := append(c.unpaired(), c.w.Issues(issues)...)
	return section{heading: c.w.Headings.Input, entries: texts(lines...)}
}

func (c composer) unpaired() (lines []string) {
	for i := range c.Measurements.Unpaired {
		if u := &c.Measurements.Unpaired[i]; c.Current(u.Involved.When) {
			lines = append(lines, c.w.Unpaired(u))
		}
	}
	return lines
}

func (c composer) cautions() section {
	s := section{heading: c.w.Headings.Cautions, fine: true}
	for _, k := range c.Plan.Cautions {
		s.entries = append(s.entries, entry{text: c.w.Caution(k)})
	}
	return s
}

// basis is the day that the assessment holds for, and the protocol that it follows.
func (c composer) basis() string {
	return c.w.Sentence(c.w.AsOf(c.AsOf)) + " " + c.w.Sentence(c.w.Protocol(c.Protocol.Ref()))
}

func (c composer) sources() section {
	lines := append([]string{c.basis()}, c.w.Sources(c.Assessment)...)
	return section{heading: c.w.Headings.Sources, fine: true, entries: texts(lines...)}
}
