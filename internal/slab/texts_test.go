package slab

import (
	"strings"
	"testing"
)

// Strings stay as they were handed out, whatever becomes of the bytes that they
// were made of and however many strings follow.
func TestTexts(t *testing.T) {
	for name, texts := range map[string]*Texts{"blocks": {}, "nil": nil} {
		t.Run(name, func(t *testing.T) {
			var got, want []string
			for n := range 2 * textBlock / longestText * 3 {
				text := []byte(strings.Repeat(string(rune('a'+n%26)), n*29%(longestText+2)))
				want = append(want, string(text))
				got = append(got, texts.Of(text))
				clear(text)
			}
			for i := range want {
				if got[i] != want[i] {
					t.Fatalf("string %d of %d bytes is %q", i, len(want[i]), got[i])
				}
			}
		})
	}
}

func TestTextsTakeFewAllocations(t *testing.T) {
	text := []byte("external rotation at 90 degrees of flexion")
	allocations := testing.AllocsPerRun(10, func() {
		var texts Texts
		for range 90 {
			texts.Of(text)
		}
	})
	if allocations > 1 {
		t.Errorf("%v allocations for %d bytes", allocations, 90*len(text))
	}
}
