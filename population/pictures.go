package population

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"evenreach.example/internal/report/drawing"
)

// The colours are shades of grey: the pictures are read in black and white.
var (
	black = drawing.Colour{}
	dark  = drawing.Colour{R: 0x44, G: 0x44, B: 0x44}
	pale  = drawing.Colour{R: 0xDD, G: 0xDD, B: 0xDD}
	band  = drawing.Colour{R: 0xD9, G: 0xD9, B: 0xD9}
	white = drawing.Colour{R: 0xFF, G: 0xFF, B: 0xFF}
)

// plot is a rectangle of a drawing with axes.
type plot struct {
	d                      *drawing.Drawing
	left, top, wide, tall  float64
	fromX, toX, fromY, toY float64
}

func (p *plot) x(value float64) float64 {
	return p.left + p.wide*(value-p.fromX)/math.Max(p.toX-p.fromX, 1)
}

func (p *plot) y(value float64) float64 {
	value = math.Min(math.Max(value, p.fromY), p.toY)
	return p.top + p.tall*(1-(value-p.fromY)/(p.toY-p.fromY))
}

func (p *plot) at(x, y float64) drawing.Point { return drawing.Point{X: p.x(x), Y: p.y(y)} }

func (p *plot) label(x, y float64, anchor drawing.Anchor, text string) {
	p.d.Add(drawing.Label{At: drawing.Point{X: x, Y: y}, Anchor: anchor, Text: text, Size: 11, Colour: black})
}

// frame draws the lines of the grid and the numbers beside them.
func (p *plot) frame(stepX, stepY float64, number func(float64) string) {
	for y := math.Ceil(p.fromY/stepY) * stepY; y <= p.toY; y += stepY {
		p.d.Add(drawing.Line{Points: []drawing.Point{p.at(p.fromX, y), p.at(p.toX, y)}, Width: 0.5, Colour: pale})
		p.label(p.left-4, p.y(y)+4, drawing.End, number(y))
	}
	for x := p.fromX; x <= p.toX; x += stepX {
		p.d.Add(drawing.Line{Points: []drawing.Point{{X: p.x(x), Y: p.top + p.tall}, {X: p.x(x), Y: p.top + p.tall + 3}}, Width: 0.75, Colour: black})
		p.label(p.x(x), p.top+p.tall+14, drawing.Middle, number(x))
	}
	p.d.Add(drawing.Line{Points: []drawing.Point{{X: p.left, Y: p.top}, {X: p.left, Y: p.top + p.tall}, {X: p.left + p.wide, Y: p.top + p.tall}}, Width: 1, Colour: black})
}

// stepOf is a step that makes at most so many parts.
func stepOf(span float64, parts int) float64 {
	for _, step := range [...]float64{1, 2, 4, 8, 13, 26} {
		if span/step <= float64(parts) {
			return step
		}
	}
	return 52
}

// curvesPicture shows the curves of one group: a panel for each rotation and position.
func (p *page) curvesPicture(all []Curve) *drawing.Drawing {
	const columns, wide, tall, gapX, gapY = 3, 180.0, 130.0, 52.0, 66.0
	rows := (len(all) + columns - 1) / columns
	d := &drawing.Drawing{
		Width: 40 + columns*(wide+gapX), Height: float64(rows)*(tall+gapY) + 10, Language: p.w.Language(),
		Title: p.t.Curves + ": " + p.since(all[0].group),
	}
	last := 0.0
	for i := range all {
		last = math.Max(last, float64(all[i].Points[len(all[i].Points)-1].Week))
	}
	for i := range all {
		panel := &plot{
			d: d, left: 40 + float64(i%columns)*(wide+gapX), top: 24 + float64(i/columns)*(tall+gapY), wide: wide, tall: tall,
			toX: math.Max(last, 1), fromY: 40, toY: 120,
		}
		p.curve(panel, &all[i])
		first, end := all[i].Points[0], all[i].Points[len(all[i].Points)-1]
		d.Description += fmt.Sprintf("%s: %s %d, %s %% (%s – %s); %s %d, %s %% (%s – %s). ", p.test(all[i].Motion, all[i].Position),
			p.t.Week, first.Week, p.w.Decimal(first.P50, 0), p.w.Decimal(first.P10, 0), p.w.Decimal(first.P90, 0),
			p.t.Week, end.Week, p.w.Decimal(end.P50, 0), p.w.Decimal(end.P10, 0), p.w.Decimal(end.P90, 0))
	}
	return d
}

