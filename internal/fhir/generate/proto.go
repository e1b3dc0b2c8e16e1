package main

import (
	"cmp"
	"fmt"
	"math"
	"path"
	"strings"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/descriptorpb"
)

// goType is the struct that protoc-gen-go makes of a message.
func (s *source) goType(m protoreflect.MessageDescriptor) string {
	name := string(m.Name())
	outer := m.Parent()
	for ; outer != m.ParentFile(); outer = outer.Parent() {
		name = string(outer.Name()) + "_" + name
	}
	importPath := m.ParentFile().Options().(*descriptorpb.FileOptions).GetGoPackage()
	alias := strings.ReplaceAll(strings.TrimSuffix(path.Base(importPath), "_go_proto"), "_", "") + "pb"
	s.imports[importPath] = alias
	return alias + "." + name
}

// goField is the field that protoc-gen-go makes.
func goField(f protoreflect.FieldDescriptor) string {
	return strings.Join(uppers(string(f.Name()), "_"), "")
}

// table is the table of the codes of an enum.
func table(e protoreflect.EnumDescriptor) string { return lower(string(e.Parent().Name())) }

// inProto are the types that protocol buffers hold.
func (s *schema) inProto() (all []*typ) {
	for _, t := range s.types {
		if t != s.common && !t.options.has("json") {
			all = append(all, t)
		}
	}
	return all
}

// method is the name of what reads or writes a type as one of its messages.
func (t *typ) method(m protoreflect.MessageDescriptor) string {
	if m == t.messages[0] {
		return lower(t.name)
	}
	return lower(string(m.Name()))
}

// in are the elements of a type that a message of it has, and the others.
func (t *typ) in(m protoreflect.MessageDescriptor) (present, missing []*element) {
	for _, e := range t.all {
		if f := fieldOf(m, e.name); f == nil {
			missing = append(missing, e)
		} else {
			there := *e
			there.field = f
			present = append(present, &there)
		}
	}
	return present, missing
}

// read writes the reader of protocol buffers.
func (s *schema) read(out *source) {
	out.imports[model] = ""
	out.imports["evenreach.example/internal/slab"] = ""
	out.imports["evenreach.example/internal/fhir/lexical"] = ""
	out.p("// slabs hold the wire structs of one Bundle, which live and die together.\ntype slabs struct {")
	for _, t := range s.inProto() {
		if t.isShared() {
			out.p("%s slab.Slab[fhir.%s]", lower(t.name), t.name)
		}
	}
	out.p("}")
	for _, p := range texts {
		out.readText(p)
	}
	contained, fields := containedResource()
	name := out.goType(contained)
	out.p("\n// known reads a resource of a type that is read, or returns nil for another.")
	out.p("func (r *reader) known(p *%s) fhir.Resource {\nswitch c := p.OneofResource.(type) {", name)
	for _, t := range s.inProto() {
		if t.isResource {
			field := goField(fields[t.path])
			out.p("case *%s_%s:\nreturn resourceOf(r, c.%[2]s, %s, (*reader).%s)", name, field, t.allocated("r"), lower(t.name))
		}
	}
	out.p("}\nreturn nil\n}")
	for _, t := range s.inProto() {
		for _, m := range t.messages {
			t.reader(out, m)
		}
	}
	s.readReferences(out)
}

// containedResource is the message that holds one resource of any type, with its
// fields by type.
func containedResource() (protoreflect.MessageDescriptor, map[string]protoreflect.FieldDescriptor) {
	m := listedDescriptor("ContainedResource")
	fields := map[string]protoreflect.FieldDescriptor{}
	for i := range m.Fields().Len() {
		f := m.Fields().Get(i)
		fields[string(f.Message().Name())] = f
	}
	return m, fields
}

// texts are the primitives that are texts, with the names of their checks.
var texts = []struct{ message, check string }{
	{"Canonical", "URI"}, {"Code", "Code"}, {"Id", "ID"}, {"Markdown", "Text"}, {"String", "Text"}, {"Uri", "URI"}, {"Xhtml", "Div"},
}

