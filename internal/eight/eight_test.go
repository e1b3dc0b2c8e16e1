package eight

import (
	"strings"
	"testing"
)

// Every byte is found at every place, behind bytes that are near to what is
// searched for.
func TestFirst(t *testing.T) {
	for c := range 256 {
		special := byte(c) >= 0x80 || byte(c) < ' ' || byte(c) == '"' || byte(c) == 0x7F
		for _, filler := range []string{" ", "!", "#", "~", "a"} {
			for place := range 8 {
				text := strings.Repeat(filler, place) + string([]byte{byte(c)}) + strings.Repeat("\x00", 7-place)
				x := Bytes(text)
				got := First(x | Below(x, ' ') | Is(x, '"') | Is(x, 0x7F))
				want := place
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
