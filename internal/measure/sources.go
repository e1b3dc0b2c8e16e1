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
	slices.Sort((*l)[from:])
	*l = (*l)[:from+len(slices.Compact((*l)[from:]))]
	return slices.Clip((*l)[from:])
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
	all := slices.Concat(lists...)
	slices.Sort(all)
	return slices.Clip(slices.Compact(all))
}
