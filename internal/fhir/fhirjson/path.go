package fhirjson

import "github.com/go-json-experiment/json/jsontext"

// maxNameLength is the longest name that a path holds; R4's longest element
// name has 30 letters or so.
const maxNameLength = 64

// path is the FHIRPath of the current value, such as
// Bundle.entry[3].resource.valueQuantity.code. It is put together only when a
// problem is found: until then the trail has not begun.
func (d *decoder) path() string {
	if d.root == "" {
		return ""
	}
	d.catchUp()
	return d.fhirPath(d.trail.StackPointer())
}

// fhirPath turns a pointer into the objects and arrays that are open into a
// FHIRPath. A name that can be no element's ends it: such a name is free text,
// which may be about a patient, and no FHIRPath could hold it.
func (d *decoder) fhirPath(pointer jsontext.Pointer) string {
	if d.root == "" {
		return ""
	}
	path := []byte(d.root)
	level := 0
	for token := range pointer.Tokens() {
		level++
		if d.isArray(level) {
			path = append(append(append(path, '['), token...), ']')
			continue
		}
		if !isElementName(token) {
			break
		}
		path = append(append(path, '.'), token...)
	}
	return string(path)
}

// isArray reports whether the open value at a level of nesting is an array.
func (d *decoder) isArray(level int) bool {
	if level > d.trail.StackDepth() {
		return false
	}
	kind, _ := d.trail.StackIndex(level)
	return kind == jsontext.KindBeginArray
}

// isElementName reports whether a name has the form of an element's: letters
// and digits, with an underscore before for the extensions of a primitive.
func isElementName(name string) bool {
	if name == "" || len(name) > maxNameLength {
		return false
	}
	for i := range len(name) {
		c := name[i]
		letter := 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_'
		digit := '0' <= c && c <= '9'
		if !letter && (!digit || i == 0) {
			return false
		}
	}
	return true
}
