package markup

import (
	"encoding/xml"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestEscape(t *testing.T) {
	for in, want := range map[string]string{
		"":                    "",
		"plain":               "plain",
		"a < b & c > d":       "a &lt; b &amp; c &gt; d",
		`"it's"`:              "&#34;it&#39;s&#34;",
		"90° – ä 漢 😀":         "90° – ä 漢 😀",
		"line\nbreak\ttab\r":  "line\nbreak\ttab\r",
		"nul\x00 esc\x1b":     "nul\uFFFD esc\uFFFD",
		"bad\xff utf\xc3":     "bad\uFFFD utf\uFFFD",
		"no\ufffecharacter":   "no\uFFFDcharacter",
		"&amp; stays doubled": "&amp;amp; stays doubled",
	} {
		if got := string(AppendText(nil, in)); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// What is escaped reads back as it was, whatever it was.
func FuzzEscape(f *testing.F) {
	for _, seed := range []string{`"><img src=x onerror=alert(1)>`, "a\x00b\x1b[31mred", "\xff\xfe broken", "\ufffe\uffff", "<![CDATA[x]]>"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		element := append(AppendText([]byte(`<p title="`), text), `">`...)
		element = append(AppendText(element, text), "</p>"...)
		var back struct {
			Title string `xml:"title,attr"`
			Text  string `xml:",chardata"`
		}
		if err := xml.Unmarshal(element, &back); err != nil {
			t.Fatalf("%q: %v", element, err)
		}
		want := strings.Map(func(r rune) rune {
			if r < ' ' && !strings.ContainsRune("\t\n\r", r) || r == 0xFFFE || r == 0xFFFF {
				return utf8.RuneError
			}
			return r
		}, text)
		want = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(want)
		if back.Text != want || back.Title != want {
			t.Fatalf("%q reads back as %q and %q", want, back.Text, back.Title)
		}
	})
}
