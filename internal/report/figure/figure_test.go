package figure

import (
	"fmt"
	"testing"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/shoulder"
)

func of(e plan.Exercise, side shoulder.Side) *drawing.Drawing {
	return Of(&e, side, "an exercise", "what it shows", "en")
}

// Every exercise with resistance has a picture of its own, which keeps to its frame and is
// told in words.
func TestEveryExerciseHasAPictureOfItsOwn(t *testing.T) {
	seen := map[string]string{}
	for _, position := range shoulder.TrainedPositions {
		for _, motion := range shoulder.Trained {
			for _, mode := range []plan.Mode{plan.Isometric, plan.Isotonic} {
				for _, side := range []shoulder.Side{shoulder.Right, shoulder.Left} {
					name := fmt.Sprint(position, " ", motion, " ", mode, " ", side)
					d := of(plan.Exercise{Position: position, Motion: motion, Mode: mode, Support: shoulder.Supported}, side)
					if d == nil || d.Description == "" || d.Title == "" || d.Language == "" {
						t.Fatalf("%s: no picture, or no words: %v", name, d)
					}
					checkFrame(t, name, d)
					if shapes := fmt.Sprint(d.Shapes); seen[shapes] != "" {
						t.Errorf("%s looks like %s", name, seen[shapes])
					} else {
						seen[shapes] = name
					}
				}
			}
		}
	}
}

func checkFrame(t *testing.T, name string, d *drawing.Drawing) {
	t.Helper()
	for _, s := range d.Shapes {
		var points []drawing.Point
		switch s := s.(type) {
		case drawing.Area:
			points = s.Corners
		case drawing.Line:
			points = s.Points
		case drawing.Dot:
			points = []drawing.Point{s.Centre}
		}
		for _, p := range points {
			if p.X < 0 || p.X > d.Width || p.Y < 0 || p.Y > d.Height {
				t.Errorf("%s: %v leaves the picture", name, p)
			}
		}
	}
}

// What has no picture is not drawn as something else.
func TestNoPicture(t *testing.T) {
	for name, e := range map[string]plan.Exercise{
		"range":    {Purpose: plan.RestoreRange, Movement: shoulder.Flexion},
		"function": {Purpose: plan.FullFunction},
		"scaption": {Mode: plan.Isotonic, Position: shoulder.Scaption90},
	} {
		if of(e, shoulder.Right) != nil {
			t.Errorf("%s has a picture", name)
		}
	}
}

// The arm rests on a table only where it is supported.
func TestSupportIsDrawn(t *testing.T) {
	e := plan.Exercise{Position: shoulder.Flexion90, Motion: shoulder.External, Mode: plan.Isotonic, Support: shoulder.Supported}
	free := e
	free.Support = shoulder.Unsupported
	if supported, held := len(of(e, shoulder.Right).Shapes), len(of(free, shoulder.Right).Shapes); supported != held+1 {
		t.Errorf("%d shapes supported, %d held free", supported, held)
	}
}

// The diary has a box for each day and row, and every name and number.
func TestDiary(t *testing.T) {
	d := Diary("day", []string{"exercise 1", "pain"}, 14)
	checkFrame(t, "diary", d)
	lines, labels := 0, 0
	for _, s := range d.Shapes {
		switch s.(type) {
		case drawing.Line:
			lines++
		case drawing.Label:
			labels++
		}
	}
	if lines != 4+15 || labels != 1+14+2 {
		t.Errorf("%d lines, want 4 across and 15 down; %d texts, want 17", lines, labels)
	}
}
