package measure

import (
	"slices"

	"evenreach.example/internal/shoulder"
)

// sourceLists holds the source lists of many results in one allocation, one list after the
// other.
type sourceLists []shoulder.SourceID

// extend appends an id to the latest list, unless it ends with it. A nil list begins a new
// one. The lists have no spare capacity, so that appending to one elsewhere does not
// overwrite the next.
func (l *sourceLists) extend(list []shoulder.SourceID, id shoulder.SourceID) []shoulder.SourceID {
	n := len(list)
	if n > 0 && list[n-1] == id {
		return list
	}
	*l = append(*l, id)
	return slices.Clip((*l)[len(*l)-n-1:])
}

// union adds the Union of several lists as the next list.
func (l *sourceLists) union(lists ...[]shoulder.SourceID) []shoulder.SourceID {
	from := len(*l)
	for _, list := range lists {
		*l = append(*l, list...)
	}
	list := eachOnce((*l)[from:])
	*l = (*l)[:from+len(list)]
	return list
}

// withSource is an ascending list with one more id.
func withSource(sources []shoulder.SourceID, id shoulder.SourceID) []shoulder.SourceID {
	at, found := slices.BinarySearch(sources, id)
	if found {
		return sources
	}
	return slices.Insert(sources, at, id)
}

// Union is the inputs of several lists, ascending, each once.
func Union(lists ...[]shoulder.SourceID) []shoulder.SourceID {
	return eachOnce(slices.Concat(lists...))
}

// eachOnce sorts a list and removes repeated ids and spare capacity.
func eachOnce(list []shoulder.SourceID) []shoulder.SourceID {
	slices.Sort(list)
	return slices.Clip(slices.Compact(list))
}
