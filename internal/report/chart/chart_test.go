package chart

import (
	"bytes"
	"encoding/xml"
	"image"
	"image/png"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// The comparison side of these visits pulls 100 N, so that strengths are
// indices.
func visits() map[string][]shouldertest.Visit {
	three := [3]string{"92.5", "78", "61.25"}
	many := make([]shouldertest.Visit, 12)
	for i := range many {
		many[i] = shouldertest.Visit{
			Day: 14 * i, ER: shouldertest.All(strconv.Itoa(50 + 4*i)), IR: shouldertest.All(strconv.Itoa(95 - 2*i)),
		}
	}
	return map[string][]shouldertest.Visit{
		"nothing":   {{}},
		"one visit": {{ER: three, IR: shouldertest.All("89.96")}},
		"one position": {
			{ER: [3]string{"70"}},
			{Day: 14, ER: [3]string{"74.99"}},
			{Day: 28, ER: [3]string{"90"}},
		},
		"twelve visits":       many,
		"far off the scale":   {{ER: [3]string{"1234.5", "3", "60"}}, {Day: 7, ER: [3]string{"2000", "0.4", "60"}}},
		"long numbers":        {{ER: shouldertest.All("89.9999999")}, {Day: 7, ER: shouldertest.All("74.9999999")}},
		"twice on one day":    {{ER: three}, {ER: three}},
		"manual grades alone": {{Grades: [3]shoulder.MuscleGrade{shoulder.Grade4Plus, shoulder.Grade3Minus, shoulder.Grade5}}},
	}
}

func assessed(v ...shouldertest.Visit) *assess.Assessment {
	return assess.Assess(shouldertest.Episode(v...), protocol.Default(), shouldertest.Day(v[len(v)-1].Day))
}

func words() *wording.Catalogue { return wording.For("en") }

// labels are the texts of a chart.
func labels(d *drawing.Drawing) (all []drawing.Label) {
	for _, s := range d.Shapes {
		if l, ok := s.(drawing.Label); ok {
			all = append(all, l)
		}
	}
	return all
}

func count(d *drawing.Drawing, text string) (n int) {
	for _, l := range labels(d) {
		if l.Text == text {
			n++
		}
	}
	return n
}

func TestLatestIndexIsWritten(t *testing.T) {
	for _, tt := range []struct {
		visits string
		label  string
		times  int
		source string
	}{
		{"one visit", "92.5", 1, "92.5 N of 100 N"},
		{"one visit", "78.0", 1, "78 N of 100 N"},
		{"one visit", "61.3", 1, "61.25 N of 100 N, half up"},
		{"one visit", "89.96", 3, "not printed as 90, which it does not reach"},
		{"one position", "90.0", 1, "the latest of three"},
		{"one position", "74.99", 0, "not the latest"},
		{"one position", "not measured", 5, "six tests, one measured"},
		{"twelve visits", "94.0", 3, "50 + 4 x 11"},
		{"twelve visits", "73.0", 3, "95 - 2 x 11"},
		{"far off the scale", "2000.0", 1, "2000 N of 100 N"},
		{"manual grades alone", "good enough", 4, "4+ and 5 of both rotations, broken into two lines"},
	} {
		if got := count(Of(assessed(visits()[tt.visits]...), words()), tt.label); got != tt.times {
			t.Errorf("%s: %q stands %d times, want %d (%s)", tt.visits, tt.label, got, tt.times, tt.source)
		}
	}
}

// The index of the first visit holds no more after a test of one side at the second: 60 days
// lie between, and no test of the other side is carried over more than 42 (the protocol's).
func TestAnEndedIndexHasNoNumber(t *testing.T) {
	e := shouldertest.Episode(shouldertest.Visit{ER: [3]string{"92"}}, shouldertest.Visit{Day: 60, ER: [3]string{"80"}})
	later := &e.Sessions[1]
	later.Trials = slices.DeleteFunc(later.Trials, func(x shoulder.Trial) bool { return x.Side != e.Involved })
	d := Of(assess.Assess(e, protocol.Default(), shouldertest.Day(60)), words())
	if count(d, "92.0") != 0 || count(d, "sides tested apart") != 1 {
		t.Errorf("labels %v, want no number and once that the sides were tested apart", labels(d))
	}
}

// A mark stands on the height of its index: linear from the axis' low end at a
// panel's bottom to its high end at the top.
func TestMarksStandAtTheirIndex(t *testing.T) {
	a := assessed(shouldertest.Visit{ER: [3]string{"90", "75", "100"}})
	b, c := boxAt(0, 0), newCanvas(a, words(), clinical(a, words()))
	d := c.draw()
	if c.index != (axis{50, 150}) { // interval of 100 with errors of 10 %: to 126
		t.Fatalf("axis %v", c.index)
	}
	var heights []float64
	for _, s := range d.Shapes {
		if dot, ok := s.(drawing.Dot); ok && dot.Centre.X > b.left {
			heights = append(heights, dot.Centre.Y)
		}
	}
	want := []float64{b.bottom - 0.40*panelHeight, b.bottom - 0.25*panelHeight, b.bottom - 0.50*panelHeight}
	if !slices.EqualFunc(heights, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
		t.Errorf("marks at %v, want %v (40, 25 and 50 %% of the way from 50 to 150)", heights, want)
	}
}

// An interval without limits is no band: a dotted line runs through the panel.
func TestIntervalWithoutLimits(t *testing.T) {
	p := *protocol.Default()
	p.Error.Usual.Value = exact.Int(70) // g = (1.645 x 0.7)^2 is over 1
	e := shouldertest.Episode(shouldertest.Visit{ER: [3]string{"80"}})
	d := Of(assess.Assess(e, &p, shouldertest.Day(0)), words())
	checkLegible(t, "without limits", d)
	if count(d, words().ChartNote(p.Error.Interval, wording.ChartMarks{Unbounded: true})[0]) != 1 {
		t.Error("nothing says what the dotted lines mean")
	}
	dotted := 0
	for _, s := range d.Shapes {
		switch s := s.(type) {
		case drawing.Area:
			if s.Fill == styles[0].band {
				t.Error("a band is drawn")
			}
		case drawing.Line:
			if s.Dash.Stroke == 1.5 && s.Points[0].Y == boxAt(0, 0).top && s.Points[1].Y == boxAt(0, 0).bottom {
				dotted++
			}
		}
	}
	if dotted != 1 || !strings.Contains(d.Description, words().Interval(assess.Assess(e, &p, shouldertest.Day(0)).Measurements.Symmetries[0].Interval)) {
		t.Errorf("%d dotted lines, description %q", dotted, d.Description)
	}
}

// extent is the place of a label: letters rise by less than 0.75 of their size
// and hang by less than 0.22.
func extent(l drawing.Label) box {
	wide := typeface.Weight(l.Bold).Width(l.Text, l.Size)
	left := l.At.X
	switch l.Anchor {
	case drawing.Middle:
		left -= wide / 2
	case drawing.End:
		left -= wide
	}
	return box{left, l.At.Y - 0.75*l.Size, left + wide, l.At.Y + 0.22*l.Size}
}

// checkLegible reports texts that leave the picture, overlap, or are small.
func checkLegible(t interface{ Errorf(string, ...any) }, name string, d *drawing.Drawing) {
	all := labels(d)
	for i, l := range all {
		a := extent(l)
		if a.left < 0 || a.top < 0 || a.right > d.Width || a.bottom > d.Height {
			t.Errorf("%s: %q leaves the picture: %v", name, l.Text, a)
		}
		if l.Size < 11 {
			t.Errorf("%s: %q is set in %v points", name, l.Text, l.Size)
		}
		for _, other := range all[i+1:] {
			if b := extent(other); a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom {
				t.Errorf("%s: %q and %q overlap", name, l.Text, other.Text)
			}
		}
	}
	for _, s := range d.Shapes {
		if l, ok := s.(drawing.Line); ok {
			for _, p := range l.Points {
				if !(p.X >= 0 && p.X <= d.Width && p.Y >= 0 && p.Y <= d.Height) {
					t.Errorf("%s: a line leaves the picture at %v", name, p)
				}
			}
		}
	}
}

func TestChartIsLegible(t *testing.T) {
	for _, language := range wording.Languages() {
		for name, v := range visits() {
			checkLegible(t, language+" "+name, Of(assessed(v...), wording.For(language)))
			checkLegible(t, language+" "+name+", for the patient", ForPatient(assessed(v...), wording.For(language)))
		}
	}
}

// Whatever was measured, on whatever days.
func TestAnyCourseIsLegible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		strength := rapid.Custom(func(t *rapid.T) string {
			if rapid.Bool().Draw(t, "missing") {
				return ""
			}
			return strconv.FormatFloat(float64(rapid.IntRange(1, 30000).Draw(t, "tenths"))/100, 'f', -1, 64)
		})
		var v []shouldertest.Visit
		day := 0
		for range rapid.IntRange(1, 14).Draw(t, "visits") {
			day += rapid.IntRange(0, 60).Draw(t, "days")
			visit := shouldertest.Visit{Day: day}
			for k := range 3 {
				visit.ER[k], visit.IR[k] = strength.Draw(t, "er"), strength.Draw(t, "ir")
			}
			v = append(v, visit)
		}
		checkLegible(t, "any", Of(assessed(v...), words()))
	})
}

