package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
)

var (
	red   = Colour{R: 0xC0}
	blue  = Colour{B: 0xC0}
	black = Colour{}
)

// sample has one shape of each kind in its own quarter of the picture.
func sample() *Drawing {
	d := &Drawing{Width: 100, Height: 60, Title: "A sample", Description: "One shape of each kind.", Language: "en"}
	d.Add(
		Area{Corners: []Point{{5, 5}, {45, 5}, {45, 25}, {5, 25}}, Fill: red},
		Dot{Centre: Point{75, 15}, Radius: 10, Fill: blue},
		Line{Points: []Point{{5, 45}, {25, 45}, {45, 55}}, Width: 4, Colour: black},
		Label{At: Point{75, 50}, Anchor: Middle, Text: "90 %", Size: 12, Bold: true, Colour: black},
	)
	return d
}

func TestSVGIsWellFormedAndAlone(t *testing.T) {
	d := sample()
	attack := `"><script>alert(1)</script>&amp;` + "\x00\xff"
	d.Title, d.Description, d.Language = attack, attack, attack
	d.Add(Label{Text: attack, Size: 10})
	allowed := []string{"svg", "title", "desc", "rect", "polygon", "polyline", "circle", "text"}
	decoder := xml.NewDecoder(bytes.NewReader(d.SVG()))
	seen := map[string]int{}
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		element, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		seen[element.Name.Local]++
		if !slices.Contains(allowed, element.Name.Local) {
			t.Errorf("element %s", element.Name.Local)
		}
		for _, a := range element.Attr {
			if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "href" || a.Name.Local == "style" {
				t.Errorf("attribute %s=%q", a.Name.Local, a.Value)
			}
		}
	}
	for _, name := range []string{"title", "desc", "polygon", "polyline", "circle"} {
		if seen[name] != 1 {
			t.Errorf("%d of %s, want 1", seen[name], name)
		}
	}
	if seen["text"] != 2 {
		t.Errorf("%d texts, want 2", seen["text"])
	}
}

func TestSVGWritesShortNumbers(t *testing.T) {
	for x, want := range map[float64]string{1: "1", 1.5: "1.5", 1.256: "1.26", 0: "0", 100: "100", -3.10: "-3.1"} {
		w := svg{}
		w.places(x)
		if got := string(w.b); got != want {
			t.Errorf("%v is written %s, want %s", x, got, want)
		}
	}
}

