package report

import (
	"evenreach.example/internal/measure"
	"slices"
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
func (r *Writer) Cards() (cards []Card) {
	add := func(topic Topic, lines []string) {
		if len(lines) > 0 {
			cards = append(cards, Card{topic, lines[0], lines[1:]})
		}
	}
	add(TopicRedFlag, r.alarms())
	add(TopicChange, append(r.w.Concerns(r.Readiness), r.beyondError()...))
	for i, topic := range [...]Topic{TopicExternal, TopicInternal} {
		if !r.Readiness.Examine() { // before the examination a step would read as leave to train
			add(topic, r.Why(i))
		}
	}
	next := r.then
	for i := range r.asked.entries {
		next = append(slices.Clip(next), r.asked.entries[i].points...)
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
