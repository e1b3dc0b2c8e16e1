package service

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// decisions is everything that was decided about a shoulder in codes and numbers,
// a line each, so that a reviewer sees what a change does to a story: the overall
// status, the phase of healing, red flags, doubts, verdicts, steps, exercises and
// what is asked for; and the SHA-256 of the whole answer as it is printed with
// white space.
func decisions(a *assess.Assessment, answer []byte) []byte {
	t := newTable()
	t.line("overall", a.Readiness.Overall, "as of "+day(a.AsOf))
	t.healing(&a.Readiness.Tissue)
	t.flags(a.Readiness.Flags)
	t.doubts(a.Readiness.Doubts)
	t.verdicts(a.Readiness)
	t.steps(a.Readiness)
	t.exercises(a.Plan.Exercises)
	t.requests(a.Plan.Requests)
	t.line("answer", fmt.Sprintf("sha256 %x", sha256.Sum256(answer)))
	return t.done()
}

// table aligns the cells of its lines.
type table struct {
	text bytes.Buffer
	tabs *tabwriter.Writer
}

func newTable() *table {
	t := &table{}
	t.tabs = tabwriter.NewWriter(&t.text, 0, 0, 2, ' ', 0)
	return t
}

// done is the table without spaces at the ends of its lines.
func (t *table) done() []byte {
	t.tabs.Flush()
	lines := strings.Split(t.text.String(), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return []byte(strings.Join(lines, "\n"))
}

// line writes one line. An empty cell is shown as a dash unless nothing follows.
func (t *table) line(cells ...any) {
	texts := make([]string, len(cells))
	for i, follows := len(cells)-1, false; i >= 0; i-- {
		texts[i] = fmt.Sprint(cells[i])
		follows = follows || texts[i] != ""
		if texts[i] == "" && follows {
			texts[i] = "-"
		}
	}
	fmt.Fprintln(t.tabs, strings.Join(texts, "\t"))
}

// block ends the alignment of what came before, and begins with a heading, or says
// that there is nothing of the kind.
func (t *table) block(rows int, heading ...any) {
	t.tabs.Flush()
	fmt.Fprintln(t.tabs)
	if rows == 0 {
		t.line(fmt.Sprint("no ", heading[0]))
		return
	}
	t.line(heading...)
}

func (t *table) healing(tissue *readiness.Tissue) {
	s := &tissue.Healing
	if s.Repair == nil {
		t.line("healing", "no repair", s.Phase)
		return
	}
	basis := [...]string{"no repair", "by time", "unknown", "cleared", "permitted", "refused", "unread"}[s.Basis]
	t.line("healing", s.Phase, fmt.Sprintf("%s, %d days after the repair of %s", basis, s.Days, day(s.Repair.Date)),
		after("stated ", day(s.Stated)))
	if s.Next != s.Phase {
		t.line("healing next", s.Next, after("from ", day(s.NextDate)))
	}
}

func (t *table) flags(flags []redflag.Flag) {
	t.block(len(flags), "red flag", "measure", "now", "then", "tests", "state")
	for i := range flags {
		f := &flags[i]
		state := "holds"
		if !f.Holds() {
			state = "examined " + day(f.Examined.When)
		}
		t.line(f.Code, flagMeasure(f), reading(f.Now), reading(f.Then), count(f.Tests), state)
	}
}

// flagMeasure is what the numbers of a flag are about.
func flagMeasure(f *redflag.Flag) string {
	var parts []string
	if f.Movement != shoulder.MovementUnknown {
		parts = append(parts, f.Movement.String())
	}
	if f.Motion != shoulder.MotionUnknown {
		parts = append(parts, f.Motion.String(), f.Position.String())
	}
	if f.Context != shoulder.PainUnstated {
		parts = append(parts, f.Context.String())
	}
	if f.Grade != shoulder.GradeUnknown {
		parts = append(parts, "grade "+f.Grade.String())
	}
	return strings.Join(parts, " ")
}

func (t *table) doubts(doubts []*measure.DoubtFound) {
	t.block(len(doubts), "doubt", "test", "date", "value", "against", "tests")
	for _, d := range doubts {
		t.line(d.Doubt, fmt.Sprint(d.Score.Motion, " ", d.Score.Position, " ", d.Score.Side), day(d.When),
			doubted(d), against(d), count(d.Tests))
	}
}

// doubted are the trials of a set that disagrees, or the value in doubt.
func doubted(d *measure.DoubtFound) string {
	if len(d.Trials) == 0 {
		return scored(d.Score)
	}
	trials := make([]string, len(d.Trials))
	for i := range d.Trials {
		trials[i] = d.Trials[i].Text(1)
	}
	return strings.Join(trials, " ") + " " + d.Score.Dimension.Unit()
}

func against(d *measure.DoubtFound) string {
	switch {
	case d.ApartValue != nil:
		return "apart " + d.ApartValue.Text(1)
	case d.Other == nil:
		return ""
	}
	return fmt.Sprintf("%s %s %s", d.Other.Side, scored(d.Other), day(d.Other.When))
}

func scored(s *measure.Score) string { return s.Value.Text(1) + " " + s.Dimension.Unit() }

func (t *table) verdicts(r *readiness.Readiness) {
	t.block(len(r.Motions), "rotation", "position", "index", "interval", "good enough", "even", "confirmed", "note")
	for i := range r.Motions {
		for k := range r.Motions[i].Positions {
			p := &r.Motions[i].Positions[k]
			index, interval, note := indexOf(p)
			t.line(r.Motions[i].Motion, p.Position, index, interval, verdict(&p.GoodEnough), verdict(&p.Even), verdict(&p.Confirmed), note)
		}
	}
}

// indexOf is the index that is shown for a position, its interval, and what keeps
// it from deciding or was before.
func indexOf(p *readiness.PositionReadiness) (index, interval, note string) {
	s := p.Symmetry
	switch {
	case p.Doubted != nil:
		s, note = p.Doubted, "in doubt"
	case p.Stale != nil:
		s, note = p.Stale, "too old: "+day(p.Stale.When)
	case p.WasEven != nil:
		note = fmt.Sprintf("was even: %s %% on %s", p.WasEven.Index.Text(1), day(p.WasEven.When))
	case p.Change != nil:
		note = fmt.Sprintf("%s %s since the first", p.Change.Difference.Text(1), p.Change.Unit)
	}
	if p.FellFrom != nil {
		note = strings.TrimPrefix(note+fmt.Sprintf(", fell from %s %%", p.FellFrom.Index.Text(1)), ", ")
	}
	if s == nil {
		return "", "", note
	}
	return s.Index.Text(1) + " %", fmt.Sprintf("%.1f to %.1f", s.Interval.Low, s.Interval.High), note
}

// verdict is a verdict with what it rests on.
func verdict(c *readiness.Criterion) string {
	text := c.Verdict.String()
	if c.Basis != readiness.NoBasis {
		text += " (" + c.Basis.String() + ")"
	}
	if c.Basis == readiness.ManualTest {
		text += " " + c.Grade.String()
	}
	return text
}

func (t *table) steps(r *readiness.Readiness) {
	t.block(len(r.Trained()), "rotation", "step", "next", "held by")
	for i := range r.Trained() {
		x := &r.Motions[i]
		step := x.Step.String()
		if x.Provisional {
			step += " (provisional)"
		}
		next := x.Next.String()
		if x.Next == readiness.NoStep {
			next = ""
		}
		t.line(x.Motion, step, next, held(x.Holding))
	}
	t.line("functional work", "", "", cmp.Or(held(r.Function.Criteria()), "nothing but strength"))
}

// held lists the criteria that hold.
func held(criteria []*readiness.Criterion) string {
	var names []string
	for _, c := range criteria {
		if !c.Holds() {
			continue
		}
		name := c.Rule.String()
		if c.Position != shoulder.PositionUnstated {
			name += " " + c.Position.String()
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

func (t *table) exercises(exercises []plan.Exercise) {
	t.block(len(exercises), "exercise", "of", "position", "mode", "cues")
	for i := range exercises {
		e := &exercises[i]
		of := e.Motion.String()
		switch {
		case e.Movement != shoulder.MovementUnknown:
			of = e.Movement.String()
		case e.Motion == shoulder.MotionUnknown:
			of = ""
		}
		t.line(e.Purpose, of, stated(e.Position), e.Mode, safetyCues(e))
	}
}

// safetyCues are the cues that hold back.
func safetyCues(e *plan.Exercise) string {
	var cues []string
	for _, c := range e.Cues {
		if c >= plan.DoNotRaiseLoad {
			cues = append(cues, c.String())
		}
	}
	return strings.Join(cues, ", ")
}

func (t *table) requests(requests []plan.Request) {
	t.block(len(requests), "request", "of", "position", "why", "when")
	for i := range requests {
		q := &requests[i]
		of := ""
		switch {
		case q.Movement != shoulder.MovementUnknown:
			of = q.Movement.String()
		case q.Motion != shoulder.MotionUnknown:
			of = q.Motion.String()
		}
		when := fmt.Sprintf("%s to %s", day(q.When.From), day(q.When.To))
		if q.First {
			when = "first"
		}
		t.line(q.Ask, of, stated(q.Position), q.Why, when)
	}
	t.tabs.Flush()
	fmt.Fprintln(t.tabs)
}

func stated(p shoulder.ArmPosition) string {
	if p == shoulder.PositionUnstated {
		return ""
	}
	return p.String()
}

func reading(r redflag.Measured) string {
	value := ""
	if r.Unit != "" {
		value = r.Value.Text(places(r.Value)) + " " + r.Unit + " "
	}
	return strings.TrimSpace(value + day(r.When))
}

// places are no decimals for a whole number, else one.
func places(x exact.Number) int {
	if x.Round(0).Cmp(x) == 0 {
		return 0
	}
	return 1
}

// count is a number of things, nothing for none.
func count(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// day is a date, nothing for none.
func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// after puts a word before a text unless that is empty.
func after(word, text string) string {
	if text == "" {
		return ""
	}
	return word + text
}
