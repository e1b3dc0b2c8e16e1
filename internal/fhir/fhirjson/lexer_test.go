package fhirjson

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
)

// tokenCases are JSON and what comes close to it.
var tokenCases = []string{
	"", " ", "null", " true ", "false", "0", "-0", "-", "01", "1.", ".5", "1.5", "1e", "1e5", "1E+5", "1e-", "-1.25e-07", "1x", "1 2",
	`""`, `"a"`, `"a`, `"`, `"\"`, `"\\"`, `"\n\/\b\f\r\t\""`, `"\x"`, `"\u00e9"`, `"\u00E9"`, `"\u00g9"`, `"\u12"`,
	`"\ud83d\ude00"`, `"\ud83d"`, `"\ude00"`, `"\ud83d\ud83d"`, `"\ud83dxx"`, `"\ud83d\n"`, `"\ud800\u0041"`,
	"\"\u00e9\u20ac\U0001f600\"", "\"\x7f\"", "\"\x1f\"", "\"1234567\x1f\"", "\"12345678\x00\"", "\"\x80\"", "\"\xed\xa0\x80\"", "\"\xc0\xaf\"", "\"1234567\xff\"", "\"\xf4\x90\x80\x80\"",
	"{}", "[]", "{ }", "[ ]", "[1]", "[1,]", "[,1]", "[1 2]", "[1,,2]", "[1", "[", "]", "[}", "{]", "{", "}", ",", ":",
	`{"a":1}`, `{"a":1,}`, `{,"a":1}`, `{"a"}`, `{"a" 1}`, `{"a",1}`, `{a:1}`, `{1:1}`, `{"a":}`, `{"a":1 "b":2}`, `{"a":1:2}`, `{"a":1,"b":[{"c":null},[]]}`,
	"\t\r\n{\n\"a\"\t:\r[ true , false ]\n}\n", "\ufeff{}", "\u00a0{}", "{}x", "{}{}", "nul", "nulll", "tru", "True", "NaN", "//", "[1]/**/",
	strings.Repeat("[", 100) + strings.Repeat("]", 100),
}

// TestTokensAreJSONs compares the lexer with jsontext, an independent reading
// of RFC 8259: both find the same tokens and stop at the same one.
func TestTokensAreJSONs(t *testing.T) {
	for _, text := range tokenCases {
		compareTokens(t, []byte(text))
	}
}

func FuzzTokens(f *testing.F) {
	for _, text := range tokenCases {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, body []byte) { compareTokens(t, body) })
}

func compareTokens(t *testing.T, body []byte) {
	t.Helper()
	for _, anyUTF8 := range []bool{false, true} {
		l := lexer{body: body, text: string(body), anyUTF8: anyUTF8}
		reference := jsontext.NewDecoder(bytes.NewBuffer(body), jsontext.AllowDuplicateNames(true), jsontext.AllowInvalidUTF8(anyUTF8))
		for n := 1; ; n++ {
			token, err := reference.ReadToken()
			found := l.scan()
			if l.after == afterAll && !found && err == nil {
				break // jsontext reads a sequence of values
			}
			if found != (err == nil) {
				t.Fatalf("%q, any UTF-8 %t, token %d: found %t; jsontext has %v", body, anyUTF8, n, found, err)
			}
			if !found {
				break
			}
			got := fmt.Sprintf("%c to byte %d, %d open", l.kind, l.end, len(l.open))
			if want := fmt.Sprintf("%c to byte %d, %d open", token.Kind(), reference.InputOffset(), reference.StackDepth()); got != want {
				t.Fatalf("%q, token %d: found %s; jsontext has %s", body, n, got, want)
			}
			if l.kind == '"' && !anyUTF8 {
				d := decoder{lexer: l}
				if got := d.unquoted(); got != token.String() {
					t.Fatalf("%q, token %d: found %q; jsontext has %q", body, n, got, token.String())
				}
			}
		}
	}
}
