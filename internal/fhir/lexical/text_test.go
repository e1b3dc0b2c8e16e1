package lexical

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestHasByteBelow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"))
		limit := rapid.ByteMax(128).Draw(t, "limit")
		want := slices.ContainsFunc([]byte(s), func(c byte) bool { return c < limit })
		if got := hasByteBelow(s, limit); got != want {
			t.Errorf("hasByteBelow(%q, %d) = %v", s, limit, got)
		}
	})
}

// FHIR gives decimals the form of JSON numbers, so JSON decides.
func TestIsNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.RuneFrom([]rune("0123456789+-.eE x"))).Draw(t, "text")
		want := json.Valid([]byte(s)) && strings.TrimSpace(s) == s
		if got := IsNumber(s); got != want {
			t.Errorf("IsNumber(%q) = %v, want %v (encoding/json)", s, got, want)
		}
	})
}
