package fhir

import "slices"

// pointer decodes a struct that is there or not.
func pointer[T any](d *decoder, s *slab[T], read func(*decoder, *T)) *T {
	v := s.one()
	read(d, v)
	return v
}

// list decodes an array.
func list[T any](d *decoder, s *slab[T], read func(*decoder, *T)) (all []T) {
	if !d.array() {
		return nil
	}
	for d.element() {
		all = s.extend(all)
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
			all = d.texts.extend(all)
			all[len(all)-1] = read(d)
		}
	}
	return slices.Clip(all)
}

// extend lengthens a list that extend alone has made by a zero struct. A list
// that outgrows its place moves to one of twice the length.
func (s *slab[T]) extend(list []T) []T {
	n := len(list)
	if n < cap(list) {
		return list[:n+1]
	}
	longer := s.take(max(2*n, 1))[:n+1]
	copy(longer, list)
	return longer
}
