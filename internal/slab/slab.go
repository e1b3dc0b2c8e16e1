// Package slab hands out structs that live and die together, many from one
// allocation.
package slab

// A Slab hands out structs from blocks, which cost one allocation each. The
// zero Slab is ready for use.
type Slab[T any] struct {
	free  []T
	block int // length of the latest block
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
	if n > len(s.free) {
		s.block = min(max(2*s.block, firstBlock), largestBlock)
		s.free = make([]T, max(s.block, n))
	}
	taken := s.free[:n:n]
	s.free = s.free[n:]
	return taken
}

// Extend lengthens a list that Extend alone has made by a zero struct. A list
// that outgrows its place moves to one of twice the length.
func (s *Slab[T]) Extend(list []T) []T {
	n := len(list)
	if n < cap(list) {
		return list[:n+1]
	}
	longer := s.Take(max(2*n, 1))[:n+1]
	copy(longer, list)
	return longer
}