// curve draws one panel. Weeks of which too few patients are known are gaps.
func (p *page) curve(panel *plot, c *Curve) {
	whole := func(x float64) string { return p.w.Decimal(x, 0) }
	panel.d.Add(drawing.Label{At: drawing.Point{X: panel.left, Y: panel.top - 8}, Text: p.test(c.Motion, c.Position), Size: 11, Bold: true, Colour: black})
	panel.frame(stepOf(panel.toX, 6), 20, whole)
	for _, part := range unbroken(c.Points) {
		var low, middle, high []drawing.Point
		for _, point := range part {
			week := float64(point.Week)
			low, middle, high = append(low, panel.at(week, point.P10)), append(middle, panel.at(week, point.P50)), append(high, panel.at(week, point.P90))
		}
		for _, side := range [][]drawing.Point{low, high} {
			if len(side) == 1 { // a week alone
				side = []drawing.Point{{X: side[0].X - 4, Y: side[0].Y}, {X: side[0].X + 4, Y: side[0].Y}}
			}
			panel.d.Add(drawing.Line{Points: side, Width: 1, Colour: dark, Dash: drawing.Dash{Stroke: 4, Gap: 3}})
		}
		panel.d.Add(drawing.Line{Points: middle, Width: 2.5, Colour: black})
		for _, at := range middle {
			panel.d.Add(drawing.Dot{Centre: at, Radius: 1.8, Fill: black})
		}
	}
	below := panel.top + panel.tall + 28
	panel.label(panel.left-24, below, drawing.End, p.t.Number)
	apart := math.Inf(-1)
	for _, point := range c.Points {
		if x := panel.x(float64(point.Week)); x-apart >= 34 {
			panel.label(x, below, drawing.Middle, strconv.Itoa(point.Patients))
			apart = x
		}
	}
}

// unbroken splits points where weeks are missing.
func unbroken(points []Point) (parts [][]Point) {
	for i := range points {
		if i == 0 || points[i].Week > points[i-1].Week+1 {
			parts = append(parts, nil)
		}
		parts[len(parts)-1] = append(parts[len(parts)-1], points[i])
	}
	return parts
}