// Thresholds that lie close together keep their names apart.
func TestCloseThresholds(t *testing.T) {
	for _, language := range wording.Languages() {
		for _, thresholds := range [][2]string{{"90", "91"}, {"77.5", "92.5"}, {"90", "90"}} {
			p := *protocol.Default()
			p.Symmetry.GoodEnough.Value, p.Symmetry.Even.Value = exact.MustParse(thresholds[0]), exact.MustParse(thresholds[1])
			a := assess.Assess(shouldertest.Episode(shouldertest.Visit{ER: shouldertest.All("80")}), &p, shouldertest.Day(0))
			checkLegible(t, language+" "+thresholds[0], Of(a, wording.For(language)))
			checkLegible(t, language+" "+thresholds[0], ForPatient(a, wording.For(language)))
		}
	}
}

// The two rotations differ without colour, and everything has contrast.
//
// Source: Web Content Accessibility Guidelines 2.1, 1.4.1 (use of colour),
// 1.4.3 (text, 4.5 to 1) and 1.4.11 (graphics, 3 to 1).
func TestToldApartWithoutColour(t *testing.T) {
	if styles[0].dash == styles[1].dash || styles[0].square == styles[1].square {
		t.Error("only colour tells the rotations apart")
	}
	for _, s := range styles {
		for _, ground := range [...]drawing.Colour{white, s.band} {
			if c := contrast(s.line, ground); c < 3 {
				t.Errorf("line %v on %v has contrast %.1f", s.line, ground, c)
			}
		}
	}
	for _, ground := range [...]drawing.Colour{white, empty} {
		if c := contrast(ink, ground); c < 4.5 {
			t.Errorf("text on %v has contrast %.1f", ground, c)
		}
	}
}

