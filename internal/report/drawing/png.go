package drawing

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"evenreach.example/internal/report/typeface"
)

// PNG paints the picture with so many pixels a point.
func (d *Drawing) PNG(scale float64) ([]byte, error) {
	width, height := int(math.Ceil(d.Width*scale)), int(math.Ceil(d.Height*scale))
	p := painter{image: image.NewRGBA(image.Rect(0, 0, width, height)), scale: scale, faces: map[letters]font.Face{}}
	draw.Draw(p.image, p.image.Bounds(), image.White, image.Point{}, draw.Src)
	for _, s := range d.Shapes {
		p.shape(s)
	}
	if p.err != nil {
		return nil, p.err
	}
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed} // hardly larger, and half the time
	if err := encoder.Encode(&out, p.image); err != nil {
		return nil, fmt.Errorf("write a PNG: %w", err)
	}
	return out.Bytes(), nil
}

// painter paints shapes into pixels. The first error stops it.
type painter struct {
	image *image.RGBA
	scale float64
	faces map[letters]font.Face
	err   error
}

// letters is a size and weight of letters.
type letters struct {
	size float64
	bold bool
}

func (p *painter) shape(s Shape) {
	switch s := s.(type) {
	case Area:
		p.fill(s.Fill, s.Corners)
	case Line:
		for _, piece := range dashed(s.Points, s.Dash) {
			p.fill(s.Colour, strokes(piece, s.Width/2)...)
		}
	case Dot:
		p.fill(s.Fill, circle(s.Centre, s.Radius))
	case Label:
		p.label(s)
	}
}

// fill fills the union of polygons that all turn the same way round.
func (p *painter) fill(c Colour, polygons ...[]Point) {
	box := p.box(polygons).Intersect(p.image.Bounds())
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, polygon := range polygons {
		for i, corner := range polygon {
			x, y := float32(corner.X*p.scale)-float32(box.Min.X), float32(corner.Y*p.scale)-float32(box.Min.Y)
			if i == 0 {
				r.MoveTo(x, y)
				continue
			}
			r.LineTo(x, y)
		}
		r.ClosePath()
	}
	r.Draw(p.image, box, image.NewUniform(rgb(c)), image.Point{})
}

// box is the pixels that polygons touch.
func (p *painter) box(polygons [][]Point) image.Rectangle {
	low, high := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, polygon := range polygons {
		for _, corner := range polygon {
			low = Point{min(low.X, corner.X), min(low.Y, corner.Y)}
			high = Point{max(high.X, corner.X), max(high.Y, corner.Y)}
		}
	}
	if low.X > high.X {
		return image.Rectangle{}
	}
	return image.Rect(
		int(math.Floor(low.X*p.scale)), int(math.Floor(low.Y*p.scale)),
		int(math.Ceil(high.X*p.scale)), int(math.Ceil(high.Y*p.scale)))
}

func rgb(c Colour) color.RGBA { return color.RGBA{c.R, c.G, c.B, 0xFF} }

func (p *painter) label(l Label) {
	face := p.face(letters{l.Size, l.Bold})
	if p.err != nil {
		return
	}
	drawer := font.Drawer{
		Dst: p.image, Src: image.NewUniform(rgb(l.Colour)), Face: face,
		Dot: fixed.Point26_6{X: pixels(l.Left() * p.scale), Y: pixels(l.At.Y * p.scale)},
	}
	drawer.DrawString(typeface.Printable(l.Text))
}

func pixels(x float64) fixed.Int26_6 { return fixed.Int26_6(math.Round(x * 64)) }

func (p *painter) face(k letters) font.Face {
	if face, ok := p.faces[k]; ok || p.err != nil {
		return face
	}
	const dpi = 72 // a point is a pixel, times the scale
	face, err := opentype.NewFace(typeface.Weight(k.bold).Font, &opentype.FaceOptions{Size: k.size * p.scale, DPI: dpi})
	if err != nil {
		p.err = fmt.Errorf("letters of size %g: %w", k.size, err)
		return nil
	}
	p.faces[k] = face
	return face
}
