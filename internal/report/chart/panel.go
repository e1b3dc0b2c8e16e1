package chart

import (
	"strconv"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

func (c *canvas) y(b box, index float64) float64 {
	return b.bottom - c.index.share(index)*(b.bottom-b.top)
}

func (c *canvas) x(b box, t time.Time) float64 {
	if c.days.days() == 0 {
		return (b.left + b.right) / 2
	}
	first, last := b.left+beforeFirst, b.right-afterLast
	if c.days.ahead() > 0 {
		last = b.right - afterFan
	}
	return first + c.days.share(t)*(last-first)
}

func (c *canvas) label(x, y float64, anchor drawing.Anchor, text string, size float64, bold bool, colour drawing.Colour) {
	c.drawing.Add(drawing.Label{At: drawing.Point{X: x, Y: y}, Anchor: anchor, Text: text, Size: size, Bold: bold, Colour: colour})
}

func (c *canvas) line(colour drawing.Colour, width float64, dash drawing.Dash, points ...drawing.Point) {
	c.drawing.Add(drawing.Line{Points: points, Width: width, Colour: colour, Dash: dash})
}

func (c *canvas) heading() {
	c.label(margin, 24, drawing.Start, c.names.title, titleSize, true, black)
	c.label(margin, 44, drawing.Start, c.names.subtitle, bodySize, false, ink)
	for i := range c.rows {
		if i == 0 || i >= len(shoulder.Trained) { // the trained motions share their heads
			c.columnHeads(i)
		}
	}
}

// columnHeads names the arm positions above a row.
func (c *canvas) columnHeads(row int) {
	for column, p := range c.rows[row].panels {
		b := boxAt(row, column)
		name := wording.Capital(c.names.position(p.at.Position))
		if typeface.Bold().Width(name, bodySize) > panelWidth {
			name = wording.Capital(c.names.positionShort(p.at.Position))
		}
		c.label(b.left, b.top-10, drawing.Start, name, bodySize, true, black)
	}
}

func (c *canvas) note() {
	for i, line := range c.names.notes {
		c.label(margin, c.height()-10-float64(len(c.names.notes)-1-i)*lineHeight, drawing.Start, line, tickSize, false, ink)
	}
}

// rowLabel names a rotation beside its panels, with the mark of its sessions.
func (c *canvas) rowLabel(row int) {
	b := boxAt(row, 0)
	y := (b.top+b.bottom)/2 - 14
	c.line(styles[row].line, 2, styles[row].dash, drawing.Point{X: margin, Y: y}, drawing.Point{X: margin + 30, Y: y})
	c.mark(drawing.Point{X: margin + 15, Y: y}, styles[row], largeMark)
	y += 6
	name := wording.Capital(c.names.motion(c.rows[row].motion))
	for _, line := range typeface.Bold().Wrap(name, bodySize, leftGutter-margin-tickWidth) {
		y += lineHeight
		c.label(margin, y, drawing.Start, line, bodySize, true, black)
	}
	for _, tick := range c.index.ticks() {
		c.label(b.left-6, c.y(b, tick)+4, drawing.End, strconv.Itoa(int(tick)), tickSize, false, ink)
	}
}

// thresholdLabels names the thresholds at the end of a row, one above the
// other however close they are.
func (c *canvas) thresholdLabels(row int) {
	b := boxAt(row, len(c.rows[row].panels)-1)
	p := &c.a.Protocol.Symmetry
	even, good := c.y(b, p.Even.Value.Float64()), c.y(b, p.GoodEnough.Value.Float64())
	const apart = tickSize + 2
	if overlap := apart - (good - even); overlap > 0 {
		even, good = even-overlap/2, good+overlap/2
	}
	c.label(b.right+6, even+4, drawing.Start, c.names.even, tickSize, false, black)
	c.label(b.right+6, good+4, drawing.Start, c.names.goodEnough, tickSize, false, black)
}

func (c *canvas) panel(row, column int) {
	b, p := boxAt(row, column), c.rows[row].panels[column]
	corners := rectangle(b.left, b.top, b.right, b.bottom)
	if len(p.sessions) == 0 {
		c.drawing.Add(drawing.Area{Corners: corners, Fill: empty})
		c.line(frame, 1, fullLine, append(corners, corners[0])...)
		c.inMiddle(b, c.level(p))
		return
	}
	for _, tick := range c.index.ticks() {
		c.across(b, tick, grid, fullLine)
	}
	if len(p.track) > 0 {
		c.together(b, p, styles[row])
	} else {
		c.errors(b, p.sessions, styles[row])
	}
	c.across(b, c.a.Protocol.Symmetry.GoodEnough.Value.Float64(), black, brokenLine)
	c.across(b, c.a.Protocol.Symmetry.Even.Value.Float64(), black, fullLine)
	c.course(b, p.sessions, styles[row])
	c.line(frame, 1, fullLine, append(corners, corners[0])...)
	c.sessions(b, p.sessions)
	c.latest(b, p)
}

// inMiddle writes a text in the middle of a panel.
func (c *canvas) inMiddle(b box, text string) {
	lines := typeface.Regular().Wrap(text, bodySize, b.right-b.left-2*beforeFirst)
	y := (b.top+b.bottom)/2 + 4 - lineHeight*float64(len(lines)-1)/2
	for i, line := range lines {
		c.label((b.left+b.right)/2, y+lineHeight*float64(i), drawing.Middle, line, bodySize, false, ink)
	}
}

// across draws a line at an index through a panel.
func (c *canvas) across(b box, index float64, colour drawing.Colour, dash drawing.Dash) {
	y := c.y(b, index)
	c.line(colour, 1, dash, drawing.Point{X: b.left, Y: y}, drawing.Point{X: b.right, Y: y})
}

// sessions marks the days of the sessions under a panel.
func (c *canvas) sessions(b box, course []*measure.Symmetry) {
	for _, x := range course {
		at := c.x(b, x.When)
		c.line(frame, 1, fullLine, drawing.Point{X: at, Y: b.bottom}, drawing.Point{X: at, Y: b.bottom + 4})
	}
}

// dates names the first and the last day under the last of the trained motions, and
// under each further row.
func (c *canvas) dates() {
	if c.days.first.IsZero() {
		return
	}
	for i := len(shoulder.Trained) - 1; i < len(c.rows); i++ {
		c.datesUnder(i)
	}
}

func (c *canvas) datesUnder(row int) {
	for column := range c.rows[row].panels {
		b := boxAt(row, column)
		c.date(b, c.days.first, 0)
		if c.days.ahead() > 0 {
			c.date(b, c.days.last, lineHeight)
			c.date(b, c.days.end, 0)
		} else if c.days.days() > 0 {
			c.date(b, c.days.last, 0)
		}
	}
}

// date names a day under a panel, so far below the first line of dates, within the panel.
func (c *canvas) date(b box, t time.Time, below float64) {
	text := c.w.Date(t)
	half := typeface.Regular().Width(text, tickSize) / 2
	at := min(max(c.x(b, t), b.left+half), b.right-half)
	c.label(at, b.bottom+tickSize+5+below, drawing.Middle, text, tickSize, false, ink)
}
