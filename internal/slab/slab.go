// Package slab hands out structs that live and die together, many from one
// allocation.
package slab

// A Slab hands out structs from blocks, which cost one allocation each. The
// zero Slab is ready for use.
type Slab[T any] struct {
	block  []T
	used   int // of the block
	latest int // where in the block the list handed out last begins
	size   int // of the latest block that was made by size
}

// The lengths of the first and of the largest block: a small Bundle leaves
// little of its blocks unused, a large one allocates seldom.
const (
	firstBlock   = 4
	largestBlock = 32
)

// One hands out one zero struct.
func (s *Slab[T]) One() *T { return &s.Take(1)[0] }

// Take hands out a list of n zero structs.
func (s *Slab[T]) Take(n int) []T {
	if n > len(s.block)-s.used {
		s.size = min(max(2*s.size, firstBlock), largestBlock)
		s.block, s.used = make([]T, max(s.size, n)), 0
	}
	s.latest = s.used
	s.used += n
	return s.block[s.latest:s.used:s.used]
}

// Extend lengthens a list that Extend alone has made by a zero struct: where it
// stands, if it was handed out last. Else a list that outgrows its place moves to
// one of twice the length.
func (s *Slab[T]) Extend(list []T) []T {
	n := len(list)
	switch {
	case n < cap(list):
		return list[:n+1]
	case n > 0 && s.latest+n == s.used && s.used < len(s.block) && &list[0] == &s.block[s.latest]:
		s.used++
		return s.block[s.latest:s.used:s.used]
	}
	longer := s.Take(max(2*n, 1))[:n+1]
	copy(longer, list)
	return longer
}
