// Package eight looks at the bytes of a text eight at a time, which is several
// times faster than one by one.
//
// Bytes are marked by the highest bit in their place: bytes that are not ASCII
// mark themselves, and Below and Is mark ASCII. So what is searched for is
// written x | Below(x, ' ') | Is(x, '"'), and First says where it first is.
package eight

import "math/bits"

const (
	ones  = 0x0101010101010101
	marks = 0x80 * ones
)

// Bytes are the first eight bytes of s, which the compiler loads at once.
func Bytes(s string) uint64 {
	_ = s[7]
	return uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 |
		uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
}

// Below marks the first byte of ASCII that is below c, and perhaps bytes after
// it: a subtraction sets the highest bit of a byte below what is subtracted, and
// may then wrongly set those of later bytes, never of earlier ones.
func Below(x uint64, c byte) uint64 { return x - uint64(c)*ones }

// Is marks the first byte of ASCII that is c, and perhaps bytes after it.
func Is(x uint64, c byte) uint64 { return Below(x^uint64(c)*ones, 1) }

// First is the place of the first marked byte, 8 if there is none.
func First(marked uint64) int { return bits.TrailingZeros64(marked&marks) / 8 }