// readText writes the method that reads a text.
func (s *source) readText(p struct{ message, check string }) {
	m := listedDescriptor(p.message)
	extensions := "nil"
	if fieldOf(m, "extension") != nil {
		extensions = "p.Extension"
	}
	check := "Is" + p.check + "Text"
	if p.check == "Text" || p.check == "ID" {
		check = "Is" + p.check
	}
	s.p("\nfunc (r *reader) %s(name string, p *%s) string {", primitives[protoreflect.Name(p.message)].read, s.goType(m))
	s.p("if p == nil {\nreturn \"\"\n}")
	s.p("if p.Value == \"\" || !lexical.%s(p.Value) {\nr.badText(name, p.Value, %s, lexical.Expected%s)\n}", check, extensions, p.check)
	s.p("return p.Value\n}")
}

// reader writes the method that reads a type from a message.
func (t *typ) reader(out *source, m protoreflect.MessageDescriptor) {
	out.p("\nfunc (r *reader) %s(p *%s, v *fhir.%s) {", t.method(m), out.goType(m), t.name)
	if t.options.has("before-proto") {
		out.p("if !r.before%s(p) {\nreturn\n}", t.name)
	}
	elements, _ := t.in(m)
	for _, e := range elements {
		e.read(out, t)
	}
	t.require(out, "r")
	out.p("}")
	for _, e := range elements {
		if e.choices != nil && e.split == nil && m == t.messages[0] {
			e.choiceReader(out, t)
		}
	}
}

// read writes the statement that reads an element.
func (e *element) read(out *source, t *typ) {
	switch {
	case e.split != nil:
		for _, field := range e.split {
			read := strings.ReplaceAll(field.form().read, "FROM", "GET") // which does with an absent choice element
			value := field.fill(read, fmt.Sprintf("%q", field.name), "", t, "p.Get"+goField(e.field)+"()")
			out.p("v.%s = %s", field.goName, value)
		}
	case e.inline:
		out.p("%s", e.filled(e.form().read, t))
	default:
		out.p("v.%s = %s", e.goName, e.filled(e.form().read, t))
	}
}

// choiceReader writes the method that reads a choice element.
func (e *element) choiceReader(out *source, t *typ) {
	message := out.goType(e.field.Message())
	out.p("\nfunc (r *reader) %s(p *%s) fhir.Value {\nif p == nil {\nreturn nil\n}", lower(t.name)+upper(e.name), message)
	out.p("switch c := p.Choice.(type) {")
	for _, c := range e.choices {
		if c.field == nil {
			continue
		}
		value := c.fill(c.form().read, fmt.Sprintf("%q", c.name), "", t, "c")
		switch {
		case !c.kept:
			value = fmt.Sprintf("fhir.OtherValue(%q)", strings.TrimPrefix(c.name, e.name))
		case c.of != nil:
			value = "valueOf(" + value + ")"
		case c.basic.held != "bool" && c.basic.held != "int32":
			value = fmt.Sprintf("textValue[fhir.%s](%s)", c.basic.value, value)
		}
		out.p("case *%s_%s:\nreturn %s", message, goField(c.field), value)
	}
	out.p("default:\nreturn r.noChoice(%q)\n}\n}", e.name)
}

// readReferences writes how references hold the id of a resource.
func (s *schema) readReferences(out *source) {
	m := listedDescriptor("Reference")
	name := out.goType(m)
	out.p("\n// referred is the id of a resource in a reference, with the type of the resource.")
	out.p("func referred(p *%s) (typeName string, id *%sId) {\nswitch c := p.Reference.(type) {", name, name)
	fields := m.Oneofs().ByName("reference").Fields()
	numbers := &source{}
	for i := range fields.Len() {
		f := fields.Get(i)
		if typeName, _ := proto.GetExtension(f.Options(), apb.E_ReferencedFhirType).(string); typeName != "" {
			out.p("case *%s_%s:\nreturn %q, c.%[2]s", name, goField(f), typeName)
			numbers.p("%q: %d,", typeName, f.Number())
		}
	}
	out.p("}\nreturn \"\", nil\n}")
	out.p("\n// referenceFields are the fields that hold the id of a resource, by its type.")
	out.p("var referenceFields = map[string]protowire.Number{\n%s}", numbers)
	out.imports["google.golang.org/protobuf/encoding/protowire"] = ""
}

