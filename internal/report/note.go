package report

import (
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// ProgressNote tells the payer or the surgeon how the shoulder came along, as
// text for a terminal: the decision, each measure at first, at best and now with what
// its change comes to, the visits, and what remains until when; one page.
func ProgressNote(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	return progress(a, issues, w).text()
}

// ProgressNotePDF is the same for printing. The error is that of writing a
// document.
func ProgressNotePDF(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	v := progress(a, issues, w)
	return v.pdf(v.inColumns(), onePage(p), a, w)
}

// noteLines is how many lines of a terminal the note has: a page.
const noteLines = 62

// noteStep is what the note leaves to the full report, so that it keeps to its page.
type noteStep uint8

const (
	wholeNote    noteStep = iota
	noteJoined            // cautions and remaining goals stand in paragraphs
	noteOfVisit           // range and pain of earlier visits
	noteActive            // passive range, and pain in a single position
	noteAlarms            // the numbers of the alarms that the summary only counts
	noteStrength          // the indices, which rest on the strengths
)

// progress is one page for who pays or operates: how everything was worked out is in the
// full report.
func progress(a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) *view {
	r := New(a, issues, w)
	return r.noteAt(shortened(noteStrength, func(step noteStep) bool {
		return fitsEverywhere(w, noteLines, func(t *textWriter, w *wording.Catalogue) {
			t.view(New(a, issues, w).noteAt(step))
		})
	}))
}

func (r *Writer) noteAt(step noteStep) *view {
	alarms := r.alarm
	if step >= noteAlarms {
		alarms = r.alarmsAt(alarmsNamed)
	}
	return r.view(r.w.Headings.NoteTitle, alarms, r.progress(step), r.demandsInBrief(step >= noteJoined), r.remains(step), r.noteCautions(step), r.signature())
}

// visits are the days on which the shoulder was tested.
func (c composer) visits() []entry {
	days := make([]time.Time, len(c.Episode.Sessions))
	for i := range days {
		days[i] = c.Episode.Sessions[i].When
	}
	if len(days) == 0 {
		return nil
	}
	return texts(c.w.Visits(days))
}

// remains is what is still to be reached, and until when.
func (c composer) remains(step noteStep) section {
	s := section{heading: c.w.Headings.Remains}
	for i := range c.Plan.Goals {
		if g := &c.Plan.Goals[i]; g.Achievement != plan.Achieved {
			s.entries = append(s.entries, entry{text: c.w.GoalShort(g)})
		}
	}
	if step >= noteJoined && len(s.entries) > 1 {
		s.entries = texts(joinedTexts(s.entries))
	}
	return s
}

// noteCautions are those of this patient, without which the numbers are misread.
func (c composer) noteCautions(step noteStep) section {
	s := c.patientsCautions(func(k plan.Caution) bool { return step >= noteStrength && k == plan.ManualTestLimits })
	s.entries = append(s.entries, texts(c.w.NoteCaution())...)
	if step >= noteJoined {
		s.entries = texts(joinedTexts(s.entries))
	}
	return s
}

func (c composer) signature() section {
	return section{heading: c.w.Headings.Signature, entries: texts(c.w.SignHere())}
}

// progress is the table of what was measured at first, at best and now.
func (c composer) progress(step noteStep) section {
	h := &c.w.Headings
	t := &table{notes: h.Notes, columns: []column{
		{h.Measured, 24, false}, {h.Since, 11, false}, {h.First, 7, true}, {h.Best, 7, true}, {h.Now, 7, true}, {h.Difference, 9, true},
		{h.Result, 15, false},
	}}
	for i := range c.Readiness.Motions {
		r := &c.Readiness.Motions[i]
		g := group{name: wording.Capital(c.w.Motion(r.Motion))}
		for k := range r.Positions {
			rows := c.progressAt(r.Motion, &r.Positions[k])
			if step >= noteStrength {
				rows = rows[:1] // the strength
			}
			g.rows = append(g.rows, rows...)
		}
		t.groups = append(t.groups, g)
	}
	rows, left := c.otherProgress(step)
	if len(rows) > 0 {
		t.groups = append(t.groups, group{name: h.RangePain, rows: rows})
	}
	s := section{heading: h.Progress, table: t, entries: c.visits()}
	if left > 0 {
		s.entries = append(s.entries, texts(c.w.MoreIssues(left))...)
	}
	return s
}

// otherProgress is range, pain and outcome measures, and how many rows of range and pain
// are left out.
func (c composer) otherProgress(step noteStep) (rows []row, left int) {
	add := func(r row, when time.Time, secondary bool) {
		old := measure.DaysBetween(when, tested(c.Assessment)) != 0
		if step >= noteOfVisit && old || step >= noteActive && secondary {
			left++
			return
		}
		rows = append(rows, r)
	}
	for _, r := range c.Measurements.LatestRanges() {
		if r.Side == c.Episode.Involved {
			add(c.rangeRow(r), r.When, !r.Active)
		}
	}
	for _, p := range c.Measurements.LatestPains() {
		add(c.painRow(p), p.When, p.Position != shoulder.PositionUnstated)
	}
	for _, p := range c.Measurements.LatestComparisonPains() {
		name := c.w.PainElsewhereIn(p, c.Episode.Involved.Other())
		add(row{cells: []string{name, c.w.Date(p.When), none, none, c.w.PainFigure(p), none, none}}, p.When, false)
	}
	return append(rows, c.outcomeProgress()...), left
}

// progressAt is strength of the involved side and index in one position.
func (c composer) progressAt(r shoulder.Motion, p *readiness.PositionReadiness) []row {
	score := c.Measurements.LatestScore(c.Episode.Involved, r, p.Position)
	if score == nil {
		return []row{{cells: []string{c.w.PositionShort(p.Position), none, none, none, none, none, c.w.NotMeasured()}}}
	}
	unit := score.Dimension.Unit()
	if score.Doubts.Block() {
		best := figureOf(c.Measurements.BestScore(score), c.w.StrengthFigure)
		rows := []row{c.doubtedRow(c.w.StrengthIn(p.Position, score.Dimension), c.w.StrengthFigure(score), best, score.When)}
		return append(rows, c.indexProgress(p)...)
	}
	rows := []row{c.progressRow(c.w.StrengthIn(p.Position, score.Dimension), c.w.StrengthFigure(score),
		figureOf(c.Measurements.BestScore(score), c.w.StrengthFigure), score.When,
		c.sinceFirst(func(k *measure.Change) bool {
			return k.Subject == measure.StrengthChange && k.Setting == score.Setting && k.Side == score.Side && k.Unit == unit
		}))}
	return append(rows, c.indexProgress(p)...)
}

// indexProgress is the index in one position, nothing if there is none.
func (c composer) indexProgress(p *readiness.PositionReadiness) []row {
	index := shownIndex(p)
	if index == nil {
		return nil
	}
	shown := func(s *measure.Symmetry) string { return c.w.Index(s.Index, c.thresholds()...) }
	if index.Doubtful() {
		return []row{c.doubtedRow(c.w.IndexIn(p.Position), shown(index), figureOf(c.Measurements.BestIndex(index), shown), index.When)}
	}
	return []row{c.progressRow(c.w.IndexIn(p.Position), shown(index), figureOf(c.Measurements.BestIndex(index), shown), index.When,
		c.sinceFirst(func(k *measure.Change) bool {
			return k.Subject == measure.SymmetryChange && k.Setting == index.Setting && k.ToWhen.Equal(index.When)
		}))}
}

// doubtedRow is a measure whose latest value is in doubt: it is the first of nothing, and
// shows no change.
func (c composer) doubtedRow(name, now, best string, when time.Time) row {
	return row{cells: []string{name, c.w.Date(when), none, best, now, none, c.w.InDoubt()}}
}

// figureOf writes a result, and a dash for none.
func figureOf[Result any](r *Result, write func(*Result) string) string {
	if r == nil {
		return none
	}
	return write(r)
}

func (c composer) rangeRow(r *measure.RangeScore) row {
	return c.progressRow(c.w.RangeIn(r), c.w.RangeFigure(r), c.w.RangeFigure(c.Measurements.BestRange(r)), r.When,
		c.sinceFirst(func(k *measure.Change) bool {
			return k.Subject == measure.RangeChange && k.Movement == r.Movement && k.Active == r.Active &&
				k.Position == r.Position && k.Side == r.Side
		}))
}

func (c composer) painRow(p *measure.PainScore) row {
	return c.progressRow(c.w.PainIn(p), c.w.PainFigure(p), c.w.PainFigure(c.Measurements.LeastPain(p)), p.When,
		c.sinceFirst(func(k *measure.Change) bool {
			return k.Subject == measure.PainChange && k.Context == p.Context && k.Position == p.Position
		}))
}

func (c composer) outcomeProgress() (rows []row) {
	for _, s := range c.Measurements.LatestOutcomes() {
		rows = append(rows, c.progressRow(c.w.OutcomeIn(s), c.w.OutcomeFigure(s), c.w.OutcomeFigure(c.Measurements.BestOutcome(s)), s.When,
			c.sinceFirst(func(k *measure.Change) bool { return k.Outcome == s.Measure })))
	}
	return rows
}

// sinceFirst is the change since the first measurement, nil if there is only
// one.
func (c composer) sinceFirst(about func(*measure.Change) bool) *measure.Change {
	for i := range c.Measurements.Changes {
		if k := &c.Measurements.Changes[i]; k.Against == measure.Baseline && about(k) {
			return k
		}
	}
	return nil
}

// progressRow is a measure with its change, which may be nil.
func (c composer) progressRow(name, now, best string, when time.Time, k *measure.Change) row {
	if k == nil {
		return row{cells: []string{name, c.w.Date(when), none, best, now, none, c.w.FirstMeasured()}}
	}
	f := c.w.Figures(k, c.thresholds()...)
	line := row{cells: []string{name, c.w.Date(k.FromWhen), f.From, best, f.To, f.Difference, c.w.DirectionShort(k.Direction)}}
	if measure.DaysBetween(when, tested(c.Assessment)) != 0 {
		c.note(&line, c.w.MeasuredOn(when))
	}
	return line
}
