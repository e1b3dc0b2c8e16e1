package slab_test

import (
	"slices"
	"testing"

	"evenreach.example/internal/slab"
	"pgregory.net/rapid"
)

// TestListsKeepTheirElements lengthens lists in turns and wants each to hold what
// was put into it, and new elements to be zero.
func TestListsKeepTheirElements(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s slab.Slab[int]
		lists, want := make([][]int, 4), make([][]int, 4)
		for n := range rapid.IntRange(1, 200).Draw(t, "steps") {
			i := rapid.IntRange(0, len(lists)).Draw(t, "list")
			if i == len(lists) {
				taken := s.Take(rapid.IntRange(0, 40).Draw(t, "length"))
				if slices.ContainsFunc(taken, func(x int) bool { return x != 0 }) {
					t.Fatalf("taken %v, want zeros", taken)
				}
				for k := range taken {
					taken[k] = -1
				}
				continue
			}
			lists[i] = s.Extend(lists[i])
			last := len(lists[i]) - 1
			if last != len(want[i]) || lists[i][last] != 0 {
				t.Fatalf("lengthened to %v, want %v and 0", lists[i], want[i])
			}
			lists[i][last] = n + 1
			want[i] = append(want[i], n+1)
		}
		for i := range lists {
			if !slices.Equal(lists[i], want[i]) {
				t.Fatalf("list %d is %v, want %v", i, lists[i], want[i])
			}
		}
	})
}

// TestListGrowsInPlace wants a list that is lengthened alone to cost no more than
// its elements.
func TestListGrowsInPlace(t *testing.T) {
	allocations := testing.AllocsPerRun(100, func() {
		var s slab.Slab[int]
		s.Take(4) // the first block
		var list []int
		for range 8 {
			list = s.Extend(list)
		}
	})
	if allocations > 2 {
		t.Errorf("%v allocations, want one for each block", allocations)
	}
}

func TestOneAfterAnother(t *testing.T) {
	var s slab.Slab[string]
	first, second := s.One(), s.One()
	*first, *second = "a", "b"
	if *first != "a" || *second != "b" || first == second {
		t.Errorf("%q and %q share their memory", *first, *second)
	}
}
