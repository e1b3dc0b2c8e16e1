package fhirjson

import (
	"slices"

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
	for d.element() {
		all = s.Extend(all)
		read(d, &all[len(all)-1])
	}
	return slices.Clip(all)
}

// primitives decodes an array of primitives. A null in it, whose place holds
// extensions only, is passed over.
func (d *decoder) primitives(read func(*decoder) string) (all []string) {
	if !d.array() {
		return nil
	}
	for d.element() {
		if d.kind != 'n' {
			all = d.texts.Extend(all)
			all[len(all)-1] = read(d)
		}
	}
	return slices.Clip(all)
}