// readyPicture shows the share that is ready, its band, the masses of Turnbull as dots, and
// the numbers at risk.
func (p *page) readyPicture(r *TimeToReady) *drawing.Drawing {
	d := &drawing.Drawing{Width: 640, Height: 284, Language: p.w.Language(), Title: p.t.Ready + ": " + p.since(r.group)}
	last := r.Weeks[len(r.Weeks)-1]
	panel := &plot{d: d, left: 84, top: 30, wide: 530, tall: 190, toX: math.Max(float64(last.Week), 1), toY: 100}
	upper, lower, line := []drawing.Point{}, []drawing.Point{}, []drawing.Point{}
	for i, s := range r.Weeks {
		from, to := float64(s.Week), math.Min(float64(s.Week+1), panel.toX)
		if i > 0 {
			from = float64(r.Weeks[i].Week)
		}
		upper = append(upper, panel.at(from, s.High), panel.at(to, s.High))
		lower = append(lower, panel.at(from, s.Low), panel.at(to, s.Low))
		line = append(line, panel.at(from, s.Ready), panel.at(to, s.Ready))
	}
	corners := append([]drawing.Point{}, upper...)
	for _, corner := range slices.Backward(lower) {
		corners = append(corners, corner)
	}
	d.Add(drawing.Area{Corners: corners, Fill: band})
	panel.frame(stepOf(panel.toX, 14), 20, func(x float64) string { return p.w.Decimal(x, 0) })
	d.Add(drawing.Line{Points: line, Width: 2, Colour: black})
	for _, m := range r.Between {
		d.Add(drawing.Dot{Centre: panel.at(m.To, m.Ready), Radius: 3.2, Fill: black}, drawing.Dot{Centre: panel.at(m.To, m.Ready), Radius: 2, Fill: white})
	}
	panel.label(panel.left-20, panel.top+panel.tall+32, drawing.End, p.t.AtRisk)
	step := int(stepOf(panel.toX, 12))
	for _, s := range r.Weeks {
		if s.Week%step == 0 {
			panel.label(panel.x(float64(s.Week)), panel.top+panel.tall+32, drawing.Middle, strconv.Itoa(s.AtRisk))
		}
	}
	panel.label(4, 16, drawing.Start, p.t.ReadyShare)
	panel.label(panel.left+panel.wide, panel.top+panel.tall+50, drawing.End, p.t.Week)
	d.Description = fmt.Sprintf("%s %d: %s %% (%s – %s).", p.t.Week, last.Week, p.w.Decimal(last.Ready, 0), p.w.Decimal(last.Low, 0), p.w.Decimal(last.High, 0))
	return d
}

// devicePicture is the control chart of an instrument.
func (p *page) devicePicture(device *Device) *drawing.Drawing {
	d := &drawing.Drawing{Width: 640, Height: 190, Language: p.w.Language(), Title: p.fill(p.t.Device, device.Device)}
	reach := 5.0
	for _, m := range device.Months {
		reach = math.Max(reach, math.Ceil(math.Max(math.Abs(m.Percent), m.Limit)/5)*5)
	}
	panel := &plot{d: d, left: 60, top: 20, wide: 560, tall: 120, fromX: -0.5, toX: float64(len(device.Months)) - 0.5, fromY: -reach, toY: reach}
	for y := -reach; y <= reach; y += reach / 2 {
		d.Add(drawing.Line{Points: []drawing.Point{panel.at(-0.5, y), panel.at(panel.toX, y)}, Width: 0.5, Colour: pale})
		panel.label(panel.left-4, panel.y(y)+4, drawing.End, p.w.Decimal(y, 1))
	}
	d.Add(drawing.Line{Points: []drawing.Point{panel.at(-0.5, 0), panel.at(panel.toX, 0)}, Width: 1, Colour: black})
	panel.label(4, 12, drawing.Start, p.t.Difference)
	for i, m := range device.Months {
		x := float64(i)
		for _, y := range [...]float64{-m.Limit, m.Limit} {
			d.Add(drawing.Line{Points: []drawing.Point{panel.at(x-0.5, y), panel.at(x+0.5, y)}, Width: 1.2, Colour: dark, Dash: drawing.Dash{Stroke: 4, Gap: 3}})
		}
		at := panel.at(x, m.Percent)
		if m.Outside {
			d.Add(drawing.Area{Corners: []drawing.Point{{X: at.X - 5, Y: at.Y - 5}, {X: at.X + 5, Y: at.Y - 5}, {X: at.X + 5, Y: at.Y + 5}, {X: at.X - 5, Y: at.Y + 5}}, Fill: black})
		} else {
			d.Add(drawing.Dot{Centre: at, Radius: 3, Fill: black})
		}
		if len(device.Months) <= 12 || i%2 == 0 {
			panel.label(at.X, panel.top+panel.tall+14, drawing.Middle, m.Month)
			panel.label(at.X, panel.top+panel.tall+28, drawing.Middle, p.t.Number+"="+strconv.Itoa(m.Patients))
		}
		d.Description += fmt.Sprintf("%s: %s %% (± %s). ", m.Month, p.w.Decimal(m.Percent, 1), p.w.Decimal(m.Limit, 1))
	}
	return d
}
