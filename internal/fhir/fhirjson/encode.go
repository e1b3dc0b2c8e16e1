package fhirjson

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"strconv"
	"sync"
	"unicode/utf8"

	"evenreach.example/internal/fhir"
	"github.com/go-json-experiment/json/jsontext"
)

// Encode writes a resource as compact FHIR JSON, resourceType first and the
// elements in R4's order. Zero fields are absent, and so is what would be an
// empty object or array, which FHIR forbids. Bytes that are no UTF-8 become
// U+FFFD. A Decimal is written as it stands: it must be a JSON number. A value
// of a type that is not read cannot be written again and is left out.
func Encode(r fhir.Resource) []byte {
	scratch := buffers.Get().(*[]byte)
	defer buffers.Put(scratch)
	*scratch = AppendResource((*scratch)[:0], r)
	return bytes.Clone(*scratch)
}

// buffers keeps what Encode writes into before the length is known. Growing a
// buffer each time takes half again as long, and four times the memory.
var buffers = sync.Pool{New: func() any { return new([]byte) }}

// AppendResource is Encode, appending to dst.
func AppendResource(dst []byte, r fhir.Resource) []byte {
	e := encoder{out: dst}
	e.resource(r)
	return e.out
}

// Indent returns a copy of JSON, as Encode writes it, on lines indented by two
// spaces. Numbers and strings stay as they are. What is not JSON comes back
// unchanged.
func Indent(body []byte) []byte {
	value := jsontext.Value(bytes.Clone(body))
	if err := value.Indent(jsontext.WithIndent("  ")); err != nil {
		return bytes.Clone(body)
	}
	return value
}

// encoder appends JSON. Its methods that take a name write a member of the
// object that was opened last, or nothing for an absent value; the others write
// the members of an object.
type encoder struct {
	out []byte
	// asContent says that what is written is for a digest: see AppendContent.
	asContent bool
	systems   systems // of the content
}

// name starts a member.
func (e *encoder) name(name string) {
	if e.asContent {
		e.out = append(append(e.out, name...), ':')
		return
	}
	e.out = appendName(e.out, name)
}

func appendName(out []byte, name string) []byte {
	if out[len(out)-1] != '{' {
		out = append(out, ',')
	}
	out = append(append(out, '"'), name...)
	return append(out, `":`...)
}

// quoted writes a string.
func (e *encoder) quoted(s string) {
	if e.asContent {
		e.out = appendCounted(e.out, s)
		return
	}
	e.out = appendQuoted(e.out, s)
}

// appendCounted appends a string behind its length.
func appendCounted(out []byte, s string) []byte {
	return append(binary.AppendUvarint(out, uint64(len(s))), s...)
}

// appendQuoted appends a string as JSON with no more escapes than RFC 8259, section
// 7, asks for. Bytes that are no UTF-8 become U+FFFD.
func appendQuoted(out []byte, s string) []byte {
	out = append(out, '"')
	n := plain(s)
	for ; n < len(s); n = plain(s) {
		r, size := utf8.DecodeRuneInString(s[n:])
		out = appendEscaped(append(out, s[:n]...), r)
		s = s[n+size:]
	}
	return append(append(out, s...), '"')
}

// appendEscaped appends a character that is not plain.
func appendEscaped(out []byte, r rune) []byte {
	const digits = "0123456789abcdef"
	switch {
	case r == '"' || r == '\\':
		return append(out, '\\', byte(r))
	case r >= ' ':
		return utf8.AppendRune(out, r)
	case shortEscapes[r] != 0:
		return append(out, '\\', shortEscapes[r])
	}
	return append(out, '\\', 'u', '0', '0', digits[r>>4], digits[r&15])
}

// shortEscapes are the letters for control characters that have one.
var shortEscapes = [' ']byte{'\b': 'b', '\t': 't', '\n': 'n', '\f': 'f', '\r': 'r'}

// text writes a primitive that is a JSON string. Most are absent, so it is small enough to be
// inlined, as are arrayMember and objectMember.
func (e *encoder) text(name, s string) {
	if s != "" {
		e.present(name, s)
	}
}

// present writes a primitive that is there.
func (e *encoder) present(name, s string) {
	switch {
	case !e.asContent:
		e.out = appendQuoted(appendName(e.out, name), s)
	case name == "system":
		e.system(s)
	default:
		e.out = appendCounted(append(append(e.out, name...), ':'), s)
	}
}

