package report

import (
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// Patient is the assessment for the patient, as text for a terminal: in
// everyday language, without verdict codes, abbreviations and doses. It is for
// a clinician to hand over and to talk through, not to be sent unseen.
func Patient(a *assess.Assessment, w *wording.Catalogue) string { return forPatient(a, w).text() }

// PatientPDF is the same for printing, with a chart if that leaves it on one page. The
// error is that of writing a document.
func PatientPDF(a *assess.Assessment, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	v := printedForPatient(a, w, p)
	return v.pdf(v.inOneColumn(), onePage(p), a, w)
}

// printedForPatient is the page that fits a sheet: first the chart goes, then what matters
// less than that.
func printedForPatient(a *assess.Assessment, w *wording.Catalogue, p typeset.Paper) *view {
	c, f := newPlain(a, w), onePage(p)
	fits := func(v *view) bool { return len(v.pages(v.inOneColumn(), f, a, w)) <= f.Pages }
	step := c.patientStep()
	v := c.forPatient(step)
	for ; !fits(v) && step <= patientChanges; step++ {
		v = c.forPatient(step)
		v.withoutPictures()
	}
	return v
}

// patientLines is how many lines of a terminal the patient's page has.
const patientLines = 45

// patientStep is what the patient's page leaves to be asked, so that it keeps to its lines.
type patientStep uint8

const (
	wholePatient   patientStep = iota
	patientJoined              // exercises and ranges stand in paragraphs
	patientTests               // what each test of strength came to
	patientChanges             // what got better or worse since the first test
)

func (c plainComposer) patientStep() patientStep {
	return shortened(patientChanges, func(step patientStep) bool {
		return fitsEverywhere(c.w, patientLines, func(t *textWriter, w *wording.Catalogue) {
			t.view(newPlain(c.Assessment, w).forPatient(step))
		})
	})
}

// plainComposer writes the parts of the patient's view.
type plainComposer struct {
	*assess.Assessment
	w    *wording.Catalogue
	p    wording.Plain
	head *wording.PlainHeadings
}

func newPlain(a *assess.Assessment, w *wording.Catalogue) plainComposer {
	return plainComposer{a, w, w.Plain(), w.Plain().Headings()}
}

func forPatient(a *assess.Assessment, w *wording.Catalogue) *view {
	c := newPlain(a, w)
	return c.forPatient(c.patientStep())
}

func (c plainComposer) forPatient(step patientStep) *view {
	v := &view{title: c.head.Title, summary: c.summary()}
	v.who = append(c.who(), c.p.Facts(tested(c.Assessment), c.Episode.Involved, !c.Readiness.ComparisonAffected)...)
	if arm := c.p.ForArm(c.Episode.Involved); arm != "" && c.Readiness.ComparisonAffected {
		v.who = append(v.who, arm) // which of the two the tests below are of
	}
	if !c.Readiness.Examine() {
		v.lines = append(v.lines, c.p.Concerns(c.Readiness)...)
	}
	if step < patientChanges {
		v.lines = append(v.lines, c.changed()...)
	}
	train, demands := c.trainFor(step)
	v.sections = []section{c.compare(step), train, demands, c.check(), c.help()}
	return v
}

func (v *view) withoutPictures() {
	for i := range v.sections {
		v.sections[i].picture = nil
	}
}

// summary is what no page for the patient goes without.
func (c plainComposer) summary() summary {
	return summary{
		alarms:   c.p.Alarms(c.Readiness),
		decision: c.p.Decision(c.Readiness),
		lines:    append(c.healing(), c.p.Growing(c.Plan)...),
	}
}

// who names the patient, if the record does.
func (c plainComposer) who() []string {
	if who := c.w.Who(c.Episode.Person); who != "" {
		return []string{who}
	}
	return nil
}

// healing is what a repair permits, in one line.
func (c plainComposer) healing() []string {
	if lines := c.p.Healing(c.Readiness); len(lines) > 0 {
		return []string{strings.Join(lines, " ")}
	}
	return nil
}

// changed is what got clearly better, or worse, since the first test. A red flag says what
// got worse, and a test in doubt tells neither.
func (c plainComposer) changed() (lines []string) {
	if c.Readiness.Examine() || len(c.Readiness.Doubts) > 0 {
		return nil
	}
	for _, d := range [...]measure.Direction{measure.Improved, measure.Declined} {
		var changes []*measure.Change
		for i := range c.Measurements.Changes {
			k := &c.Measurements.Changes[i]
			if k.Against == measure.Baseline && k.Direction == d && k.Subject != measure.SymmetryChange && k.Side == c.Episode.Involved {
				changes = append(changes, k)
			}
		}
		if len(changes) > 0 {
			lines = append(lines, c.p.Changed(changes, d))
		}
	}
	return lines
}

// tested is the day of the latest test.
func tested(a *assess.Assessment) time.Time {
	if latest := a.Episode.Latest(); latest >= 0 {
		return a.Episode.Sessions[latest].When
	}
	return a.AsOf
}

// compare is how the arms compare in each position, a line each, how far the arm lifts,
// and how much the test hurts.
func (c plainComposer) compare(step patientStep) section {
	s := section{heading: c.head.Compare, entries: texts(c.p.HowMeasured(c.Protocol.Symmetry.Even, c.onlyMeasured()))}
	if step >= patientTests {
		s.entries = texts(c.p.TestsElsewhere())
	} else {
		s.entries = append(s.entries, c.tests()...)
	}
	lift := c.lift()
	if step >= patientJoined && len(lift) > 1 {
		lift = texts(joinedTexts(lift))
	}
	s.entries = append(s.entries, lift...)
	if len(c.Measurements.Symmetries) > 0 && !c.onlyMeasured() {
		s.picture = chart.ForPatient(c.Assessment, c.w)
	}
	return s
}

func (c plainComposer) tests() (entries []entry) {
	for i := range c.Readiness.Motions {
		for k := range c.Readiness.Motions[i].Positions {
			if line := c.position(&c.Readiness.Motions[i].Positions[k], c.Readiness.Motions[i].Motion); line != "" {
				entries = append(entries, entry{text: line})
			}
		}
	}
	return entries
}

// onlyMeasured reports whether numbers stand without what they come to: where nothing may
// be loaded there is no next step and no praise.
func (c plainComposer) onlyMeasured() bool {
	return c.Readiness.Examine() || !c.Readiness.Tissue.Open() || c.Readiness.Unsettled()
}

func (c plainComposer) position(at *readiness.PositionReadiness, r shoulder.Motion) string {
	even, good := c.Protocol.Symmetry.Even, c.Protocol.Symmetry.GoodEnough
	if c.onlyMeasured() {
		return c.p.Measured(at, r, even, good)
	}
	return c.p.Position(at, r, c.Readiness.ComparisonAffected, even, good)
}

func texts(sentences ...string) []entry {
	entries := make([]entry, len(sentences))
	for i, sentence := range sentences {
		entries[i].text = sentence
	}
	return entries
}

// lift is the active range of the involved side, and the pain of the test.
func (c plainComposer) lift() (entries []entry) {
	for _, r := range c.Measurements.LatestRanges() {
		lifts := r.Movement == shoulder.Flexion || r.Movement == shoulder.Abduction
		if r.Side == c.Episode.Involved && r.Active && lifts {
			entries = append(entries, entry{text: c.p.Range(r, c.gateOf(r))})
		}
	}
	for i := range c.Readiness.Gates() {
		if pain := &c.Readiness.Gates()[i].Pain; pain.Value != nil {
			entries = append(entries, entry{text: c.p.Pain(pain, c.Readiness.Examine())})
			break
		}
	}
	for _, o := range c.Measurements.LatestOutcomes() {
		entries = append(entries, entry{text: c.w.Sentence(c.w.OutcomeOn(o))})
	}
	return entries
}

// gateOf is the gate that a range is held against, the position itself if that
// asks for more; nil if it is held against none. While a repair heals nobody is
// told to reach further.
func (c plainComposer) gateOf(r *measure.RangeScore) *readiness.Criterion {
	if !c.Readiness.Tissue.Open() || c.Readiness.Examine() || c.Readiness.Unsettled() {
		return nil
	}
	for i := range c.Readiness.Gates() {
		at := &c.Readiness.Gates()[i]
		if at.ActiveRange == nil || !at.ActiveRange.Same(r) {
			continue
		}
		if at.Range.Verdict == readiness.Met {
			return &at.RangeMinimum
		}
		return &at.Range
	}
	return nil
}

// train names each exercise in a line; the home programme says how it is done.
func (c plainComposer) train(step patientStep) section {
	s := section{heading: c.head.Train}
	if len(c.Plan.Exercises) == 0 {
		s.entries = texts(c.p.NoExercise(c.Plan))
		return s
	}
	for i := range c.Plan.Exercises {
		s.entries = append(s.entries, entry{text: c.p.Exercise(&c.Plan.Exercises[i])})
	}
	if step >= patientJoined {
		s.entries = texts(joinedTexts(s.entries))
	}
	var rules []string
	if len(atHome(c.Plan.Exercises)) > 0 {
		rules = append(rules, c.p.Dose())
	}
	for _, cue := range limits(c.Plan.Exercises) {
		rules = append(rules, c.p.Cue(cue))
	}
	s.entries = append(s.entries, entry{text: strings.Join(rules, " ")})
	return s
}

// limits are the cues of any of the exercises that say how much load is allowed, each once.
func limits(exercises []plan.Exercise) (all []plan.Cue) {
	for i := range exercises {
		for _, cue := range exercises[i].Cues {
			if !cue.SetsUp() && !slices.Contains(all, cue) {
				all = append(all, cue)
			}
		}
	}
	return all
}

// check is when to come again.
func (c plainComposer) check() section {
	return section{heading: c.head.Check, entries: texts(strings.Join(c.p.Check(c.Plan), " "))}
}

func (c plainComposer) help() section {
	return section{heading: c.head.Help, entries: texts(c.p.Help(), c.p.Closing())}
}
