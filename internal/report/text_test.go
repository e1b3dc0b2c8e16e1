package report

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

func TestWrap(t *testing.T) {
	for _, tt := range []struct {
		name  string
		text  string
		width int
		want  string
	}{
		{"short", "a few words", 20, "a few words"},
		{"between words", "a few words", 7, "a few|words"},
		{"to the last column", "one two", 7, "one two"},
		{"a long word starts a line of its own", "to internationalisation", 10, "to|internatio|nalisation"},
		{"spaces and line ends are one space", " a \n  b\t", 10, "a b"},
		{"characters, not bytes", "äöü äöü", 3, "äöü|äöü"},
		{"a space that holds words together", "one two\u00a0: four", 8, "one|two\u00a0:|four"},
		{"nothing", "", 10, ""},
		{"control characters vanish", "a\x1b[1mb", 10, "a[1mb"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := strings.Join(wrap(tt.text, tt.width), "|"); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// Of Unicode's categories, C and space are what printable looks for; here each rune up to the end
// of Latin Extended-B is asked for by itself.
func TestPrintable(t *testing.T) {
	for r := range rune(0x250) {
		want := string(r)
		switch {
		case r == '\u00a0': // holds its words together
		case unicode.IsSpace(r):
			want = " "
		case unicode.Is(unicode.C, r):
			want = ""
		}
		if got := printable(string(r)); got != want {
			t.Errorf("%U becomes %q, want %q", r, got, want)
		}
	}
}

// No line is too long, and no letter is lost.
func FuzzWrap(f *testing.F) {
	f.Add("a few words and averyverylongone", 7)
	f.Add("\x1b[2J\xff", 1)
	f.Add("internationalisation of a word", 10)
	f.Add("abc def ghi", 3)
	f.Fuzz(func(t *testing.T, text string, width int) {
		if width < 1 || width > 200 {
			return
		}
		lines := wrap(text, width)
		for _, line := range lines {
			if utf8.RuneCountInString(line) > width {
				t.Fatalf("%q is longer than %d", line, width)
			}
		}
		if isSimple(text) {
			cut, words := string(appendCut(nil, text, width, "\n")), string(appendWords(nil, text, width, "\n"))
			if cut != words {
				t.Fatalf("%q is cut to %q, word by word to %q", text, cut, words)
			}
		}
		letters := func(s string) string { return strings.Join(strings.Fields(printable(s)), "") }
		if letters(strings.Join(lines, "")) != letters(text) {
			t.Fatalf("%q becomes %q", text, lines)
		}
	})
}
