// Package chart draws the course of symmetry: a panel for each rotation in each
// arm position, with the limb symmetry index of every session, its interval of
// measurement error, and the thresholds. What is told by colour is told by
// shape, place and words as well, so that it prints in black and white.
package chart

import (
	"strings"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// pixelsPerPoint keeps the PNG sharp on a fine screen and legible at half its
// size.
const pixelsPerPoint = 2

// SVG is the chart as a document of its own.
func SVG(a *assess.Assessment, w *wording.Catalogue) []byte { return Of(a, w).SVG() }

// PNG is the chart in pixels. The only error is that of writing a picture.
func PNG(a *assess.Assessment, w *wording.Catalogue) ([]byte, error) {
	return Of(a, w).PNG(pixelsPerPoint)
}

// Of draws the chart of an assessment.
func Of(a *assess.Assessment, w *wording.Catalogue) *drawing.Drawing {
	return newCanvas(a, w, clinical(a, w)).draw()
}

// ForPatient draws the same chart in everyday words.
func ForPatient(a *assess.Assessment, w *wording.Catalogue) *drawing.Drawing {
	return newCanvas(a, w, plain(a, w)).draw()
}

func (c *canvas) draw() *drawing.Drawing {
	c.heading()
	for row := range c.courses {
		c.rowLabel(row)
		for column := range c.courses[row] {
			c.panel(row, column)
		}
		c.thresholdLabels(row)
	}
	c.dates()
	c.note()
	return c.drawing
}

// canvas is what every part of the chart is drawn from.
type canvas struct {
	a       *assess.Assessment
	w       *wording.Catalogue
	names   names
	drawing *drawing.Drawing
	// courses are the indices by rotation and position, oldest first.
	courses [2][3][]*measure.Symmetry
	index   axis
	days    span
	radius  float64 // of a session's mark
}

func newCanvas(a *assess.Assessment, w *wording.Catalogue, n names) *canvas {
	c := &canvas{a: a, w: w, names: n, radius: largeMark}
	var all []*measure.Symmetry
	for i, r := range shoulder.Rotations {
		for k, p := range shoulder.Positions {
			c.courses[i][k] = a.Measurements.DecidingIndices(r, p)
			all = append(all, c.courses[i][k]...)
			if len(c.courses[i][k]) > manySessions {
				c.radius = smallMark
			}
		}
	}
	c.index, c.days = axisOf(all, c.thresholds()), spanOf(all)
	c.drawing = &drawing.Drawing{
		Width: width, Height: height, Language: w.Language(),
		Title: n.title, Description: c.description(),
	}
	return c
}

func (c *canvas) thresholds() []protocol.Threshold {
	return []protocol.Threshold{c.a.Protocol.Symmetry.GoodEnough, c.a.Protocol.Symmetry.Even}
}

// description tells the chart in words: every index with its interval, and what
// stands where there is none.
func (c *canvas) description() string {
	texts := []string{c.names.subtitle}
	for i, r := range shoulder.Rotations {
		for k, p := range shoulder.Positions {
			subject := c.w.Listed(c.names.rotation(r), c.names.position(p))
			if course := c.courses[i][k]; len(course) > 0 {
				texts = append(texts, c.w.CourseOf(subject, course, c.thresholds()...))
				continue
			}
			texts = append(texts, c.w.Labelled(subject, c.levelAt(i, k)))
		}
	}
	return strings.TrimSpace(strings.Join(texts, " "))
}

// span is the time that the chart shows, the same in each panel.
type span struct{ first, last time.Time }

func spanOf(all []*measure.Symmetry) span {
	var s span
	for _, x := range all {
		if s.first.IsZero() || x.When.Before(s.first) {
			s.first = x.When
		}
		if x.When.After(s.last) {
			s.last = x.When
		}
	}
	return s
}

func (s span) days() int { return measure.DaysBetween(s.first, s.last) }

// share is how far a day lies between the ends, a half if they are one day.
func (s span) share(t time.Time) float64 {
	if s.days() == 0 {
		return 0.5
	}
	return float64(measure.DaysBetween(s.first, t)) / float64(s.days())
}
