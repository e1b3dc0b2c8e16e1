// Package chart draws the course of symmetry: a panel for each motion in each
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
	"evenreach.example/internal/readiness"
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
	for row := range c.rows {
		c.rowLabel(row)
		for column := range c.rows[row].panels {
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
	rows    []row
	index   axis
	days    span
	radius  float64 // of a session's mark
}

// row is the panels of one motion.
type row struct {
	motion shoulder.Rotation
	panels []panel
}

// panel is one motion in one arm position.
type panel struct {
	at     *readiness.PositionReadiness
	course []*measure.Symmetry // the indices, oldest first
}

func newCanvas(a *assess.Assessment, w *wording.Catalogue, n names) *canvas {
	c := &canvas{a: a, w: w, names: n, radius: largeMark}
	var all []*measure.Symmetry
	for i := range a.Readiness.Rotations {
		r := &a.Readiness.Rotations[i]
		panels := make([]panel, len(r.Positions))
		for k := range r.Positions {
			at := &r.Positions[k]
			panels[k] = panel{at, a.Measurements.DecidingIndices(r.Rotation, at.Position)}
			all = append(all, panels[k].course...)
			if len(panels[k].course) > manySessions {
				c.radius = smallMark
			}
		}
		c.rows = append(c.rows, row{r.Rotation, panels})
	}
	c.index, c.days = axisOf(all, c.thresholds()), spanOf(all)
	c.drawing = &drawing.Drawing{
		Width: width, Height: c.height(), Language: w.Language(),
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
	for _, r := range c.rows {
		for _, p := range r.panels {
			subject := c.w.Listed(c.names.rotation(r.motion), c.names.position(p.at.Position))
			if len(p.course) > 0 {
				texts = append(texts, c.w.CourseOf(subject, p.course, c.thresholds()...))
				continue
			}
			texts = append(texts, c.w.Labelled(subject, c.level(p)))
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
