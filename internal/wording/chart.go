package wording

import (
	"strings"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// ChartMarks are what a chart of symmetry has beside the indices.
type ChartMarks struct {
	Together  bool // what all sessions show together
	Unbounded bool // intervals without limits
	Forecast  bool // how an index may go on
	Level     bool // where one levels off
}

// ChartNote says what the marks of a chart of symmetry mean, in lines of sentences.
func (c *Catalogue) ChartNote(interval protocol.Setting, m ChartMarks) (lines []string) {
	note := c.phrases.chartNote
	if m.Together {
		note = c.phrases.chartTogether
	}
	lines = append(lines, c.sentence(note, c.Amount(interval)))
	if m.Unbounded {
		lines[0] += " " + c.Sentence(c.phrases.chartUnbounded)
	}
	var ahead []string
	if m.Forecast {
		ahead = append(ahead, c.Sentence(c.phrases.chartForecast))
	}
	if m.Level {
		ahead = append(ahead, c.Sentence(c.phrases.chartLevel))
	}
	if len(ahead) > 0 {
		lines = append(lines, strings.Join(ahead, " "))
	}
	return lines
}

// EvenLine labels the line of evenness in a chart: "90 % even".
func (c *Catalogue) EvenLine(t protocol.Threshold) string {
	return c.fill(c.phrases.chartEven, c.inUnit(inFull(t.Value), t.Unit))
}

// GoodEnoughLine labels the line of a position that is good enough to move on.
func (c *Catalogue) GoodEnoughLine(t protocol.Threshold) string {
	return c.fill(c.phrases.chartGoodEnough, c.inUnit(inFull(t.Value), t.Unit))
}

// CourseOf lists the indices of one test over its sessions, oldest first, as the text
// alternative of a chart: a sentence about a subject.
func (c *Catalogue) CourseOf(subject string, series []*measure.Symmetry, thresholds ...protocol.Threshold) string {
	points := make([]string, len(series))
	for i, s := range series {
		points[i] = c.fill(c.phrases.chartPoint, c.Date(s.When), c.inUnit(c.Index(s.Index, thresholds...), "%"),
			c.Interval(s.Interval, thresholds...))
	}
	return c.Labelled(subject, strings.Join(points, c.phrases.partJoin))
}

// Labelled puts a label before a text: a sentence.
func (c *Catalogue) Labelled(label, text string) string {
	return c.sentence(c.phrases.labelled, label, text)
}

// Listed is a list of items.
func (c *Catalogue) Listed(items ...string) string { return c.list(items) }
