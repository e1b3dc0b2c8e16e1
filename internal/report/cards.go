package report

import (
	"slices"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/wording"
)

// Topic is what a card is about.
type Topic uint8

// The topics, in the order of the cards.
const (
	TopicRedFlag Topic = iota
	TopicChange
	TopicExternal
	TopicInternal
	TopicMeasure
)

// A Card is one piece of the report for a reader who has a moment: a sentence, and what explains it.
type Card struct {
	Topic   Topic
	Summary string
	Detail  []string
}

// Cards are the report in cards: what calls for an examination, what changed beyond error since the
// session before and what else nobody may pass over, where each rotation stands, and what to measure next. There is none for what
// there is nothing to say about.
func Cards(a *assess.Assessment, w *wording.Catalogue) (cards []Card) {
	c := composer{a, w}
	add := func(topic Topic, lines []string) {
		if len(lines) > 0 {
			cards = append(cards, Card{topic, lines[0], lines[1:]})
		}
	}
	add(TopicRedFlag, c.alarms())
	add(TopicChange, append(w.Concerns(a.Readiness), c.beyondError()...))
	reasons, asked := c.why(), c.requests()
	for i, topic := range [...]Topic{TopicExternal, TopicInternal} {
		if !a.Readiness.Examine() { // before the examination a step would read as leave to train
			add(topic, reasons.entries[i].lines())
		}
	}
	next := w.Next(a.Plan)
	for i := range asked.entries {
		next = append(slices.Clip(next), asked.entries[i].points...)
	}
	add(TopicMeasure, next)
	return cards
}

// beyondError are the changes since the session before that are beyond measurement error.
func (c composer) beyondError() (lines []string) {
	for i := range c.Measurements.Changes {
		k := &c.Measurements.Changes[i]
		if k.Against == measure.Previous && k.Direction != measure.Unchanged {
			lines = append(lines, c.w.Sentence(c.w.Change(k, c.Protocol.Symmetry.GoodEnough, c.Protocol.Symmetry.Even)))
		}
	}
	return lines
}
