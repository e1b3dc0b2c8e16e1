package intake

// textCache holds the results of interpreting a few texts. The Observations of a history
// repeat most of their codes, dates and references, in the same order. Comparing a text
// with the cached ones, which are often the same string in memory, takes a fraction of the
// time of hashing it.
type textCache[K comparable, V any] struct {
	entries []cacheEntry[K, V]
	latest  int // index of the latest hit, where the search begins: texts repeat, or follow each other in the same order
	oldest  int
}

// textCaches are the caches used while one Input is read: one for each FHIR element,
// because within an element the same texts follow one another.
type textCaches struct {
	codes, sites, components, values, methods textCache[code, interpretedCode]
	subjects, encounters, performers, focuses textCache[basedReference, cachedTarget]
	dates                                     textCache[string, parsedDate]
	units                                     textCache[unitText, unit] // only those that were read without an issue
}

// cacheEntry is a text with its interpretation.
type cacheEntry[K comparable, V any] struct {
	text    K
	meaning V
}

// cacheSize is the largest number of texts in a cache. A history has fewer different
// codes, and searching more entries would cost more than it saves.
const cacheSize = 32

// get returns the interpretation of a text. It reports false if the text is not in the
// cache.
func (m *textCache[K, V]) get(text K) (meaning V, ok bool) {
	for n, i := 0, m.latest; n < len(m.entries); n, i = n+1, i+1 {
		if i >= len(m.entries) {
			i = 0
		}
		if k := &m.entries[i]; k.text == text {
			m.latest = i
			return k.meaning, true
		}
	}
	return meaning, false
}

// put adds the interpretation of a text; a full cache drops its oldest entry.
func (m *textCache[K, V]) put(text K, meaning V) {
	if len(m.entries) < cacheSize {
		m.latest = len(m.entries)
		m.entries = append(m.entries, cacheEntry[K, V]{text, meaning})
		return
	}
	m.latest = m.oldest
	m.oldest = (m.oldest + 1) % cacheSize
	m.entries[m.latest] = cacheEntry[K, V]{text, meaning}
}
