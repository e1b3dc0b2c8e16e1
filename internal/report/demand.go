package report

import "strings"

// demands are the demands of work and sport with what each verdict rests on; empty if the
// protocol has none.
func (c composer) demands() section {
	s, permitted := section{heading: c.w.Headings.Demands}, c.Readiness.Tissue.Healing.Phase
	for i := range c.Readiness.Demands {
		d := &c.Readiness.Demands[i]
		s.entries = append(s.entries, entry{text: c.w.DemandVerdict(d), points: c.w.DemandReasons(d, permitted), strong: true})
	}
	return s
}

// demandsInBrief are the same in a line each, or where there is no room the verdicts alone.
func (c composer) demandsInBrief(short bool) section {
	s, permitted := section{heading: c.w.Headings.Demands}, c.Readiness.Tissue.Healing.Phase
	for i := range c.Readiness.Demands {
		d := &c.Readiness.Demands[i]
		if short {
			s.entries = append(s.entries, entry{text: c.w.DemandVerdict(d)})
			continue
		}
		s.entries = append(s.entries, entry{text: strings.Join(c.w.DemandBrief(d, permitted), " ")})
	}
	if short && len(s.entries) > 1 {
		s.entries = texts(joinedTexts(s.entries))
	}
	return s
}

// workAndDemands are the exercises and the demands of the page: where there is least room
// the demands stand among the exercises.
func (r *Writer) workAndDemands(step pageStep) (work, demanded section) {
	work, demanded = r.inBrief(step), r.demandsInBrief(step >= joined)
	if step >= whenOnly && !work.empty() && !demanded.empty() {
		work.entries = append(work.entries, texts(demanded.heading+r.w.Colon()+joinedTexts(demanded.entries))...)
		return work, section{}
	}
	return work, demanded
}

// trainFor is what to train, and which demands may begin again and which not yet: under a
// heading of their own if there is room.
func (c plainComposer) trainFor(step patientStep) (train, demands section) {
	train = c.train(step)
	demands = section{heading: c.head.Demands, entries: texts(c.p.Demands(c.Readiness)...)}
	if step >= patientJoined {
		train.entries = append(train.entries, demands.entries...)
		return train, section{}
	}
	return train, demands
}