// texts writes an array of primitives that are JSON strings.
func (e *encoder) texts(name string, list []string) {
	if len(list) > 0 {
		array(e, name, list, false, func(e *encoder, s *string) {
			if *s != "" {
				e.quoted(*s)
			}
		})
	}
}

// address writes what a reference points to.
func (e *encoder) address(name, s string) {
	switch {
	case !e.asContent:
		e.text(name, s)
	case s != "":
		e.name(name) // that there is one, wherever it points
	}
}

// literal writes a number or a boolean.
func (e *encoder) literal(name, text string) {
	switch {
	case e.asContent:
		e.text(name, text)
	case text != "":
		e.name(name)
		e.out = append(e.out, text...)
	}
}

func (e *encoder) decimal(name string, d fhir.Decimal) {
	if e.asContent {
		d = shortest(d)
	}
	e.literal(name, string(d))
}

func (e *encoder) integer(name string, i int32) { e.literal(name, strconv.Itoa(int(i))) }

func (e *encoder) boolean(name string, b bool) { e.literal(name, strconv.FormatBool(b)) }

// flag writes a boolean whose absence means false.
func (e *encoder) flag(name string, set bool) {
	if set {
		e.literal(name, "true")
	}
}

// count writes a number whose absence means 0.
func (e *encoder) count(name string, n uint32) {
	if n > 0 {
		e.literal(name, strconv.FormatUint(uint64(n), 10))
	}
}

// data writes a base64Binary.
func (e *encoder) data(name string, data []byte) {
	if len(data) > 0 {
		e.name(name)
		e.out = append(e.out, '"')
		e.out = base64.StdEncoding.AppendEncode(e.out, data)
		e.out = append(e.out, '"')
	}
}

// resource writes a whole resource, or nothing for nil.
func (e *encoder) resource(r fhir.Resource) {
	if r == nil {
		return
	}
	e.out = append(e.out, `{"resourceType":`...)
	e.quoted(r.Type())
	e.members(r)
	e.out = append(e.out, '}')
}

// resourceMember writes a resource within another.
func (e *encoder) resourceMember(name string, r fhir.Resource) {
	if r != nil {
		e.name(name)
		e.resource(r)
	}
}

// contained writes the resources within another.
func (e *encoder) contained(list []fhir.Resource) {
	if len(list) > 0 {
		array(e, "contained", list, false, func(e *encoder, r *fhir.Resource) { e.resource(*r) })
	}
}

// array writes an array, of objects whose members are written, or of what is
// written itself. An element that writes nothing is left out, and so is an array
// without any.
func array[T any](e *encoder, name string, list []T, objects bool, write func(*encoder, *T)) {
	before := len(e.out)
	e.name(name)
	e.out = append(e.out, '[')
	open := len(e.out)
	for i := range list {
		last := len(e.out)
		if last > open {
			e.out = append(e.out, ',')
		}
		start := len(e.out)
		if objects {
			object(e, &list[i], write)
		} else {
			write(e, &list[i])
		}
		if len(e.out) == start {
			e.out = e.out[:last]
		}
	}
	if len(e.out) == open {
		e.out = e.out[:before]
		return
	}
	e.out = append(e.out, ']')
}

// object writes the braces around members, or nothing if there are none.
func object[T any](e *encoder, v *T, members func(*encoder, *T)) {
	e.out = append(e.out, '{')
	open := len(e.out)
	if members(e, v); len(e.out) == open {
		e.out = e.out[:open-1]
		return
	}
	e.out = append(e.out, '}')
}

// objectMember writes an object, unless it is nil or empty.
func objectMember[T any](e *encoder, name string, v *T, members func(*encoder, *T)) {
	if v != nil {
		namedObject(e, name, v, members)
	}
}

func namedObject[T any](e *encoder, name string, v *T, members func(*encoder, *T)) {
	before := len(e.out)
	e.name(name)
	start := len(e.out)
	if object(e, v, members); len(e.out) == start {
		e.out = e.out[:before]
	}
}

// arrayMember writes an array of objects.
func arrayMember[T any](e *encoder, name string, list []T, members func(*encoder, *T)) {
	if len(list) > 0 {
		array(e, name, list, true, members)
	}
}