// codeTables writes the codes with a required binding, which the protocol buffers
// hold as enums.
func (s *schema) codeTables(out *source) {
	written := map[string]bool{}
	for _, t := range s.inProto() {
		for _, e := range t.all {
			if e.basic == nil || e.basic.enum == nil || written[table(e.basic.enum)] {
				continue
			}
			written[table(e.basic.enum)] = true
			out.p("\nvar %s = codes{", table(e.basic.enum))
			values := e.basic.enum.Values()
			for i := range values.Len() {
				if value := values.Get(i); value.Number() != 0 { // which stands for no code
					out.p("%d: %q,", value.Number(), codeText(value))
				}
			}
			out.p("}")
		}
	}
}

// codeText is the FHIR code of an enum value: the original code where the protocol
// buffers had to change it, otherwise the value's name in lower case with hyphens.
func codeText(value protoreflect.EnumValueDescriptor) string {
	if original, ok := proto.GetExtension(value.Options(), apb.E_FhirOriginalCode).(string); ok && original != "" {
		return original
	}
	return strings.ReplaceAll(strings.ToLower(string(value.Name())), "_", "-")
}

// write writes the writer of protocol buffers.
func (s *schema) write(out *source) {
	out.imports[model] = ""
	_, fields := containedResource()
	out.p("// resource writes a resource as the field of its type in a ContainedResource.")
	out.p("func (w *writer) resource(r *fhir.Resource) {\nswitch r := (*r).(type) {")
	for _, t := range s.inProto() {
		if t.isResource {
			out.p("case *fhir.%s:\nwriteResource(w, %d, r, (*writer).%s)", t.name, fields[t.path].Number(), lower(t.name))
		}
	}
	out.p("default:\nw.unwritableResource()\n}\n}")
	for _, t := range s.inProto() {
		for _, m := range t.messages {
			t.writer(out, m)
		}
	}
}

// writer writes the method that writes a type as a message, in the order of the
// numbers of its fields.
func (t *typ) writer(out *source, m protoreflect.MessageDescriptor) {
	out.p("\nfunc (w *writer) %s(v *fhir.%s) {", t.method(m), t.name)
	elements, missing := t.in(m)
	for _, e := range missing {
		out.p("if v.%s != \"\" {\nw.unwritable(%q)\n}", e.goName, e.name)
	}
	if own := fieldOf(m, "identifier"); t.hasCommon && (own == nil || !own.IsList()) {
		out.p("if len(v.Common.Identifier) > 0 {\nw.unwritable(\"identifier\")\n}")
	}
	for _, e := range sorted(elements, func(a, b *element) int { return cmp.Compare(a.order(), b.order()) }) {
		out.p("%s", e.filled(e.form().write, t))
	}
	out.p("}")
	for _, e := range elements {
		if e.choices != nil && m == t.messages[0] {
			e.choiceWriter(out, t)
		}
	}
}

// order is the place among the fields of a message: proto.Marshal writes a choice
// behind all others.
func (e *element) order() protoreflect.FieldNumber {
	if e.field.ContainingOneof() != nil {
		return math.MaxInt32
	}
	return e.field.Number()
}

// choiceWriter writes the method that writes a choice element.
func (e *element) choiceWriter(out *source, t *typ) {
	name := lower(t.name) + upper(e.name)
	if e.split != nil {
		out.p("\nfunc (w *writer) %s(v *fhir.%s) bool {", name, t.name)
		var set []string
		for _, field := range e.split {
			out.p("%s", field.fill(field.form().write, fmt.Sprintf("%q", field.name), "v."+field.goName, t, ""))
			zero := `""`
			if field.of != nil {
				zero = "nil"
			}
			set = append(set, "v."+field.goName+" != "+zero)
		}
		out.p("return atMostOne(%s)\n}", strings.Join(set, ", "))
		return
	}
	out.p("\nfunc (w *writer) %s(v fhir.Value) bool {\nswitch v := v.(type) {\ncase nil, fhir.OtherValue:", name)
	for _, c := range e.choices {
		if c.kept {
			out.p("case %s:\n%s", c.holder(), c.fill(c.form().write, fmt.Sprintf("%q", c.name), c.unwrapped("v"), t, ""))
		}
	}
	out.p("default:\nreturn false\n}\nreturn true\n}")
}
