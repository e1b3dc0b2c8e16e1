package chart

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/course"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// over are visits every three weeks, with all tests of a rotation alike.
func over(external, internal []int) (v []shouldertest.Visit) {
	for i := range external {
		v = append(v, shouldertest.Visit{
			Day: 21 * i, ER: shouldertest.All(strconv.Itoa(external[i])), IR: shouldertest.All(strconv.Itoa(internal[i])),
		})
	}
	return v
}

// The courses of a fast recovery, of one that stands still, and of one that breaks off.
var (
	recovering = over([]int{60, 76, 87, 89}, []int{64, 80, 88, 89})
	still      = over([]int{62, 61, 63, 62, 61, 62}, []int{71, 73, 72, 72, 73, 72})
	breaking   = over([]int{60, 76, 87, 40}, []int{64, 80, 88, 45})
)

func ofProspect(a *assess.Assessment, p course.Prospect) (tests []*course.TestCourse) {
	for _, t := range a.Ahead() {
		if t.Outlook.Prospect == p {
			tests = append(tests, t)
		}
	}
	return tests
}

// filled counts the areas of one of the colours of the motions.
func filled(d *drawing.Drawing, of func(style) drawing.Colour) (n int) {
	for _, s := range d.Shapes {
		area, ok := s.(drawing.Area)
		if ok && slices.ContainsFunc(styles[:], func(s style) bool { return area.Fill == of(s) }) {
			n++
		}
	}
	return n
}

func bands(d *drawing.Drawing) int { return filled(d, func(s style) drawing.Colour { return s.band }) }
func fans(d *drawing.Drawing) int  { return filled(d, func(s style) drawing.Colour { return s.fan }) }

func TestFanOfEachForecast(t *testing.T) {
	a := assessed(recovering...)
	want := len(ofProspect(a, course.Forecast))
	if d := Of(a, words()); want == 0 || fans(d) != want || bands(d) != 6 {
		t.Errorf("%d fans and %d bands, want %d and six", fans(d), bands(d), want)
	}
	if d := ForPatient(a, words()); fans(d) != 0 || bands(d) != 6 {
		t.Errorf("%d fans and %d bands for the patient, want none, because the page promises nothing, and six", fans(d), bands(d))
	}
}

// A red flag is shown as measured: no band of all sessions, and nothing of the time to come.
func TestNoFanBesideARedFlag(t *testing.T) {
	a := assessed(breaking...)
	if len(a.Readiness.Flags) == 0 {
		t.Fatal("no red flag: want one where all tests fell by half")
	}
	d := Of(a, words())
	if fans(d) != 0 || strings.Contains(d.Description, "sessions together") {
		t.Errorf("%d fans; the description is %q", fans(d), d.Description)
	}
	for _, line := range words().ChartNote(a.Protocol.Error.Interval, wording.ChartMarks{Together: true}) {
		if count(d, line) != 0 {
			t.Errorf("the note says %q", line)
		}
	}
}

// A course that levels off has a line at its level, from the last session on.
func TestLevelIsDrawn(t *testing.T) {
	a := assessed(still...)
	c := newCanvas(a, words(), clinical(a, words()))
	d, b := c.draw(), boxAt(0, 0)
	levelling := ofProspect(a, course.Levelling)
	if len(levelling) != 6 {
		t.Fatalf("%d tests level off, want six that stand still", len(levelling))
	}
	y := b.bottom - c.index.share(levelling[0].Outlook.Plateau)*panelHeight
	found := slices.ContainsFunc(d.Shapes, func(s drawing.Shape) bool {
		line, ok := s.(drawing.Line)
		return ok && line.Dash == fineDots && line.Points[0].Y == y && line.Points[1] == drawing.Point{X: b.right, Y: y}
	})
	if !found || fans(d) != 0 {
		t.Errorf("a level at %.1f: %v; %d fans", y, found, fans(d))
	}
}

// Who cannot see the chart is told what all sessions show, and what may come.
func TestDescriptionTellsWhatMayCome(t *testing.T) {
	for _, tt := range []struct {
		visits []shouldertest.Visit
		want   []string
	}{
		{recovering, []string{"All 4 sessions together: LSI ", "if it goes on so, which is no promise."}},
		{still, []string{"All 6 sessions together: LSI ", "levelling off at about "}},
	} {
		got := Of(assessed(tt.visits...), words()).Description
		for _, want := range tt.want {
			if !strings.Contains(got, want) {
				t.Errorf("no %q in %q", want, got)
			}
		}
	}
}

func TestChartOfWhatMayComeIsLegible(t *testing.T) {
	for _, language := range wording.Languages() {
		for name, v := range map[string][]shouldertest.Visit{"recovering": recovering, "still": still, "breaking": breaking} {
			checkLegible(t, language+" "+name, Of(assessed(v...), wording.For(language)))
			checkLegible(t, language+" "+name+", for the patient", ForPatient(assessed(v...), wording.For(language)))
		}
	}
}
