package fhirjson

import (
	"testing"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
)

// FuzzQuoted holds strings as Encode writes them against those of jsontext.
func FuzzQuoted(f *testing.F) {
	for _, s := range []string{
		"", "a", "\"", "\\", "\x00\b\t\n\f\r\x1f\x7f", "äöü", "𝄞", "\u2028\u2029", "\xff", "a\xc3", "\xed\xa0\x80", "\xf4\x90\x80\x80", "<div class=\"a\">ä &amp; b</div>",
		"1234567", "12345678", "123456789abcdef", "123456789abcde\n", "12345678\"abcdefghijk", "1234567ä9",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := string(appendQuoted([]byte("x"), s))
		want, err := jsontext.AppendQuote([]byte("x"), s) // an error says that s is no UTF-8
		if (err == nil) != utf8.ValidString(s) {
			t.Fatalf("jsontext says %v of %q", err, s)
		}
		if got != string(want) {
			t.Errorf("%q is written as %s, want %s", s, got, want)
		}
	})
}
