package fhir

import (
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/lexical"
)

// resource decodes a resource of any type.
func (d *decoder) resource() Resource {
	if !d.object() {
		return nil
	}
	typeName := d.resourceType()
	if d.root == "" && isResourceType(typeName) {
		d.root = typeName
	}
	switch typeName {
	case "Bundle":
		return d.bundle()
	case "CarePlan":
		return d.carePlan()
	case "Condition":
		return d.condition()
	case "Device":
		return d.device()
	case "DiagnosticReport":
		return d.diagnosticReport()
	case "Encounter":
		return d.encounter()
	case "Goal":
		return d.goal()
	case "Observation":
		return d.observation()
	case "OperationOutcome":
		return d.operationOutcome()
	case "Parameters":
		return d.parameterSet()
	case "Patient":
		return d.patient()
	case "Procedure":
		return d.procedure()
	case "Provenance":
		return d.provenance()
	}
	if isResourceType(typeName) {
		return d.otherResource(typeName)
	}
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.Structure,
		Path:       d.path(),
		Detail:     "found no resourceType of FHIR R4; expected one in every resource",
		Diagnostic: "found " + lexical.Quote(strconv.Quote(typeName)),
	})
	d.skip()
	return nil
}

// resourceInto is resource for a list.
func (d *decoder) resourceInto(r *Resource) { *r = d.resource() }

// otherResource passes over a resource of a type that is not read.
func (d *decoder) otherResource(typeName string) *Other {
	o := &Other{TypeName: typeName}
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

// domain decodes a member that every DomainResource has. The type's own
// elements come first; elements that it has not are found here.
func (d *decoder) domain(c *Common, typeName string) {
	switch d.name {
	case "resourceType":
		// Read ahead, by resourceType.
	case "id":
		c.ID = d.id()
	case "meta":
		c.Meta = d.metaPtr()
	case "language":
		c.Language = d.code()
	case "implicitRules":
		c.ImplicitRules = d.uri()
	case "text":
		c.Text = d.narrative()
	case "contained":
		c.Contained = list(d, &d.resources, (*decoder).resourceInto)
	case "extension":
		c.Extension = d.extensionList()
	case "modifierExtension":
		c.ModifierExtension = d.extensionList()
	default:
		if d.name == "identifier" && hasElement(elements[typeName], d.name) {
			c.Identifier = list(d, &d.identifiers, (*decoder).identifier)
		} else {
			d.other(typeName)
		}
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
