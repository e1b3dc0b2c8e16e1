package typeface

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

// The widths of Helvetica are published in the Adobe font metrics; Liberation
// Sans is metric-compatible.
func TestWidth(t *testing.T) {
	for _, tt := range []struct {
		name   string
		face   *Face
		text   string
		want   float64 // thousandths of the size
		source string
	}{
		{"nothing", Regular(), "", 0, "definition"},
		{"digits", Regular(), "0123456789", 5560, "Helvetica: 556 each"},
		{"narrow", Regular(), "il.", 222 + 222 + 278, "Helvetica: i 222, l 222, period 278"},
		{"bold", Bold(), "LSI", 611 + 667 + 278, "Helvetica-Bold: L 611, S 667, I 278"},
		{"accents are as wide as their letters", Regular(), "äé", 2 * 556, "Helvetica: a 556, e 556"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.face.Width(tt.text, 1000); math.Abs(got-tt.want) > 2.5 { // units of 1/2048 em, ten digits
				t.Errorf("%q is %.1f wide, want %.1f (%s)", tt.text, got, tt.want, tt.source)
			}
		})
	}
}

func TestWidthGrowsWithSize(t *testing.T) {
	small, large := Regular().Width("Außenrotation", 6), Regular().Width("Außenrotation", 12)
	if math.Abs(large-2*small) > 1e-9 || small <= 0 {
		t.Errorf("%v at 6, %v at 12", small, large)
	}
}

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"":                    "",
		"plain & simple":      "plain & simple",
		"90° – äöüß ≥ Ω Ж":    "90° – äöüß ≥ Ω Ж",
		"two\nlines\tand tab": "two lines and tab",
		"a\x1b[1mb\x00":       "a[1mb",
		"right \u202Eto left": "right to left",
		"漢字 😀":                "□□ □",
		"bad \xff byte":       "bad □ byte",
	} {
		if got := Printable(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// Whatever comes in, each character that comes out has a glyph and fits two
// bytes.
func FuzzPrintable(f *testing.F) {
	for _, seed := range []string{"plain", "ä漢😀\xff\u202E", strings.Repeat("x", 100)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := Printable(text)
		if !utf8.ValidString(got) {
			t.Fatalf("%q becomes %q", text, got)
		}
		for _, r := range got {
			if r > lastOfPlane || r != ' ' && Regular().Width(string(r), 1) < 0 {
				t.Fatalf("%q becomes %q, with %q", text, got, r)
			}
		}
		if again := Printable(got); again != got {
			t.Fatalf("%q becomes %q, then %q", text, got, again)
		}
	})
}
