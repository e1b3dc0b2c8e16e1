package report

import (
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/report/figure"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// Home is the home programme, as text for a terminal: each exercise that the patient can
// do alone, how it is done, how much and how hard, and a diary. It is for a clinician to
// hand over and to talk through.
func Home(a *assess.Assessment, w *wording.Catalogue) string { return forHome(a, w).text() }

// HomePDF is the same for printing, with pictures. The error is that of writing a
// document.
func HomePDF(a *assess.Assessment, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	v := forHome(a, w)
	return v.pdf(v.inOneColumn(), twoPages(p), a, w)
}

func forHome(a *assess.Assessment, w *wording.Catalogue) *view {
	c := newPlain(a, w)
	v := &view{title: c.head.Home, summary: c.summary()}
	v.who = append(c.who(), c.p.Facts(tested(a), a.Episode.Involved, false)...)
	if arm := c.p.ForArm(a.Episode.Involved); arm != "" {
		v.who = append(v.who, arm)
	}
	home := atHome(a.Plan.Exercises)
	v.sections = []section{c.exercises(home), c.diary(len(home)), c.check(), c.help()}
	return v
}

func atHome(exercises []plan.Exercise) (home []plan.Exercise) {
	for i := range exercises {
		if exercises[i].AtHome() {
			home = append(home, exercises[i])
		}
	}
	return home
}

// exercises are how much, for all that have one dose, and then each exercise with its
// picture.
func (c plainComposer) exercises(home []plan.Exercise) section {
	s := section{heading: c.head.Train}
	switch {
	case len(c.Plan.Exercises) == 0:
		s.entries = texts(c.p.NoExercise(c.Plan))
		return s
	case len(home) == 0:
		s.entries = texts(c.p.NoneAtHome())
		return s
	}
	number := 0
	for _, group := range byDose(home) {
		shared := sharedCues(group)
		s.entries = append(s.entries, entry{text: strings.Join(append([]string{c.p.HowMuch(group[0], c.Protocol.Dose.Progression.Text)}, c.cues(shared)...), " ")})
		for _, e := range group {
			number++
			s.entries = append(s.entries, c.exercise(number, e, shared))
		}
	}
	s.legend = c.p.Legend(home)
	if len(home) < len(c.Plan.Exercises) {
		s.entries = append(s.entries, entry{text: c.p.ClinicOnly()})
	}
	return s
}

func (c plainComposer) exercise(number int, e *plan.Exercise, shared []plan.Cue) entry {
	name := c.p.Numbered(number, e)
	shows := c.p.Picture(e)
	own := slices.DeleteFunc(slices.Clone(e.Cues), func(cue plan.Cue) bool {
		return slices.Contains(shared, cue) || cue == plan.ArmOnSurface // the name says so
	})
	lines := append([]string{shows}, c.cues(own)...)
	said := strings.TrimSpace(strings.Join(append(lines, c.p.Load(e)), " "))
	line := entry{text: name, strong: true, picture: figure.Of(e, c.Episode.Involved, name, shows, c.w.Language())}
	if said != "" {
		line.points = []string{said}
	}
	return line
}

// sharedCues are those of all the exercises, of which there is at least one.
func sharedCues(group []*plan.Exercise) (shared []plan.Cue) {
	for _, cue := range group[0].Cues {
		if !slices.ContainsFunc(group, func(e *plan.Exercise) bool { return !slices.Contains(e.Cues, cue) }) {
			shared = append(shared, cue)
		}
	}
	return shared
}

func (c plainComposer) cues(cues []plan.Cue) (sentences []string) {
	for _, cue := range cues {
		sentences = append(sentences, c.p.Cue(cue))
	}
	return sentences
}

// diaryDays is two weeks: common practice.
const diaryDays = 14

// diary is a row to tick for each exercise, and one for the pain.
func (c plainComposer) diary(exercises int) section {
	s := section{heading: c.head.Diary}
	if exercises == 0 {
		return s
	}
	t := &table{columns: []column{{c.p.DiaryDay(), 20, false}}}
	for day := range diaryDays {
		t.columns = append(t.columns, column{strconv.Itoa(day + 1), 4, true})
	}
	names := make([]string, 0, exercises+1)
	for i := range exercises {
		names = append(names, c.p.DiaryDone(i+1))
	}
	names = append(names, c.p.DiaryPain())
	const box = "__"
	rows := make([]row, len(names))
	for i, name := range names {
		rows[i].cells = append([]string{name}, slices.Repeat([]string{box}, diaryDays)...)
	}
	t.groups = []group{{rows: rows}}
	s.table, s.picture, s.drawn = t, figure.Diary(c.p.DiaryDay(), names, diaryDays), true
	return s
}
