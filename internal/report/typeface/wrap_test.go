package typeface

import (
	"strings"
	"testing"
)

// At size 1000 a digit is 556 wide and a space 278.
func TestWrap(t *testing.T) {
	for _, tt := range []struct {
		name  string
		text  string
		width float64
		want  string
	}{
		{"fits", "11 22", 3000, "11 22"},
		{"to the last letter", "11 22", 4*556.2 + 278, "11 22"},
		{"between words", "11 22", 2000, "11|22"},
		{"a long word starts a line and is cut", "1 2222222", 1700, "1|222|222|2"},
		{"a cut word goes on with the next", "2222 1", 1700, "222|2 1"},
		{"white space is one space", " 1 \n 2\t", 3000, "1 2"},
		{"a number keeps its sign", "1 22 %, 3", 2800, "1|22 %,|3"},
		{"a sign alone is a word", "% 1 N", 2000, "%|1 N"},
		{"a space that holds together", "11 22\u00a033", 2000, "11|22\u00a03|3"},
		{"nothing", " ", 3000, ""},
		{"narrower than a letter", "12", 10, "1|2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := strings.Join(Regular().Wrap(tt.text, 1000, tt.width), "|"); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// No line is too wide, and no letter is lost.
func FuzzWrap(f *testing.F) {
	f.Add("a few words and averyverylongone", 40.0)
	f.Add("\x1b[2J\xff 漢字", 20.0)
	f.Fuzz(func(t *testing.T, text string, width float64) {
		if !(width >= 20 && width < 1000) {
			return
		}
		lines := Bold().Wrap(text, 10, width)
		for _, line := range lines {
			if w := Bold().Width(line, 10); w > width+1e-9 {
				t.Fatalf("%q is %v wide, wider than %v", line, w, width)
			}
		}
		letters := func(s string) string { return strings.Join(strings.Fields(Printable(s)), "") }
		if letters(strings.Join(lines, "")) != letters(text) {
			t.Fatalf("%q becomes %q", text, lines)
		}
	})
}
