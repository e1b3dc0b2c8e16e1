package intake

import "strings"

// texts keeps texts that live and die together, many in one piece of memory.
type texts struct {
	piece strings.Builder
	size  int // of the latest piece
}

// The sizes of the first and of the largest piece: a small Bundle leaves little
// of its pieces unused, a large one allocates seldom.
const (
	firstPiece   = 512
	largestPiece = 8192
)

// keep is a text as a string.
func (t *texts) keep(text []byte) string {
	if len(text) > t.piece.Cap()-t.piece.Len() {
		t.size = min(max(2*t.size, firstPiece), largestPiece)
		t.piece.Reset()
		t.piece.Grow(max(t.size, len(text)))
	}
	start := t.piece.Len()
	t.piece.Write(text)
	return t.piece.String()[start:]
}
