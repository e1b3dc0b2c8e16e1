package report

import (
	"slices"
	"strings"

	"evenreach.example/internal/plan"
)

// The page for a reader with half a minute leaves out how things were worked out: set-up
// cues, sources, and the cautions that hold for every patient. All of it is in the full
// report, which the page names.

// pageLines is how many lines of the input's issues the page has room for.
const pageLines = 4

// furtherAlarms are the alarms that the summary only counts.
func (c composer) furtherAlarms(s *summary) section {
	return section{heading: c.w.Headings.Alarms, entries: texts(s.rest...)}
}

// inBrief is the exercises with their dose and what limits the load.
func (r *Writer) inBrief() section {
	s := section{heading: r.w.Headings.Exercises}
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
func (r *Writer) asking() section {
	s := section{heading: r.w.Headings.Measure, entries: texts(r.w.AskShort(r.Plan, true)...)}
	if later := r.w.AskShort(r.Plan, false); len(later) > 0 {
		s.entries = append(s.entries, entry{text: r.w.Recheck(r.Plan) + " " + strings.Join(later, " ")})
	}
	return s
}

// mainIssues is what of the input was not used: scores that could not be compared, and
// each kind of issue once, as far as there is room.
func (r *Writer) mainIssues() section {
	lines := append(r.unpaired(), r.w.IssuesInBrief(r.issues)...)
	if len(lines) > pageLines+1 {
		lines = append(slices.Clip(lines[:pageLines]), r.w.MoreIssues(len(lines)-pageLines))
	}
	if len(lines) == 0 {
		return section{}
	}
	return section{heading: r.w.Headings.Input, entries: texts(strings.Join(lines, " "))}
}

// ownCautions are the cautions of this patient; of those for everybody it says the two
// that no page goes without, and where all are.
func (r *Writer) ownCautions() section {
	s := r.patientsCautions()
	s.entries = append(s.entries, texts(r.w.CautionsInBrief(), r.w.PageBasis(r.AsOf, r.Protocol.Ref())+" "+r.w.FullReport())...)
	return s
}

func (c composer) patientsCautions() section {
	s := section{heading: c.w.Headings.Cautions, fine: true}
	for _, k := range c.Plan.Cautions {
		if !k.ForEverybody() {
			s.entries = append(s.entries, entry{text: c.w.Caution(k)})
		}
	}
	return s
}
