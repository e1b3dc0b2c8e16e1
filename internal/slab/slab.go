// Package slab allocates the structs and texts of one request in blocks, so that
// many of them cost one allocation. A block is freed only when nothing refers to any
// part of it: use a Slab for values that become garbage at the same time.
package slab

// A Slab allocates values of type T in blocks. The zero Slab is ready for use. It is
// not safe for use by several goroutines.
type Slab[T any] struct {
	block  []T
	used   int // of the block
	latest int // index in the block at which the latest list begins
	size   int // length of the latest block, for that of the next
}

// The lengths of the first and of the largest block: a small Bundle leaves
// little of its blocks unused, a large one allocates seldom.
const (
	firstBlock   = 4
	largestBlock = 32
)

// longList is the length from which a list grows by less than its length: with twice the
// length, three lengths are held while it is copied.
const longList = 1024

// One returns a pointer to a new zero value.
func (s *Slab[T]) One() *T { return &s.Take(1)[0] }

// Take returns a new slice of n zero values, with no capacity beyond them.
func (s *Slab[T]) Take(n int) []T {
	if n > len(s.block)-s.used {
		s.size = min(max(2*s.size, firstBlock), largestBlock)
		s.block, s.used = make([]T, max(s.size, n)), 0
	}
	s.latest = s.used
	s.used += n
	return s.block[s.latest:s.used:s.used]
}

// Extend appends a zero value to a slice that was made by Extend alone, starting
// from nil. The latest slice grows where it is; another one that has no capacity left
// is copied to one of twice the length, or of a quarter more if it is long, as append does.
func (s *Slab[T]) Extend(list []T) []T {
	n := len(list)
	switch {
	case n < cap(list):
		return list[:n+1]
	case n > 0 && s.latest+n == s.used && s.used < len(s.block) && &list[0] == &s.block[s.latest]:
		s.used++
		return s.block[s.latest:s.used:s.used]
	}
	longer := s.Take(max(min(2*n, n+n/4+longList), 1))[:n+1]
	copy(longer, list)
	return longer
}
