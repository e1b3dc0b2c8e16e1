package report

import (
	"slices"
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

// PatientPDF is the same for printing, with a chart. The error is that of
// writing a document.
func PatientPDF(a *assess.Assessment, w *wording.Catalogue, p typeset.Paper) ([]byte, error) {
	v := forPatient(a, w)
	return v.pdf(v.inOneColumn(), onePage(p), a, w)
}

// plainComposer writes the parts of the patient's view.
type plainComposer struct {
	*assess.Assessment
	w    *wording.Catalogue
	p    wording.Plain
	head *wording.PlainHeadings
}

func forPatient(a *assess.Assessment, w *wording.Catalogue) *view {
	p := w.Plain()
	c := plainComposer{a, w, p, p.Headings()}
	return &view{
		title: c.head.Title,
		summary: summary{
			who:      p.Facts(tested(a), a.Episode.Involved, !a.Readiness.ComparisonAffected),
			alarms:   p.Alarms(a.Readiness),
			decision: p.Decision(a.Readiness),
			lines:    append(p.Healing(&a.Readiness.Tissue, a.Readiness.Examine()), p.Growing(a.Plan)...),
		},
		sections: []section{c.compare(), c.lift(), c.train(), c.goals(), c.check(), c.help()},
	}
}

// tested is the day of the latest test.
func tested(a *assess.Assessment) time.Time {
	if latest := a.Episode.Latest(); latest >= 0 {
		return a.Episode.Sessions[latest].When
	}
	return a.AsOf
}

// compare is how the arms compare in each position.
func (c plainComposer) compare() section {
	even, good := c.Protocol.Symmetry.Even, c.Protocol.Symmetry.GoodEnough
	if c.Readiness.Examine() || !c.Readiness.Tissue.Open() || c.Readiness.UnitOpen() {
		return c.onlyMeasured()
	}
	s := section{heading: c.head.Compare, entries: texts(c.p.HowMeasured(even, good)...)}
	s.entries = append(s.entries, c.byRotation(func(at *readiness.PositionReadiness) string {
		return c.p.Position(at, c.Readiness.ComparisonAffected, even, good)
	})...)
	if len(c.Measurements.Symmetries) > 0 {
		s.picture = chart.ForPatient(c.Assessment, c.w)
	}
	return s
}

// onlyMeasured is the numbers without what they come to: where nothing may be loaded
// there is no next step and no praise.
func (c plainComposer) onlyMeasured() section {
	even, good := c.Protocol.Symmetry.Even, c.Protocol.Symmetry.GoodEnough
	s := section{heading: c.head.Compare, entries: texts(c.p.HowMeasured(even, good)[0])}
	s.entries = append(s.entries, c.byRotation(func(at *readiness.PositionReadiness) string {
		return c.p.Measured(at, even, good)
	})...)
	return s
}

// byRotation is what there is to say of each position, under its rotation.
func (c plainComposer) byRotation(say func(*readiness.PositionReadiness) string) (entries []entry) {
	for i := range c.Readiness.Rotations {
		r := &c.Readiness.Rotations[i]
		e := entry{text: c.w.Sentence(c.p.Rotation(r.Rotation)), strong: true}
		for k := range r.Positions {
			if text := say(&r.Positions[k]); text != "" {
				e.points = append(e.points, text)
			}
		}
		if len(e.points) > 0 {
			entries = append(entries, e)
		}
	}
	return entries
}

func texts(sentences ...string) (entries []entry) {
	for _, sentence := range sentences {
		entries = append(entries, entry{text: sentence})
	}
	return entries
}

// lift is the active range of the involved side, and the pain of the test.
func (c plainComposer) lift() section {
	s := section{heading: c.head.Lift}
	for _, r := range c.Measurements.LatestRanges() {
		lifts := r.Movement == shoulder.Flexion || r.Movement == shoulder.Abduction
		if r.Side == c.Episode.Involved && r.Active && lifts {
			s.entries = append(s.entries, entry{text: c.p.Range(r, c.gateOf(r))})
		}
	}
	for i := range c.Readiness.Gates() {
		if pain := &c.Readiness.Gates()[i].Pain; pain.Value != nil {
			s.entries = append(s.entries, entry{text: c.p.Pain(pain, c.Readiness.Examine())})
			break
		}
	}
	for _, o := range c.Measurements.LatestOutcomes() {
		s.entries = append(s.entries, entry{text: c.w.Sentence(c.w.OutcomeOn(o))})
	}
	return s
}

// gateOf is the gate that a range is held against, the position itself if that
// asks for more; nil if it is held against none. While a repair heals nobody is
// told to reach further.
func (c plainComposer) gateOf(r *measure.RangeScore) *readiness.Criterion {
	if !c.Readiness.Tissue.Open() || c.Readiness.Examine() || c.Readiness.UnitOpen() {
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

func (c plainComposer) train() section {
	s := section{heading: c.head.Train}
	if len(c.Plan.Exercises) == 0 {
		s.entries = texts(c.p.NoExercise(c.Plan))
		return s
	}
	shared := sharedCues(c.Plan.Exercises)
	s.entries = []entry{{text: c.p.Dose(), points: c.cues(shared)}}
	for i := range c.Plan.Exercises {
		e := &c.Plan.Exercises[i]
		line := entry{text: c.p.Exercise(e), strong: true}
		if e.Mode != plan.NoResistance {
			line.points = append(line.points, c.p.Mode(e.Mode))
		}
		own := slices.DeleteFunc(slices.Clone(e.Cues), func(cue plan.Cue) bool { return slices.Contains(shared, cue) })
		line.points = append(line.points, c.cues(own)...)
		s.entries = append(s.entries, line)
	}
	return s
}

// sharedCues are those of all the exercises, of which there is at least one.
func sharedCues(exercises []plan.Exercise) (shared []plan.Cue) {
	for _, cue := range exercises[0].Cues {
		if !slices.ContainsFunc(exercises, func(e plan.Exercise) bool { return !slices.Contains(e.Cues, cue) }) {
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

func (c plainComposer) goals() section {
	s := section{heading: c.head.Goals}
	for i := range c.Plan.Goals {
		s.entries = append(s.entries, entry{text: c.p.Goal(&c.Plan.Goals[i])})
	}
	return s
}

func (c plainComposer) check() section {
	return section{heading: c.head.Check, entries: texts(c.p.Check(c.Plan)...)}
}

func (c plainComposer) help() section {
	intro, reasons := c.p.Help()
	return section{heading: c.head.Help, entries: []entry{{text: intro, points: reasons, strong: true}, {text: c.p.Closing()}}}
}
