package slab

import "strings"

// Texts allocates strings in blocks. The zero Texts is ready for use; a nil *Texts
// allocates each string by itself.
type Texts struct {
	// block is only appended to, so the strings that share its memory never
	// change.
	block strings.Builder
}

// The length of a block in bytes, and of the longest string that is put into
// one: a longer one would leave too much of the block before it unused.
const (
	textBlock   = 4096
	longestText = textBlock / 8
)

// Of returns a string with a copy of the bytes.
func (t *Texts) Of(text []byte) string {
	if t == nil || len(text) > longestText {
		return string(text)
	}
	start := t.block.Len()
	if start+len(text) > t.block.Cap() {
		t.block.Reset() // the strings keep the old block
		t.block.Grow(textBlock)
		start = 0
	}
	t.block.Write(text)
	return t.block.String()[start:]
}
