package chart

import (
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/shoulder"
)

// The layout, in points.
const (
	width = 720

	margin      = 10
	leftGutter  = 124 // row labels and ticks
	rightGutter = 114 // names of the thresholds
	tickWidth   = 28  // of the gutter, for the numbers of the ticks
	panelGap    = 14
	panelWidth  = (width - leftGutter - rightGutter - 2*panelGap) / 3.0
	panelHeight = 126
	firstPanel  = 84
	rowGap      = 22
	headRoom    = 48 // above a row with heads of its own: two lines of dates, then heads
	belowPanels = 50 // dates and the note

	beforeFirst = 16 // from a panel's edge to the first session
	afterLast   = 44 // room for the latest number
	afterFan    = 10 // from the end of the forecasts to the edge

	largeMark    = 4.0 // radius
	smallMark    = 3.0 // of many sessions, to keep them apart
	manySessions = 8

	titleSize = 16.0
	bodySize  = 12.0
	tickSize  = 11.0

	lineHeight = 16.0
)

var (
	black = drawing.Colour{}
	ink   = drawing.Colour{R: 0x33, G: 0x33, B: 0x33}
	frame = drawing.Colour{R: 0x99, G: 0x99, B: 0x99}
	grid  = drawing.Colour{R: 0xDD, G: 0xDD, B: 0xDD}
	empty = drawing.Colour{R: 0xF3, G: 0xF3, B: 0xF3}
	white = drawing.Colour{R: 0xFF, G: 0xFF, B: 0xFF}
)

// style tells one motion from the other, in colour or without: blue,
// orange-red and green are safe for colour-blind readers.
//
// Source: Okabe and Ito 2008, Color Universal Design (blue, and vermillion made
// darker for contrast).
type style struct {
	line, band, edge drawing.Colour
	fan              drawing.Colour // of what may come
	dash             drawing.Dash
	square           bool // a white square marks a session instead of a dot
}

var styles = [len(shoulder.Motions)]style{
	{
		line: drawing.Colour{G: 0x5C, B: 0x99}, band: drawing.Colour{R: 0xD6, G: 0xE7, B: 0xF3},
		edge: drawing.Colour{R: 0x86, G: 0xB4, B: 0xD2}, fan: drawing.Colour{R: 0xF0, G: 0xF6, B: 0xFA},
	},
	{
		line: drawing.Colour{R: 0xA8, G: 0x41}, band: drawing.Colour{R: 0xF8, G: 0xE4, B: 0xD6},
		edge: drawing.Colour{R: 0xD9, G: 0xA4, B: 0x7E}, fan: drawing.Colour{R: 0xFD, G: 0xF5, B: 0xEF}, dash: drawing.Dash{Stroke: 6, Gap: 3}, square: true,
	},
	{
		line: drawing.Colour{G: 0x6B, B: 0x4E}, band: drawing.Colour{R: 0xD4, G: 0xEC, B: 0xE3},
		edge: drawing.Colour{R: 0x7F, G: 0xC0, B: 0xA6}, fan: drawing.Colour{R: 0xEF, G: 0xF8, B: 0xF4}, dash: drawing.Dash{Stroke: 2, Gap: 3},
	},
}

// Lines of the thresholds.
var (
	fullLine   = drawing.Dash{}
	brokenLine = drawing.Dash{Stroke: 4, Gap: 3}
	fineDots   = drawing.Dash{Stroke: 1.5, Gap: 2.5} // of what may come
)

// box is a panel's place.
type box struct{ left, top, right, bottom float64 }

func boxAt(row, column int) box {
	left := leftGutter + float64(column)*(panelWidth+panelGap)
	top := firstPanel + float64(row)*(panelHeight+rowGap)
	if further := row - len(shoulder.Trained) + 1; further > 0 {
		top += float64(further) * headRoom
	}
	return box{left, top, left + panelWidth, top + panelHeight}
}

// height is that of the whole chart. Where it looks ahead there are two lines of dates.
func (c *canvas) height() float64 {
	height := boxAt(len(c.rows)-1, 0).bottom + belowPanels + float64(len(c.names.notes)-1)*lineHeight
	if c.days.ahead() > 0 {
		height += lineHeight
	}
	return height
}

func rectangle(left, top, right, bottom float64) []drawing.Point {
	return []drawing.Point{{X: left, Y: top}, {X: right, Y: top}, {X: right, Y: bottom}, {X: left, Y: bottom}}
}
