package fhir

// pools hold the wire structs of one body, of which it has hundreds.
type pools struct {
	activities    pool[Activity]
	agents        pool[Agent]
	annotations   pool[Annotation]
	attachments   pool[Attachment]
	codings       pool[Coding]
	components    pool[Component]
	concepts      pool[CodeableConcept]
	deviceNames   pool[DeviceName]
	entities      pool[ProvenanceEntity]
	entryList     pool[Entry]
	extensions    pool[Extension]
	identifiers   pool[Identifier]
	metas         pool[Meta]
	observations  pool[Observation]
	outcomeIssues pool[OutcomeIssue]
	parameters    pool[Parameter]
	periods       pool[Period]
	quantities    pool[Quantity]
	ranges        pool[ReferenceRange]
	references    pool[Reference]
	resources     pool[Resource]
	strings       pool[string]
	targets       pool[Target]
	versions      pool[DeviceVersion]
}

// A pool allocates structs of one type many at a time. The zero pool is ready
// for use.
type pool[T any] struct {
	free  []T // allocated and not yet handed out
	chunk int // length of the last allocation
	stack []T // elements of the lists that are being read, innermost last
}

// The lengths of the first and of the largest allocation: a short body pays for
// little, a long one allocates seldom.
const (
	minChunk = 4
	maxChunk = 64
)

// take hands out n structs.
func (p *pool[T]) take(n int) []T {
	if n > len(p.free) {
		p.chunk = min(max(2*p.chunk, minChunk), maxChunk)
		p.free = make([]T, max(p.chunk, n))
	}
	taken := p.free[:n:n]
	p.free = p.free[n:]
	return taken
}

// keep returns a pointer to a copy of v.
func (p *pool[T]) keep(v T) *T {
	kept := &p.take(1)[0]
	*kept = v
	return kept
}

// pop takes the elements above bottom off the stack, as a list of their own.
func (p *pool[T]) pop(bottom int) []T {
	read := p.stack[bottom:]
	p.stack = p.stack[:bottom]
	if len(read) == 0 {
		return nil
	}
	taken := p.take(len(read))
	copy(taken, read)
	return taken
}

// list decodes an array. The elements wait on the pool's stack until their
// number is known; lists within lists of the same type lie above one another.
func list[T any](d *decoder, p *pool[T], element func(*decoder) T) []T {
	if !d.array() {
		return nil
	}
	bottom := len(p.stack)
	for d.element() {
		p.stack = append(p.stack, element(d))
	}
	return p.pop(bottom)
}

// primitives decodes an array of primitives. A null in it, whose place holds
// extensions only, is passed over.
func (d *decoder) primitives(primitive func(*decoder) string) []string {
	if !d.array() {
		return nil
	}
	p := &d.strings
	bottom := len(p.stack)
	for d.element() {
		if d.kind != 'n' {
			p.stack = append(p.stack, primitive(d))
		}
	}
	return p.pop(bottom)
}
