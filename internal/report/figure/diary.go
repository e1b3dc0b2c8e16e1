package figure

import (
	"strconv"

	"evenreach.example/internal/report/drawing"
)

// Sizes of the diary, in points.
const (
	diaryWide  = 520.0
	diaryNames = 100.0
	diaryRow   = 20.0
	letters    = 9.0
)

// Diary draws a grid to write in: a column for each day and a row for each name.
func Diary(day string, rows []string, days int) *drawing.Drawing {
	d := &drawing.Drawing{Width: diaryWide, Height: diaryRow*float64(len(rows)+1) + 2}
	column := func(i int) float64 { return diaryNames + float64(i)*(diaryWide-diaryNames-1)/float64(days) }
	row := func(i int) float64 { return 1 + float64(i)*diaryRow }
	for i := range len(rows) + 2 {
		d.Add(line(grey, 0.7, drawing.Point{X: 0, Y: row(i)}, drawing.Point{X: column(days), Y: row(i)}))
	}
	for i := range days + 1 {
		d.Add(line(grey, 0.7, drawing.Point{X: column(i), Y: row(0)}, drawing.Point{X: column(i), Y: row(len(rows) + 1)}))
	}
	write := func(x float64, r int, anchor drawing.Anchor, text string) {
		d.Add(drawing.Label{At: drawing.Point{X: x, Y: row(r) + 0.7*diaryRow}, Anchor: anchor, Text: text, Size: letters, Colour: ink})
	}
	write(0, 0, drawing.Start, day)
	for i := range days {
		write((column(i)+column(i+1))/2, 0, drawing.Middle, strconv.Itoa(i+1))
	}
	for i, name := range rows {
		write(0, i+1, drawing.Start, name)
	}
	return d
}
