// Package typeface holds the letters of pictures and printed pages, which are
// embedded so that a page looks the same wherever it is made.
//
// The letters are Liberation Sans (SIL Open Font License 1.1): Latin, Greek,
// Cyrillic and Hebrew, as wide as Arial and Helvetica, which stand in for it
// where a picture cannot carry its own letters.
package typeface

import (
	"fmt"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Families are the families of letters for a picture that cannot carry its own,
// as CSS has them. All are equally wide.
const Families = "Liberation Sans, Arial, Helvetica, sans-serif"

// Face is one weight of the typeface. Many goroutines may use it.
type Face struct {
	// TTF is the font as a TrueType file, not to be changed.
	TTF []byte
	// Font is the same, read.
	Font *sfnt.Font

	em     fixed.Int26_6
	common [firstRare]float64 // widths of common characters, in ems
}

// firstRare is the first character beyond those of the Latin scripts, whose
// widths are kept at hand.
const firstRare = 0x250

// Regular and Bold read the weights, once.
var (
	Regular = sync.OnceValue(func() *Face { return read(liberationsansregular.TTF) })
	Bold    = sync.OnceValue(func() *Face { return read(liberationsansbold.TTF) })
)

// Weight is the bold face or the regular one.
func Weight(bold bool) *Face {
	if bold {
		return Bold()
	}
	return Regular()
}

// read reads a font that is part of the program.
func read(ttf []byte) *Face {
	parsed, err := sfnt.Parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("typeface: embedded font: %v", err))
	}
	f := &Face{TTF: ttf, Font: parsed, em: fixed.I(int(parsed.UnitsPerEm()))}
	var buffer sfnt.Buffer
	for r := range f.common {
		f.common[r] = f.advance(&buffer, rune(r))
	}
	return f
}

// Width is how wide a text is at a size, in the unit of the size. Kerning is
// left out, as in a printed page.
func (f *Face) Width(text string, size float64) float64 {
	width := 0.0
	for _, r := range text {
		if r < firstRare {
			width += f.common[r]
			continue
		}
		width += f.advance(new(sfnt.Buffer), r)
	}
	return width * size
}

// advance is the width of a character in ems, 0 for one that the face does not
// have.
func (f *Face) advance(buffer *sfnt.Buffer, r rune) float64 {
	glyph := f.glyph(buffer, r)
	if glyph == 0 {
		return 0
	}
	width, err := f.Font.GlyphAdvance(buffer, glyph, f.em, font.HintingNone)
	if err != nil {
		return 0
	}
	return float64(width) / float64(f.em)
}

// glyph is the index of a character's glyph, 0 if it cannot be shown.
func (f *Face) glyph(buffer *sfnt.Buffer, r rune) sfnt.GlyphIndex {
	if r > lastOfPlane || !unicode.IsPrint(r) && r != NoBreak {
		return 0
	}
	glyph, err := f.Font.GlyphIndex(buffer, r)
	if err != nil {
		return 0
	}
	return glyph
}

// lastOfPlane ends the first plane of Unicode; the printed page writes
// characters in two bytes.
const lastOfPlane = 0xFFFF

// unknown stands for a character without a glyph.
const unknown = '\u25A1' // white square

// NoBreak is a space at which no line breaks.
const NoBreak = '\u00a0'

// Printable makes a text that can be shown: white space becomes a space, unless it holds
// words together, control and format characters vanish, and a white square stands for what the
// typeface does not have.
func Printable(text string) string {
	if isPlain(text) {
		return text
	}
	var buffer sfnt.Buffer
	regular, bold := Regular(), Bold()
	return strings.Map(func(r rune) rune {
		switch {
		case r == NoBreak:
			return r
		case unicode.IsSpace(r):
			return ' '
		case r != utf8.RuneError && unicode.Is(unicode.C, r):
			return -1
		case regular.glyph(&buffer, r) == 0 || bold.glyph(&buffer, r) == 0:
			return unknown
		}
		return r
	}, text)
}

// isPlain reports whether a text is printable ASCII.
func isPlain(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return true
}
