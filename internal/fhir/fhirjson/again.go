package fhirjson

import (
	"strings"

	"evenreach.example/internal/slab"
)

// memory holds values of one type that the decoder has read, each with its
// text. The Observations of a history repeat most of their values letter by
// letter: the category, the codes, the patient. To compare a text takes a
// twentieth of the time of reading it, and the values share their memory.
type memory[T any] struct {
	known  []known[T]
	next   int // where to search first: values follow one another as they did before
	oldest int
}

// known is a value with the text it was read from.
type known[T any] struct {
	text  string
	depth int // of open brackets when it was read
	value T
}

// maxKnown is how many values of a type are remembered: an Observation has
// fewer concepts, and to search much longer would cost more than it gains.
const maxKnown = 16

// valueAgain, pointerAgain and listAgain are the current value, read anew only if
// its text is not remembered.

func valueAgain[T any](d *decoder, m *memory[T], v *T, read func(*decoder, *T)) {
	if !recall(d, m, v) {
		from := d.mark()
		read(d, v)
		keep(d, m, from, *v)
	}
}

func pointerAgain[T any](d *decoder, m *memory[*T], s *slab.Slab[T], read func(*decoder, *T)) (v *T) {
	if !recall(d, m, &v) {
		from := d.mark()
		v = pointer(d, s, read)
		keep(d, m, from, v)
	}
	return v
}

func listAgain[T any](d *decoder, m *memory[[]T], s *slab.Slab[T], read func(*decoder, *T)) (v []T) {
	if !recall(d, m, &v) {
		from := d.mark()
		v = list(d, s, read)
		keep(d, m, from, v)
	}
	return v
}

// mark is where the decoder stands at the start of a value.
type mark struct {
	kind     byte
	start    int
	depth    int
	problems int
}

func (d *decoder) mark() mark { return mark{d.kind, d.start, len(d.open), d.problems} }

// recall sets v to the remembered value whose text stands here, if there is one,
// and passes over that text. An object or array ends where its brackets do, so
// what begins with all of a remembered text holds the same value.
func recall[T any](d *decoder, m *memory[T], v *T) bool {
	if d.noReuse || d.kind != '{' && d.kind != '[' {
		return false
	}
	k := m.find(d.text[d.start:], len(d.open))
	if k == nil {
		return false
	}
	*v = k.value
	if d.kind == '{' {
		d.objects = d.objects[:len(d.objects)-1]
	}
	d.closed(d.start + len(k.text) - 1)
	return true
}

// keep remembers a value just read, unless a problem was found in it, which is
// to be told at each place.
func keep[T any](d *decoder, m *memory[T], from mark, v T) {
	if (from.kind == '{' || from.kind == '[') && d.problems == from.problems && !d.stopped {
		m.keep(known[T]{d.text[from.start:d.end], from.depth, v})
	}
}

// find is the remembered value that text begins with, or nil. One that was read
// at a lesser depth might reach below the limit here.
func (m *memory[T]) find(text string, depth int) *known[T] {
	for n, i := 0, m.next; n < len(m.known); n, i = n+1, i+1 {
		if i >= len(m.known) {
			i = 0
		}
		if k := &m.known[i]; k.depth >= depth && strings.HasPrefix(text, k.text) {
			m.next = i + 1
			return k
		}
	}
	return nil
}

// keep remembers a value in the place of the oldest.
func (m *memory[T]) keep(k known[T]) {
	if len(m.known) < maxKnown {
		m.known = append(m.known, k)
		m.next = len(m.known)
		return
	}
	m.known[m.oldest] = k
	m.oldest = (m.oldest + 1) % maxKnown
	m.next = m.oldest
}
