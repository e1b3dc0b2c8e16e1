package fhir

// Limits bounds what is read of an input, so that a hostile body stays cheap. A zero
// field stands for its default.
type Limits struct {
	Bytes   int // length of the body
	Depth   int // nested objects and arrays
	Entries int // Bundle entries, those of nested Bundles included
	Lists   int // bytes of memory that the elements of lists take, each without what it points at
}

// DefaultLimits are wide enough for the largest history of one patient: 20,000
// measurements are a hundred visits with two hundred trials each, and the
// deepest element of R4 that is read lies about twenty levels down. An element of a
// list is a struct of up to 160 bytes, and may be two bytes of text: the lists
// of the largest history take less than half of what they may.
var DefaultLimits = Limits{Bytes: 8 << 20, Depth: 40, Entries: 20_000, Lists: 16 << 20}

// OrDefault fills the zero fields.
func (l Limits) OrDefault() Limits {
	if l.Bytes == 0 {
		l.Bytes = DefaultLimits.Bytes
	}
	if l.Depth == 0 {
		l.Depth = DefaultLimits.Depth
	}
	if l.Entries == 0 {
		l.Entries = DefaultLimits.Entries
	}
	if l.Lists == 0 {
		l.Lists = DefaultLimits.Lists
	}
	return l
}

// MaxIssues is how many problems are listed before reading ends: more than
// anybody mends in one go, and few enough for a hostile input to stay cheap.
const MaxIssues = 100
