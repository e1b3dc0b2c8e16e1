package fhirjson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// resource decodes a resource of any type.
func (d *decoder) resource() fhir.Resource {
	if !d.object() {
		return nil
	}
	typeName := d.resourceType()
	if d.root == "" && isResourceType(typeName) {
		d.root = typeName
	}
	if r := d.known(typeName); r != nil {
		return r
	}
	if isResourceType(typeName) {
		return d.otherResource(typeName)
	}
	d.noType(typeName)
	if isOtherVersion(typeName) {
		return d.otherResource(typeName)
	}
	return d.untyped()
}

// noType reports the current value as a resource without a type of R4.
func (d *decoder) noType(typeName string) {
	if d.onlyCounts() {
		return
	}
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.Structure,
		Path:       d.path(),
		Detail:     "found no resourceType of FHIR R4; expected one in every resource" + typeHint(typeName),
		Diagnostic: "found " + lexical.Quote(strconv.Quote(typeName)),
	})
}

// untyped passes over a resource of unknown type, but for whom it is about.
func (d *decoder) untyped() *fhir.Untyped {
	u := new(fhir.Untyped)
	for d.member() {
		if (d.name == "subject" || d.name == "patient") && d.kind == '{' {
			u.Subject = pointerAgain(d, &d.seen.referenceOne, &d.slabs.reference, (*decoder).reference)
			continue
		}
		d.skip()
	}
	return u
}

// resourceInto is resource for a list.
func (d *decoder) resourceInto(r *fhir.Resource) { *r = d.resource() }

// otherResource passes over a resource of a type that is not read.
func (d *decoder) otherResource(typeName string) *fhir.Other {
	o := &fhir.Other{TypeName: typeName}
	for d.member() {
		switch d.name {
		case "id":
			o.ID = d.id()
		default:
			d.skip()
		}
	}
	return o
}

// other deals with a member that the wire model leaves out: it is passed over
// if R4 has it in the type, and reported if not.
func (d *decoder) other(typeName string) {
	switch {
	case !hasElement(elements[typeName], d.name):
		d.unknown(typeName)
	case d.name[0] == '_' && d.kind != '{' && d.kind != '[':
		d.unexpected("an object with extensions, or an array of such")
	default:
		d.skip()
	}
}

// hasElement reports whether name is in a list of elements, as itself or, for a
// primitive, as the sibling that carries its extensions.
func hasElement(list []string, name string) bool {
	for _, e := range list {
		if e == name || e[0] == '_' && e[1:] == name {
			return true
		}
	}
	return false
}

// isResourceType reports whether R4 has a resource type of this name.
func isResourceType(name string) bool {
	_, found := slices.BinarySearch(resourceTypes, name)
	return found
}

// once reports whether a choice element has no value yet. If it has one already,
// the current member is a second one, which is reported and passed over.
func (d *decoder) once(already fhir.Value, element string) bool {
	if already == nil {
		return true
	}
	d.misshaped("found a second value; expected " + element + "[x] once")
	d.skip()
	return false
}

// otherValue passes over the current member, a value of a type that is not read.
func (d *decoder) otherValue(element string) fhir.Value {
	typeName := d.name[len(element):]
	d.skip()
	return fhir.OtherValue(typeName)
}

// beforeEntry counts the entries, those of nested Bundles included.
func (d *decoder) beforeEntry() {
	if d.entryCount++; d.entryCount > d.limits.Entries {
		d.fatal(fault.TooLong, fmt.Sprintf("found more than %d entries; expected at most that many", d.limits.Entries))
	}
}

// afterParameter checks the invariant inv-1.
func (d *decoder) afterParameter(p *fhir.Parameter) {
	if p.Value != nil && p.Resource != nil || p.Part != nil && (p.Value != nil || p.Resource != nil) {
		d.misshaped("found several of value[x], resource and part; expected one (inv-1)")
	}
}

// resourceType is the type of the resource that starts at the current token, or
// "" if it has none. JSON objects have no order, so the type may stand after
// what it decides how to read; as a rule it stands first.
func (d *decoder) resourceType() string {
	if name, found := firstMember(d.text[d.end:], `"resourceType"`); found {
		return name
	}
	if d.types == nil {
		d.types = d.typeIndex()
	}
	return d.types[d.start]
}

// firstMember is the value of an object's first member, if it has the name and
// a plain string for a value.
func firstMember(members, quotedName string) (string, bool) {
	const space = " \t\r\n"
	rest, found := strings.CutPrefix(strings.TrimLeft(members, space), quotedName)
	if !found {
		return "", false
	}
	rest, found = strings.CutPrefix(strings.TrimLeft(rest, space), ":")
	if !found {
		return "", false
	}
	rest, found = strings.CutPrefix(strings.TrimLeft(rest, space), `"`)
	if !found {
		return "", false
	}
	end := strings.IndexAny(rest, `"\`)
	if end < 0 || rest[end] == '\\' {
		return "", false
	}
	return rest[:end], true
}

// typeIndex finds the resourceType of every object in the body, by the offset at
// which the object starts. One pass serves all of them: looking ahead in each
// resource would read nested ones again and again. The pass ends where the body
// is no JSON, which the decoder proper then meets, too.
func (d *decoder) typeIndex() map[int]string {
	ahead := newDecoder(d.body, d.text, d.limits)
	ahead.anyNames, ahead.anyUTF8 = true, true
	ahead.inEntry = true // problems are told by the decoder proper, and end nothing here
	types := map[int]string{}
	ahead.next()
	ahead.findTypes(types)
	return types
}

// findTypes adds the resourceType of the current value, and of those within it,
// to types.
func (d *decoder) findTypes(types map[int]string) {
	switch d.kind {
	case '{':
		for start := d.start; d.member(); d.findTypes(types) {
			if d.name == "resourceType" && d.kind == '"' {
				types[start] = d.unquoted()
			}
		}
	case '[':
		for d.element() {
			d.findTypes(types)
		}
	}
}
