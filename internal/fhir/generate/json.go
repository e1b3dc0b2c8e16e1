package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

const model = "evenreach.example/internal/fhir"

func sorted[T any](list []T, compare func(a, b T) int) []T {
	slices.SortStableFunc(list, compare)
	return list
}

// decode writes the JSON decoder.
func (s *schema) decode(out *source) {
	out.imports[model] = ""
	out.imports["evenreach.example/internal/slab"] = ""
	out.p("// slabs hold the wire structs of one body, which live and die together.\ntype slabs struct {")
	for _, t := range s.types {
		if t != s.common && t.isShared() {
			out.p("%s slab.Slab[fhir.%s]", lower(t.name), t.name)
		}
	}
	out.p("}\n\n// known decodes a resource of a type that is read, or returns nil for another.")
	out.p("func (d *decoder) known(typeName string) fhir.Resource {\nswitch typeName {")
	for _, t := range s.types {
		if t.isResource {
			out.p("case %q:\nv := %s\nd.%s(v)\nreturn v", t.path, t.allocated("d"), lower(t.name))
		}
	}
	out.p("}\nreturn nil\n}")
	remembered := map[string]string{}
	for _, t := range s.types {
		if t != s.common {
			t.decoder(out, remembered)
		}
	}
	out.p("\n// memories are those of one body.\ntype memories struct {")
	for _, t := range s.types {
		for _, form := range []string{"", "One", "List"} {
			if held := remembered[lower(t.name)+form]; held != "" {
				out.p("%s memory[%s]", lower(t.name)+form, held)
			}
		}
	}
	out.p("}")
}

// decoder writes the method that decodes a type. It notes the types of the values
// to be remembered.
func (t *typ) decoder(out *source, remembered map[string]string) {
	out.p("\nfunc (d *decoder) %s(v *fhir.%s) {", lower(t.name), t.name)
	if t.options.has("before-json") {
		out.p("d.before%s()", t.name)
	}
	out.p("if !d.object() {\nreturn\n}")
	for _, e := range t.all {
		if e.split != nil {
			out.p("var %s fhir.Value", e.name)
		}
	}
	out.p("for d.member() {\nswitch d.name {")
	if t.isResource {
		out.p("case \"resourceType\": // read ahead")
	}
	for _, e := range t.all {
		e.decodeCases(out, remembered)
	}
	out.p("default:\nd.other(%q)\n}\n}", t.path)
	for _, e := range t.all {
		e.decodeSplit(out)
	}
	t.require(out, "d")
	if t.options.has("after-json") {
		out.p("d.after%s(v)", t.name)
	}
	out.p("}")
	if t.options.has("each") {
		remembered[lower(t.name)] = "fhir." + t.name
		out.p("\nfunc (d *decoder) %sAgain(v *fhir.%s) { valueAgain(d, &d.seen.%[1]s, v, (*decoder).%[1]s) }", lower(t.name), t.name)
	}
}

// decodeCases writes the cases of an element in the switch over the names.
func (e *element) decodeCases(out *source, remembered map[string]string) {
	if e.choices == nil {
		out.p("case %q:", e.name)
		if e.inline {
			out.p("%s", e.of.decodeInline("&v."+e.goName, remembered))
		} else {
			out.p("v.%s = %s", e.goName, e.decodeValue(remembered))
		}
		return
	}
	target := "v." + e.goName
	if e.split != nil {
		target = e.name
	}
	var others []string
	for _, c := range e.choices {
		if !c.kept {
			others = append(others, fmt.Sprintf("%q", c.name))
			continue
		}
		value := c.decodeValue(remembered)
		if c.basic != nil && c.basic.held != c.basic.value {
			value = "fhir." + c.basic.value + "(" + value + ")"
		}
		out.p("case %q:\nif d.once(%s, %q) {\n%[2]s = %[4]s\n}", c.name, target, e.name, value)
	}
	if others != nil {
		out.p("case %s:\nif d.once(%s, %q) {\n%[2]s = d.otherValue(%[3]q)\n}", strings.Join(others, ", "), target, e.name)
	}
}

// decodeValue is an expression: the decoded element.
func (e *element) decodeValue(remembered map[string]string) string {
	switch {
	case e.resource && e.list:
		return "list(d, &d.resources, (*decoder).resourceInto)"
	case e.resource:
		return "d.resource()"
	case e.basic != nil && e.list:
		return "d.primitives((*decoder)." + e.basic.json + ")"
	case e.basic != nil:
		return "d." + e.basic.json + "()"
	}
	name := lower(e.of.name)
	form, function, held := "One", "pointer", "*fhir."+e.of.name
	if e.list {
		form, function, held = "List", "list", "[]fhir."+e.of.name
	}
	switch {
	case e.of.options.has("again"):
		remembered[name+form] = held
		return fmt.Sprintf("%sAgain(d, &d.seen.%s, &d.slabs.%s, (*decoder).%[3]s)", function, name+form, name)
	case e.of.options.has("each"):
		return fmt.Sprintf("%s(d, &d.slabs.%s, (*decoder).%[2]sAgain)", function, name)
	}
	return fmt.Sprintf("%s(d, &d.slabs.%s, (*decoder).%[2]s)", function, name)
}

// decodeInline is a statement: it decodes a type into a place.
func (t *typ) decodeInline(target string, remembered map[string]string) string {
	name := lower(t.name)
	if !t.options.has("again") {
		return fmt.Sprintf("d.%s(%s)", name, target)
	}
	remembered[name] = "fhir." + t.name
	return fmt.Sprintf("valueAgain(d, &d.seen.%s, %s, (*decoder).%[1]s)", name, target)
}

