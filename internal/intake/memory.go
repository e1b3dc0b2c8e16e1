package intake

// memory holds what a few texts were found to mean. The Observations of a
// history repeat most of their codes, dates and references, and in the same
// order; to compare a text with a known one, which often is the very same in
// memory, takes a fraction of the time of hashing it.
type memory[K comparable, V any] struct {
	known  []known[K, V]
	last   int // where the latest was found: it comes again, or those after it
	oldest int
}

// memories are those of one reading, one for each element, because within an
// element the same texts follow one another.
type memories struct {
	codes, sites, components, values, methods memory[code, understood]
	subjects, encounters, performers, focuses memory[located, target]
	dates                                     memory[string, date]
	units                                     memory[unitText, unit] // those that need no issue
}

// known is a text with its meaning.
type known[K comparable, V any] struct {
	text    K
	meaning V
}

// maxKnown is how many texts are remembered. A history has fewer codes, and to
// search much longer would cost more than it gains.
const maxKnown = 32

// recall is what a text means. It reports false if that is not remembered.
func (m *memory[K, V]) recall(text K) (meaning V, ok bool) {
	for n, i := 0, m.last; n < len(m.known); n, i = n+1, i+1 {
		if i >= len(m.known) {
			i = 0
		}
		if k := &m.known[i]; k.text == text {
			m.last = i
			return k.meaning, true
		}
	}
	return meaning, false
}

// keep remembers what a text means, in the place of the oldest.
func (m *memory[K, V]) keep(text K, meaning V) {
	if len(m.known) < maxKnown {
		m.last = len(m.known)
		m.known = append(m.known, known[K, V]{text, meaning})
		return
	}
	m.last = m.oldest
	m.oldest = (m.oldest + 1) % maxKnown
	m.known[m.last] = known[K, V]{text, meaning}
}
