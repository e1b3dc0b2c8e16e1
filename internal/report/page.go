package report

import (
	"slices"
	"strings"

	"evenreach.example/internal/plan"
)

// The page for a reader with half a minute leaves out how things were worked out: set-up
// cues, sources, and the cautions that hold for every patient. All of it is in the full
// report, which the page names.

// pageLines is how many lines of a terminal the page has.
const pageLines = 60

// issueLines is how many lines of the input's issues the page has room for.
const issueLines = 4

// pageStep is what the page leaves to the full report, so that it keeps to its lines.
type pageStep uint8

const (
	wholePage     pageStep = iota
	joined                 // exercises and requests stand in paragraphs, not in a line each
	ofVisit                // range and pain of earlier visits
	counted                // what of the input was not used, and what the index is
	whenOnly               // what to measure at the re-check
	onceOnly               // that there is no exercise, which the decision says too
	alarmsNamed            // the numbers of the alarms that the summary only counts, and what a manual test can show
	changesTabled          // changes that the table marks, in words, and columns without a number
)

// furtherAlarms are the alarms that the summary only counts.
func (c composer) furtherAlarms(s *summary) section {
	return section{heading: c.w.Headings.Alarms, entries: texts(s.rest...)}
}

// alarmsAt are the further alarms, or their names.
func (r *Writer) alarmsAt(step pageStep) section {
	counted := len(r.first.rest) - r.first.warnings
	if step < alarmsNamed || counted < 2 {
		return r.alarm
	}
	lines := append(r.w.AlarmsNamed(r.Readiness, r.Plan, len(r.alarms())-counted), r.first.rest[counted:]...)
	return section{heading: r.alarm.heading, entries: texts(lines...)}
}

// inBrief is the exercises with their dose and what limits the load.
func (r *Writer) inBrief(step pageStep) section {
	s := section{heading: r.w.Headings.Exercises}
	if len(r.Plan.Exercises) == 0 && step >= onceOnly && r.Readiness.Examine() {
		return section{}
	}
	if len(r.Plan.Exercises) == 0 {
		s.entries = texts(r.w.NoExercise(r.Plan))
		return s
	}
	for _, group := range byDose(r.Plan.Exercises) {
		dose := []string{r.w.Dose(group[0])}
		for _, cue := range group[0].Cues {
			if !cue.SetsUp() {
				dose = append(dose, r.w.Cue(cue))
			}
		}
		e := entry{text: strings.Join(dose, " ")}
		for _, exercise := range group {
			e.points = append(e.points, r.briefly(exercise, group[0].Cues))
		}
		if step >= joined {
			e.points = []string{strings.Join(e.points, " ")}
		}
		s.entries = append(s.entries, e)
	}
	return s
}

// briefly is an exercise with the limits of its load that the first of its group has not.
func (r *Writer) briefly(e *plan.Exercise, said []plan.Cue) string {
	line := []string{r.w.Sentence(r.w.Exercise(e))}
	if e.Provisional {
		line = append(line, r.w.Provisional())
	}
	for _, cue := range e.Cues {
		if !cue.SetsUp() && !slices.Contains(said, cue) {
			line = append(line, r.w.Cue(cue))
		}
	}
	return strings.Join(line, " ")
}

// asking is what to measure first, and then at the re-check.
func (r *Writer) asking(step pageStep) section {
	s, first, later := section{heading: r.w.Headings.Measure}, r.w.AskShort(r.Plan, true), r.w.AskShort(r.Plan, false)
	if step >= joined && len(first) > 1 {
		first = []string{strings.Join(first, " ")}
	}
	s.entries = texts(first...)
	if step >= whenOnly && len(later) > 0 {
		later = []string{r.w.MoreIssues(len(later))}
	}
	if len(later) > 0 {
		s.entries = append(s.entries, entry{text: r.w.Recheck(r.Plan) + " " + strings.Join(later, " ")})
	}
	return s
}

// mainIssues is what of the input was not used: scores that could not be compared, and
// each kind of issue once, as far as there is room.
func (r *Writer) mainIssues() section {
	lines := append(r.unpaired(), r.w.IssuesInBrief(r.issues)...)
	if len(lines) > issueLines+1 {
		lines = append(slices.Clip(lines[:issueLines]), r.w.MoreIssues(len(lines)-issueLines))
	}
	if len(lines) == 0 {
		return section{}
	}
	return section{heading: r.w.Headings.Input, entries: texts(strings.Join(lines, " "))}
}

// ownCautions are the cautions of this patient; of those for everybody it says the two
// that no page goes without, and where all are.
func (r *Writer) ownCautions(step pageStep) section {
	s := r.patientsCautions(func(k plan.Caution) bool { return step >= alarmsNamed && k == plan.ManualTestLimits })
	if step >= joined && len(s.entries) > 1 {
		s.entries = texts(joinedTexts(s.entries))
	}
	basis := []string{r.w.PageBasis(r.AsOf, r.Protocol.Ref())}
	if n := len(r.unpaired()) + len(r.w.IssuesInBrief(r.issues)); n > 0 && step >= counted {
		basis = append(basis, r.w.Sentence(r.w.Headings.Input+r.w.Colon()+r.w.MoreIssues(n)))
	}
	s.entries = append(s.entries, texts(r.w.CautionsInBrief(), strings.Join(append(basis, r.w.FullReport()), " "))...)
	return s
}

func joinedTexts(entries []entry) string {
	lines := make([]string, len(entries))
	for i := range entries {
		lines[i] = entries[i].text
	}
	return strings.Join(lines, " ")
}

// patientsCautions are those of this patient, but for what is left out.
func (c composer) patientsCautions(left func(plan.Caution) bool) section {
	s := section{heading: c.w.Headings.Cautions, fine: true}
	for _, k := range c.Plan.Cautions {
		if !k.ForEverybody() && !left(k) {
			s.entries = append(s.entries, entry{text: c.w.Caution(k)})
		}
	}
	return s
}