// decodeSplit writes what puts a choice element into its fields.
func (e *element) decodeSplit(out *source) {
	for _, field := range e.split {
		if field.of != nil {
			out.p("v.%s, _ = %s.(%s)", field.goName, e.name, field.holder("fhir."))
		} else {
			out.p("%s, _ := %s.(%s)\nv.%s = %s(%[1]s)", lower(field.goName), e.name, field.holder("fhir."), field.goName, field.basic.held)
		}
	}
}

// elementTables writes which elements R4 has.
func (s *schema) elementTables(out *source) {
	out.p("// elements lists the elements that R4 gives each type that is read. An element with")
	out.p("// an underscore is a primitive, so that a sibling with the underscore may carry its")
	out.p("// extensions.\nvar elements = map[string][]string{")
	for _, t := range s.types {
		if t != s.common {
			out.p("%q: %#v,", t.path, t.r4Elements())
		}
	}
	out.p("}\n\n// resourceTypes lists the resource types of R4, in alphabetical order.")
	contained, err := descriptor("ContainedResource")
	if err != nil {
		panic(err) // the list has been resolved from its package
	}
	var names []string
	for i := range contained.Fields().Len() {
		names = append(names, string(contained.Fields().Get(i).Message().Name()))
	}
	out.p("var resourceTypes = %#v", sorted(names, cmp.Compare[string]))
}

// r4Elements lists all elements of a type.
func (t *typ) r4Elements() (names []string) {
	also := map[string][]string{} // types of choice elements that the descriptors lack
	for _, l := range t.elements {
		also[l.name] = l.options["also"]
	}
	fields := t.messages[0].Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		name := f.JSONName()
		switch {
		case f.ContainingOneof() != nil && name != "reference": // a way to write Reference.reference
		case isChoice(f.Message()):
			for j := range f.Message().Fields().Len() {
				c := f.Message().Fields().Get(j)
				names = append(names, marked(name+upper(c.JSONName()), c.Message()))
			}
			for _, c := range also[name] {
				names = append(names, name+c)
			}
		case t.path == "Extension" && name == "url": // an attribute in XML, without extensions
			names = append(names, name)
		default:
			names = append(names, marked(name, f.Message()))
		}
	}
	return names
}

// marked puts an underscore before a primitive, but for an id, which can have no
// extensions.
func marked(name string, m protoreflect.MessageDescriptor) string {
	if structureKind(m) != apb.StructureDefinitionKindValue_KIND_PRIMITIVE_TYPE || name == "id" {
		return name
	}
	return "_" + name
}

// encode writes the JSON encoder.
func (s *schema) encode(out *source) {
	out.imports[model] = ""
	out.p("// members writes the members of a resource behind its type.")
	out.p("func (e *encoder) members(r fhir.Resource) {\nswitch r := r.(type) {")
	for _, t := range s.types {
		if t.isResource {
			out.p("case *fhir.%s:\ne.%s(r)", t.name, lower(t.name))
		}
	}
	out.p("case *fhir.Other:\ne.text(\"id\", r.ID)\n}\n}")
	out.p("\n// choice writes a choice element under its name followed by the type.")
	out.p("func (e *encoder) choice(element string, v fhir.Value) {\nswitch v := v.(type) {")
	for _, c := range s.values() {
		out.p("case %s:\n%s", c.holder("fhir."), c.encodeMember("element+\""+c.suffix()+"\"", c.unwrapped("v")))
	}
	out.p("}\n}")
	for _, t := range s.types {
		if t != s.common {
			out.p("\nfunc (e *encoder) %s(v *fhir.%s) {", lower(t.name), t.name)
			for _, e := range t.fields() {
				out.p("%s", e.encodeMember(fmt.Sprintf("%q", e.name), "v."+e.goName))
			}
			out.p("}")
		}
	}
}

// encodeMember is a statement: it writes a member with an element. The name is an
// expression.
func (e *element) encodeMember(name, value string) string {
	switch {
	case e.choices != nil:
		return fmt.Sprintf("e.choice(%s, %s)", name, value)
	case e.resource && e.list:
		return fmt.Sprintf("e.resources(%s, %s)", name, value)
	case e.resource:
		return fmt.Sprintf("e.resourceMember(%s, %s)", name, value)
	case e.basic != nil && e.list:
		return fmt.Sprintf("e.texts(%s, %s)", name, value)
	case e.basic != nil && e.basic.held == "bool" && !e.kept:
		return fmt.Sprintf("e.flag(%s, %s)", name, value)
	case e.basic != nil:
		return fmt.Sprintf("e.%s(%s, %s)", encoders[e.basic.held], name, value)
	case e.list:
		return fmt.Sprintf("arrayMember(e, %s, %s, (*encoder).%s)", name, value, lower(e.of.name))
	case e.inline:
		value = "&" + value
	}
	return fmt.Sprintf("objectMember(e, %s, %s, (*encoder).%s)", name, value, lower(e.of.name))
}

// encoders are the methods that write primitives, by the type that holds them.
var encoders = map[string]string{"string": "text", "bool": "boolean", "int32": "integer", "Decimal": "decimal", "[]byte": "data"}

// unwrapped is an expression: the content of a value of a choice element.
func (e *element) unwrapped(v string) string {
	if e.basic == nil || e.basic.held == e.basic.value {
		return v
	}
	return e.basic.held + "(" + v + ")"
}