func contrast(a, b drawing.Colour) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func luminance(c drawing.Colour) float64 {
	linear := func(part uint8) float64 {
		s := float64(part) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

func TestFormsOfTheChart(t *testing.T) {
	for name, v := range visits() {
		a := assessed(v...)
		svg := SVG(a, words())
		if err := xml.Unmarshal(svg, new(struct{})); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		b, err := PNG(a, words())
		if err != nil {
			t.Fatal(err)
		}
		size, err := png.DecodeConfig(bytes.NewReader(b))
		if err != nil || (image.Point{X: size.Width, Y: size.Height}) != (image.Point{X: 2 * width, Y: 2 * 408}) {
			t.Errorf("%s: %d x %d pixels, %v", name, size.Width, size.Height, err)
		}
		again, _ := PNG(assessed(visits()[name]...), words())
		if !bytes.Equal(b, again) || !bytes.Equal(svg, SVG(assessed(visits()[name]...), words())) {
			t.Errorf("%s: other bytes the second time", name)
		}
	}
}

// Those who cannot see the chart are told every index.
func TestDescriptionTellsTheCourse(t *testing.T) {
	got := Of(assessed(visits()["one position"]...), words()).Description
	for _, want := range []string{
		"External rotation, arm at the side: 2026-03-02 70.0 % (",
		"; 2026-03-16 74.99 % (", "; 2026-03-30 90.0 % (67.", // Fieller, a standard error of 10 % x sqrt(1.5) for one trial
		"External rotation, 90 degrees of flexion: not measured.",
		"Internal rotation, 90 degrees of abduction: not measured.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in %q", want, got)
		}
	}
}

func BenchmarkSVG(b *testing.B) {
	a := assessed(visits()["twelve visits"]...)
	b.ReportAllocs()
	for b.Loop() {
		SVG(a, words())
	}
}

func BenchmarkPNG(b *testing.B) {
	a := assessed(visits()["twelve visits"]...)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := PNG(a, words()); err != nil {
			b.Fatal(err)
		}
	}
}
