package drawing

import "math"

// strokes are polygons, all turning the same way round, that together cover a
// line through points: a bar for each part and a disc at each bend.
func strokes(points []Point, half float64) (polygons [][]Point) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		if length == 0 {
			continue
		}
		across := Point{-(b.Y - a.Y) / length * half, (b.X - a.X) / length * half}
		polygons = append(polygons, []Point{
			{a.X + across.X, a.Y + across.Y}, {a.X - across.X, a.Y - across.Y},
			{b.X - across.X, b.Y - across.Y}, {b.X + across.X, b.Y + across.Y},
		})
		if i > 1 {
			polygons = append(polygons, circle(a, half))
		}
	}
	return polygons
}

// circleCorners makes a circle of a few points look round.
const circleCorners = 32

// circle turns the same way round as the bars of a stroke.
func circle(centre Point, radius float64) []Point {
	corners := make([]Point, circleCorners)
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / circleCorners)
		corners[i] = Point{centre.X + radius*cos, centre.Y + radius*sin}
	}
	return corners
}

// dashed cuts a line into its strokes.
func dashed(points []Point, d Dash) [][]Point {
	if d.Stroke <= 0 || d.Gap <= 0 {
		return [][]Point{points}
	}
	var pieces [][]Point
	left, drawn := d.Stroke, true // of the present stroke or gap
	for i := 1; i < len(points); i++ {
		from, to := points[i-1], points[i]
		length := math.Hypot(to.X-from.X, to.Y-from.Y)
		if length == 0 {
			continue
		}
		at := 0.0
		for at < length {
			step := min(left, length-at)
			if drawn {
				pieces = append(pieces, []Point{between(from, to, at/length), between(from, to, (at+step)/length)})
			}
			at, left = at+step, left-step
			if left <= 0 {
				drawn = !drawn
				left = d.Gap
				if drawn {
					left = d.Stroke
				}
			}
		}
	}
	return pieces
}

func between(a, b Point, share float64) Point {
	return Point{a.X + (b.X-a.X)*share, a.Y + (b.Y-a.Y)*share}
}
