package main

import (
	"bytes"
	"fmt"
	"maps"
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
	decoders := &source{imports: out.imports}
	for _, t := range s.types {
		if t != s.common {
			t.decoder(decoders)
		}
	}
	out.p("}\n\n// memories hold the values of one body that may repeat.\ntype memories struct {")
	s.memories(out, decoders.Bytes())
	out.p("}\n\n// known decodes a resource of a type that is read, or returns nil for another.")
	out.p("func (d *decoder) known(typeName string) fhir.Resource {\nswitch typeName {")
	for _, t := range s.types {
		if t.isResource {
			out.p("case %q:\nv := %s\nd.%s(v)\nreturn v", t.path, t.allocated("d"), lower(t.name))
		}
	}
	out.p("}\nreturn nil\n}")
	out.Write(decoders.Bytes())
}

// memories writes the memories that the decoders ask: of a type by itself, of one that
// may be absent, and of a list.
func (s *schema) memories(out *source, decoders []byte) {
	for _, t := range s.types {
		for _, form := range [...]struct{ suffix, prefix string }{{"", ""}, {"One", "*"}, {"List", "[]"}} {
			name := lower(t.name) + form.suffix
			if bytes.Contains(decoders, []byte("d.seen."+name+",")) {
				out.p("%s memory[%sfhir.%s]", name, form.prefix, t.name)
			}
		}
	}
}

// decoder writes the method that decodes a type.
func (t *typ) decoder(out *source) {
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
		e.decodeCases(out, t)
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
		out.p("\nfunc (d *decoder) %sAgain(v *fhir.%s) { valueAgain(d, &d.seen.%[1]s, v, (*decoder).%[1]s) }", lower(t.name), t.name)
	}
}

// decodeCases writes the cases of an element in the switch over the names.
func (e *element) decodeCases(out *source, t *typ) {
	decode := e.filled(e.form().decode, t)
	switch {
	case e.choices != nil:
		e.decodeChoice(out, t)
	case e.inline:
		out.p("case %q:\n%s", e.name, decode)
	default:
		out.p("case %q:\nv.%s = %s", e.name, e.goName, decode)
	}
}

// decodeChoice writes the cases of a choice element.
func (e *element) decodeChoice(out *source, t *typ) {
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
		value := c.filled(c.form().decode, t)
		if c.basic != nil && c.basic.held != c.basic.value {
			value = "fhir." + c.basic.value + "(" + value + ")"
		}
		out.p("case %q:\nif d.once(%s, %q) {\n%[2]s = %[4]s\n}", c.name, target, e.name, value)
	}
	if others != nil {
		out.p("case %s:\nif d.once(%s, %q) {\n%[2]s = d.otherValue(%[3]q)\n}", strings.Join(others, ", "), target, e.name)
	}
}

// decodeSplit writes what puts a choice element into its fields.
func (e *element) decodeSplit(out *source) {
	for _, field := range e.split {
		if field.of != nil {
			out.p("v.%s, _ = %s.(%s)", field.goName, e.name, field.holder())
		} else {
			out.p("%s, _ := %s.(%s)\nv.%s = %s(%[1]s)", lower(field.goName), e.name, field.holder(), field.goName, field.basic.held)
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
	_, fields := containedResource()
	out.p("var resourceTypes = %#v", slices.Sorted(maps.Keys(fields)))
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

// encodeChoice writes the encoder of choice elements, and the names that they have by type.
func (s *schema) encodeChoice(out *source) {
	out.p("\n// choice writes a choice element under its name followed by the type.")
	out.p("func (e *encoder) choice(names *choiceNames, v fhir.Value) {\nswitch v := v.(type) {")
	for _, c := range s.values() {
		out.p("case %s:\n%s", c.holder(), c.fill(c.form().encode, "names."+lower(c.suffix()), c.unwrapped("v"), s.common, ""))
	}
	out.p("}\n}\n\n// choiceNames are the names of a choice element, one a type.\ntype choiceNames struct {")
	for _, c := range s.values() {
		out.p("%s string", lower(c.suffix()))
	}
	out.p("}\n\nfunc namesOf(element string) *choiceNames {\nreturn &choiceNames{")
	for _, c := range s.values() {
		out.p("%s: element + %q,", lower(c.suffix()), c.suffix())
	}
	out.p("}\n}\n\nvar (")
	for _, name := range s.choices() {
		out.p("%sNames = namesOf(%q)", name, name)
	}
	out.p(")")
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
	s.encodeChoice(out)
	for _, t := range s.types {
		if t != s.common {
			out.p("\nfunc (e *encoder) %s(v *fhir.%s) {", lower(t.name), t.name)
			for _, e := range t.fields() {
				out.p("%s", e.filled(e.form().encode, t))
			}
			out.p("}")
		}
	}
}

// unwrapped is an expression: the content of a value of a choice element.
func (e *element) unwrapped(v string) string {
	if e.basic == nil || e.basic.held == e.basic.value {
		return v
	}
	return e.basic.held + "(" + v + ")"
}
