package fhirjson

import (
	"fmt"
	"reflect"
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/slab"
)

// pointer decodes a struct that is there or not.
func pointer[T any](d *decoder, s *slab.Slab[T], read func(*decoder, *T)) *T {
	v := s.One()
	read(d, v)
	return v
}

// list decodes an array.
func list[T any](d *decoder, s *slab.Slab[T], read func(*decoder, *T)) (all []T) {
	if !d.array() {
		return nil
	}
	size := int(reflect.TypeFor[T]().Size())
	for d.element() && d.takes(size) {
		all = s.Extend(all)
		read(d, &all[len(all)-1])
	}
	return slices.Clip(all)
}

// takes counts the memory of an element of a list, and ends the reading if it is too
// much. It reports whether reading goes on.
func (d *decoder) takes(size int) bool {
	if d.lists += size; d.lists > d.limits.Lists {
		d.fatal(fault.TooLong, fmt.Sprintf("found more elements of lists than fit into %d MiB of memory; expected at most that many", d.limits.Lists>>20))
	}
	return !d.stopped
}

// primitives decodes an array of primitives. A null in it, whose place holds
// extensions only, is passed over.
func (d *decoder) primitives(read func(*decoder) string) (all []string) {
	if !d.array() {
		return nil
	}
	size := int(reflect.TypeFor[string]().Size())
	for d.element() && d.takes(size) {
		if d.kind != 'n' {
			all = d.texts.Extend(all)
			all[len(all)-1] = read(d)
		}
	}
	return slices.Clip(all)
}
