package typeset

// Paper is the size of a sheet, in points, upright.
type Paper struct{ Width, Height float64 }

// The sizes that printers have.
//
// Source: ISO 216 (210 mm x 297 mm); ANSI/ASME Y14.1 (8.5 in x 11 in).
var (
	A4     = Paper{595.28, 841.89}
	Letter = Paper{612, 792}
)

// inside is the sheet without its margins.
func (p Paper) inside() frame {
	return frame{marginSide, p.Width - marginSide, marginTop, p.Height - marginBottom}
}
