package slab

import "strings"

// Texts hands out strings from blocks, which cost one allocation each. The zero
// Texts is ready for use; with a nil one each string is an allocation of its own.
type Texts struct {
	// block is only ever appended to, so the strings that were cut out of it
	// stay as they are.
	block strings.Builder
}

// The length of a block in bytes, and of the longest string that is put into
// one: a longer one would leave too much of the block before it unused.
const (
	textBlock   = 4096
	longestText = textBlock / 8
)

// Of hands out a string of these bytes.
func (t *Texts) Of(text []byte) string {
	if t == nil || len(text) > longestText {
		return string(text)
	}
	start := t.block.Len()
	if start+len(text) > t.block.Cap() {
		t.block.Reset() // leaves the block to its strings
		t.block.Grow(textBlock)
		start = 0
	}
	t.block.Write(text)
	return t.block.String()[start:]
}
