package fhirjson

import (
	"bytes"
	"fmt"
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/slab"
	"github.com/go-json-experiment/json/jsontext"
)

// decoder reads tokens and builds the wire model from them. Every method that
// decodes a value starts at the value's first token, which is the current one,
// and leaves the value's last token current.
type decoder struct {
	lexer
	trail  *jsontext.Decoder // see catchUp
	limits fhir.Limits

	name     string   // of the current member
	names    []string // of the members of the open objects so far, innermost last
	objects  []int    // where in names each open object begins
	anyNames bool     // names may be given twice

	root       string         // resource type of the body
	types      map[int]string // resource types by the offset of their object, see typeIndex
	entryCount int            // Bundle entries seen
	lists      int            // bytes that the elements of lists take
	issues     []fault.Issue
	problems   int  // found so far, also those that are not kept
	stopped    bool // reading ended before the end of the body

	tolerant  bool // an entry that is wrong is dropped alone
	inEntry   bool // of a Bundle, when tolerant
	entryFrom int  // where in issues those of the entry begin

	seen      memories
	noReuse   bool // each value is read anew, for tests
	slabs     slabs
	resources slab.Slab[fhir.Resource]
	texts     slab.Slab[string]
}

func newDecoder(body []byte, text string, limits fhir.Limits) *decoder {
	return &decoder{lexer: lexer{body: body, text: text}, limits: limits}
}

// next makes the next token the current one. When there is none, because of a
// fault, the kind is 0, which no loop goes on with.
func (d *decoder) next() {
	if d.stopped {
		return
	}
	before := d.kind
	if !d.scan() {
		d.stop()
		return
	}
	switch d.kind {
	case '{':
		d.objects = append(d.objects, len(d.names))
		d.checkDepth()
	case '[':
		d.checkDepth()
	case '}':
		last := len(d.objects) - 1
		d.names, d.objects = d.names[:d.objects[last]], d.objects[:last]
		d.checkFilled(before)
	case ']':
		d.checkFilled(before)
	}
}

// checkDepth ends the reading if the object or array just opened lies too deep.
func (d *decoder) checkDepth() {
	if len(d.open) > d.limits.Depth {
		d.fatal(fault.TooLong, fmt.Sprintf("found more than %d nested objects and arrays; expected at most that many", d.limits.Depth))
	}
}

// checkFilled reports the object or array just closed as empty, if the token
// before had opened it.
func (d *decoder) checkFilled(before byte) {
	if before == '{' || before == '[' {
		d.misshaped("found an empty " + kindName(before) + "; expected it to be absent")
	}
}

// catchUp takes the trail to the current token. The trail is jsontext's reading
// of the same body, which knows the pointer to a value and what is wrong with a
// text. It is asked only when there is a problem to tell of, and since problems
// are told in the order of the body, it reads that once in all.
func (d *decoder) catchUp() {
	if d.trail == nil {
		// Names given twice are found by member.
		d.trail = jsontext.NewDecoder(bytes.NewBuffer(d.body), jsontext.AllowDuplicateNames(true))
	}
	for d.trail.InputOffset() < int64(d.end) {
		if _, err := d.trail.ReadToken(); err != nil {
			return
		}
	}
}

// finish checks that nothing follows the body's one value.
func (d *decoder) finish() {
	if d.stopped || d.space(d.end) == len(d.body) {
		return
	}
	d.catchUp()
	if _, err := d.trail.ReadToken(); err != nil {
		d.stop()
		return
	}
	d.fatal(fault.Syntax, "found text after the resource; expected its end")
}

// object reports whether the current value is an object, whose members are
// then read with member. Anything else is reported and passed over.
func (d *decoder) object() bool {
	if d.kind == '{' {
		return true
	}
	d.unexpected("an object")
	return false
}

// member goes on to the first token of the next member's value and sets name,
// or reports false at the end of the object.
func (d *decoder) member() bool {
	d.next()
	if d.kind != '"' {
		return false
	}
	d.name = d.unquoted()
	if !d.anyNames {
		d.checkName(d.names[d.objects[len(d.objects)-1]:])
		d.names = append(d.names, d.name)
	}
	d.next()
	return d.kind != 0
}

// maxMembers bounds the members of an object, of which no type of R4 has more
// than about a hundred, to keep the search for a name given twice cheap.
const maxMembers = 256

// checkName ends the reading if the current name is among others, those of the
// same object before it, or one too many.
func (d *decoder) checkName(others []string) {
	if slices.Contains(others, d.name) {
		d.fatal(fault.DuplicateName, "found a name twice in one object, again"+atByte(d.start))
	}
	if len(others) == maxMembers {
		d.fatal(fault.TooLong, fmt.Sprintf("found more than %d members in one object; expected at most that many", maxMembers))
	}
}

// array reports whether the current value is an array, whose elements are then
// read with element. Anything else is reported and passed over.
func (d *decoder) array() bool {
	if d.kind == '[' {
		return true
	}
	d.unexpected("an array")
	return false
}

// element goes on to the first token of the next element, or reports false at
// the end of the array.
func (d *decoder) element() bool {
	d.next()
	return d.kind != ']' && d.kind != 0
}

// skip passes over the current value. Of what is passed over only the JSON is
// checked, and that nothing in it is void.
func (d *decoder) skip() {
	switch d.kind {
	case '{':
		for d.member() {
			d.skip()
		}
	case '[':
		for d.element() {
			if d.kind != 'n' { // a hole, if the elements are primitives
				d.skip()
			}
		}
	case 'n':
		d.misshaped("found null; expected the element to be absent")
	case '"':
		if d.end == d.start+len(`""`) {
			d.misshaped("found an empty string; expected the element to be absent")
		}
	}
}

// unquoted is the text of the current token, a string.
func (l *lexer) unquoted() string {
	if !l.escaped {
		return l.text[l.start+1 : l.end-1]
	}
	// The token was read without an error, so there is none here.
	s, _ := jsontext.AppendUnquote(nil, l.text[l.start:l.end])
	return string(s)
}

// unexpected reports a value of another JSON type than expected, and passes
// over it.
func (d *decoder) unexpected(expected string) {
	d.misshaped("found " + article(d.kind) + "; expected " + expected)
	if d.kind != 'n' {
		d.skip()
	}
}

// kindName is the JSON type of a token.
func kindName(kind byte) string {
	switch kind {
	case '{':
		return "object"
	case '[':
		return "array"
	case '"':
		return "string"
	case '0':
		return "number"
	case 'n':
		return "null"
	}
	return "boolean"
}

// article is kindName as the object of a sentence.
func article(kind byte) string {
	switch kind {
	case '{', '[':
		return "an " + kindName(kind)
	case 'n':
		return "null"
	}
	return "a " + kindName(kind)
}
