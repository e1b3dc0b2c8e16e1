package measure

import (
	"slices"

	"evenreach.example/internal/shoulder"
)

// sourceLists holds the sources of many results, one list after the other: one
// piece of memory instead of a small one for each.
type sourceLists []shoulder.SourceID

// extend returns the latest list with an id more, unless it ends with it. A nil
// list begins the next. No list has room behind it, so that one that is
// appended to elsewhere leaves the next alone.
func (l *sourceLists) extend(list []shoulder.SourceID, id shoulder.SourceID) []shoulder.SourceID {
	n := len(list)
	if n > 0 && list[n-1] == id {
		return list
	}
	*l = append(*l, id)
	return slices.Clip((*l)[len(*l)-n-1:])
}

// union is Union as the next list.
func (l *sourceLists) union(lists ...[]shoulder.SourceID) []shoulder.SourceID {
	from := len(*l)
	for _, list := range lists {
		*l = append(*l, list...)
	}
	list := eachOnce((*l)[from:])
	*l = (*l)[:from+len(list)]
	return list
}

// withSource is an ascending list with an id more.
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

// eachOnce puts a list in ascending order, each id once and no room behind.
func eachOnce(list []shoulder.SourceID) []shoulder.SourceID {
	slices.Sort(list)
	return slices.Clip(slices.Compact(list))
}
