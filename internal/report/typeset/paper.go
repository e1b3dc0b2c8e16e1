package typeset

import "fmt"

// Paper is the size of a sheet, in points, upright.
type Paper struct{ Width, Height float64 }

// The sizes that printers have.
//
// Source: ISO 216 (210 mm x 297 mm); ANSI/ASME Y14.1 (8.5 in x 11 in).
var (
	A4     = Paper{595.28, 841.89}
	Letter = Paper{612, 792}
)

var papers = map[string]Paper{"a4": A4, "letter": Letter}

// UnmarshalText reads the name of a size: a4 or letter.
func (p *Paper) UnmarshalText(text []byte) error {
	named, ok := papers[string(text)]
	if !ok {
		return fmt.Errorf("paper %q: expected a4 or letter", text)
	}
	*p = named
	return nil
}

// inside is the sheet without its margins.
func (p Paper) inside() frame {
	return frame{marginSide, p.Width - marginSide, marginTop, p.Height - marginBottom}
}