func decoded(t *testing.T, d *Drawing, scale float64) image.Image {
	t.Helper()
	b, err := d.PNG(scale)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

func TestPNGShowsTheShapes(t *testing.T) {
	const scale = 2
	picture := decoded(t, sample(), scale)
	if size := picture.Bounds().Size(); size != (image.Point{X: 200, Y: 120}) {
		t.Fatalf("size %v, want 100 x 60 points at 2 pixels", size)
	}
	white := Colour{0xFF, 0xFF, 0xFF}
	for _, tt := range []struct {
		name string
		at   Point
		want Colour
	}{
		{"in the area", Point{25, 15}, red},
		{"at a corner of the area", Point{5.5, 5.5}, red},
		{"beside the area", Point{47, 15}, white},
		{"in the dot", Point{75, 15}, blue},
		{"beside the dot", Point{75, 27}, white},
		{"corner of the dot's square", Point{67, 7}, white},
		{"on the line", Point{15, 45}, black},
		{"at its bend", Point{25, 45}, black},
		{"on its second part", Point{35, 50}, black},
		{"above the line", Point{15, 41}, white},
		{"between the parts", Point{35, 45}, white},
	} {
		r, g, b, _ := picture.At(int(tt.at.X*scale), int(tt.at.Y*scale)).RGBA()
		if got := (Colour{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

// The ink of a text stands where its anchor says.
func TestPNGAnchorsText(t *testing.T) {
	for anchor, want := range map[Anchor][2]int{Start: {50, 100}, Middle: {20, 80}, End: {0, 51}} {
		d := &Drawing{Width: 100, Height: 20}
		d.Add(Label{At: Point{50, 15}, Anchor: anchor, Text: "HHHH", Size: 12})
		picture := decoded(t, d, 1)
		left, right := math.MaxInt, 0
		for y := range 20 {
			for x := range 100 {
				if color.GrayModel.Convert(picture.At(x, y)).(color.Gray).Y < 0x80 {
					left, right = min(left, x), max(right, x)
				}
			}
		}
		if left < want[0] || right > want[1] || right < left+25 {
			t.Errorf("anchor %d: ink from %d to %d, want within %v", anchor, left, right, want)
		}
	}
}

func TestShapesOutsideAreCutOff(t *testing.T) {
	d := &Drawing{Width: 10, Height: 10}
	d.Add(
		Area{Corners: []Point{{-50, -50}, {-40, -50}, {-40, -40}}, Fill: red},
		Dot{Centre: Point{500, 5}, Radius: 3, Fill: red},
		Line{Points: []Point{{-5, 5}, {15, 5}}, Width: 2, Colour: blue},
		Line{Points: []Point{{5, 5}}, Width: 2, Colour: red},
		Line{}, Area{}, Label{Text: "漢 \xff", Size: 8},
	)
	picture := decoded(t, d, 1)
	if _, _, b, _ := picture.At(0, 5).RGBA(); b>>8 != 0xC0 {
		t.Error("the line does not reach the edge")
	}
}

func TestSameDrawingSameBytes(t *testing.T) {
	svg, first := sample().SVG(), decodedBytes(t)
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			if !bytes.Equal(sample().SVG(), svg) {
				t.Error("the SVG differs")
			}
			if b, err := sample().PNG(1); err != nil || !bytes.Equal(b, first) {
				t.Errorf("the PNG differs: %v", err)
			}
		})
	}
	group.Wait()
}

func decodedBytes(t *testing.T) []byte {
	t.Helper()
	b, err := sample().PNG(1)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The union of polygons is only filled without holes if all turn the same way.
func TestStrokesTurnTheSameWay(t *testing.T) {
	points := []Point{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {-5, 3}, {20, -7}}
	polygons := strokes(points, 2)
	if len(polygons) != 5+4 { // parts and bends
		t.Errorf("%d polygons, want 5 bars and 4 discs", len(polygons))
	}
	for i, p := range polygons {
		if area(p) <= 0 {
			t.Errorf("polygon %d turns the other way: area %v", i, area(p))
		}
	}
}

// area is that of a polygon by the shoelace formula, negative if it turns the
// other way round.
func area(p []Point) (twice float64) {
	for i := range p {
		next := p[(i+1)%len(p)]
		twice += p[i].X*next.Y - next.X*p[i].Y
	}
	return twice / 2
}

func TestDashes(t *testing.T) {
	for _, tt := range []struct {
		name   string
		points []Point
		dash   Dash
		pieces int
		drawn  float64
		source string
	}{
		{"full", []Point{{0, 0}, {10, 0}}, Dash{}, 1, 10, "definition"},
		{"even", []Point{{0, 0}, {10, 0}}, Dash{3, 2}, 2, 6, "0-3 and 5-8"},
		{"cut short", []Point{{0, 0}, {6, 0}}, Dash{3, 2}, 2, 4, "0-3 and 5-6"},
		{"round a corner", []Point{{0, 0}, {2, 0}, {2, 4}}, Dash{3, 2}, 3, 4, "0-2, on to 3, and 5-6"},
		{"two points in one place", []Point{{1, 1}, {1, 1}}, Dash{3, 2}, 0, 0, "nothing to draw"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			pieces := dashed(tt.points, tt.dash)
			drawn := 0.0
			for _, p := range pieces {
				drawn += math.Hypot(p[1].X-p[0].X, p[1].Y-p[0].Y)
			}
			if len(pieces) != tt.pieces || math.Abs(drawn-tt.drawn) > 1e-9 {
				t.Errorf("%d pieces of %v, want %d of %v (%s)", len(pieces), drawn, tt.pieces, tt.drawn, tt.source)
			}
		})
	}
}
