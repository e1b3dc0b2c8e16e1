// Package chart draws the course of symmetry: a panel for each motion in each
// arm position, with the limb symmetry index of every session, its interval of
// measurement error, what all sessions show together, how that may go on, and the
// thresholds. What is told by colour is told by
// shape, place and words as well, so that it prints in black and white.
package chart

import (
	"strings"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/course"
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
	motion shoulder.Motion
	panels []panel
}

// panel is one motion in one arm position.
type panel struct {
	at       *readiness.PositionReadiness
	sessions []*measure.Symmetry // the indices, oldest first
	// together is what all sessions show together, nil where one decides alone, and while
	// a red flag or a doubt stands, which goes by what was measured; track is the same over
	// time, and fan how it may go on.
	together   *course.TestCourse
	track, fan []course.Estimate
}

func newCanvas(a *assess.Assessment, w *wording.Catalogue, n names) *canvas {
	c := &canvas{a: a, w: w, names: n, radius: largeMark}
	var tracks [][]course.Estimate
	if a.Course != nil {
		tracks = a.Course.Tracks()
	}
	for i := range a.Readiness.Motions {
		r := &a.Readiness.Motions[i]
		panels := make([]panel, len(r.Positions))
		for k := range r.Positions {
			panels[k] = c.panelOf(r.Motion, &r.Positions[k], tracks)
			if len(panels[k].sessions) > manySessions {
				c.radius = smallMark
			}
		}
		c.rows = append(c.rows, row{r.Motion, panels})
	}
	c.index, c.days = c.axis(), c.span()
	c.drawing = &drawing.Drawing{
		Width: width, Height: c.height(), Language: w.Language(),
		Title: n.title, Description: c.description(),
	}
	return c
}

// panelOf is the panel of a motion in a position.
func (c *canvas) panelOf(r shoulder.Motion, at *readiness.PositionReadiness, tracks [][]course.Estimate) panel {
	p := panel{at: at, sessions: c.a.Measurements.DecidingIndices(r, at.Position), together: together(c.a, at)}
	if p.together == nil || len(p.sessions) == 0 {
		return p
	}
	p.track = from(measure.DaysBetween(c.a.Course.Start, p.sessions[0].When), tracks[c.a.Course.IndexOf(p.together)])
	if c.names.ahead {
		p.fan = c.a.Course.Fan(p.together, c.a.Plan.Recheck.Forecast(c.a.Course, &p.together.Outlook).Latest)
	}
	return p
}

// from is a track from what the measurements of a day showed on, the day being there twice.
func from(day int, track []course.Estimate) []course.Estimate {
	for len(track) > 1 && track[1].Day <= day {
		track = track[1:]
	}
	return track
}

// together is what all sessions show together of a position, nil where the chart shows what
// was measured alone.
func together(a *assess.Assessment, at *readiness.PositionReadiness) *course.TestCourse {
	if len(a.Readiness.Flags)+len(a.Readiness.Doubts) > 0 {
		return nil
	}
	return a.TogetherOf(at)
}

// levels reports whether the course of a panel levels off below evenness, and may be said
// to.
func (c *canvas) levels(p panel) bool {
	return p.together != nil && c.names.ahead && p.together.Outlook.Prospect == course.Levelling
}

func (c *canvas) thresholds() []protocol.Threshold {
	return []protocol.Threshold{c.a.Protocol.Symmetry.GoodEnough, c.a.Protocol.Symmetry.Even}
}

// description tells the chart in words: every index with its interval, what all sessions
// show together and how that may go on, and what stands where there is no index.
func (c *canvas) description() string {
	texts := []string{c.names.subtitle}
	for _, r := range c.rows {
		for _, p := range r.panels {
			subject := c.w.Listed(c.names.motion(r.motion), c.names.position(p.at.Position))
			if len(p.sessions) == 0 {
				texts = append(texts, c.w.Labelled(subject, c.level(p)))
				continue
			}
			texts = append(texts, c.w.CourseOf(subject, p.sessions, c.thresholds()...))
			if p.together != nil {
				texts = append(texts, c.names.together(p.together))
			}
		}
	}
	return strings.TrimSpace(strings.Join(texts, " "))
}
