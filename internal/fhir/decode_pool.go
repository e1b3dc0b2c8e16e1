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

// A pool is a slab for structs that are read one after another. The zero pool is
// ready for use.
type pool[T any] struct {
	slab[T]
	stack []T // elements of the lists that are being read, innermost last
}

// keep returns a pointer to a copy of v.
func (p *pool[T]) keep(v T) *T {
	kept := p.one()
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
