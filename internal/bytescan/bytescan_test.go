package bytescan

import (
	"strings"
	"testing"
)

// Every byte is found at every index, after bytes that are close to what is
// searched for.
func TestFirstMarked(t *testing.T) {
	for c := range 256 {
		special := byte(c) >= 0x80 || byte(c) < ' ' || byte(c) == '"' || byte(c) == 0x7F
		for _, filler := range []string{" ", "!", "#", "~", "a"} {
			for index := range 8 {
				text := strings.Repeat(filler, index) + string([]byte{byte(c)}) + strings.Repeat("\x00", 7-index)
				x := Load(text)
				got := FirstMarked(x | MarkBelow(x, ' ') | MarkEqual(x, '"') | MarkEqual(x, 0x7F))
				want := index
				if !special {
					want++ // the first NUL
				}
				if got != want {
					t.Errorf("%q: special at %d, want %d", text, got, want)
				}
			}
		}
	}
}
