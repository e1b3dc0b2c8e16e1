package main

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

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
	out.imports["google.golang.org/protobuf/encoding/protowire"] = ""
	out.p("// slabs hold the wire structs of one Bundle, which live and die together.\ntype slabs struct {")
	for _, t := range s.inProto() {
		if t.isShared() {
			out.p("%s slab.Slab[fhir.%s]", lower(t.name), t.name)
		}
	}
	out.p("}\n\n// seen are the values that repeat.\ntype seen struct {")
	for _, t := range s.inProto() {
		if t.repeats() {
			out.p("%s memory[fhir.%s]", lower(t.name), t.name)
		}
	}
	out.p("}")
	s.readResources(out)
	for _, t := range s.inProto() {
		for _, m := range t.messages {
			t.reader(out, m)
		}
	}
	s.readReferences(out)
}

// repeats reports whether values of a type often repeat byte by byte.
func (t *typ) repeats() bool { return t.options.has("again") || t.options.has("each") }

// readResources writes how a ContainedResource holds one resource of any type.
func (s *schema) readResources(out *source) {
	m, fields := containedResource()
	out.p("\n// known reads a resource of a type that is read, or returns nil for another.")
	out.p("func (r *reader) known(number protowire.Number, m message) fhir.Resource {\nswitch number {")
	for _, t := range s.inProto() {
		if t.isResource {
			out.p("case %d:\nreturn resourceOf(r, m, %s, (*reader).%s)", fields[t.path].Number(), t.allocated("r"), lower(t.name))
		}
	}
	out.p("}\nreturn nil\n}")
	out.p("\n// resourceTypes are the types of resources, by the fields of a ContainedResource.")
	out.names("resourceTypes", m.Oneofs().Get(0), func(f protoreflect.FieldDescriptor) string {
		if id := fieldOf(f.Message(), "id"); id.Number() != resourceID {
			panic(f.Message().FullName() + " has its id in a field of its own")
		}
		return string(f.Message().Name())
	})
}

// resourceID is the field of the id in all resources.
const resourceID = 1

// names writes a table of the names of the fields of a oneof, by their numbers. The
// reader knows the fields of a oneof by the first and the last of them.
func (s *source) names(table string, o protoreflect.OneofDescriptor, name func(protoreflect.FieldDescriptor) string) {
	first, last := ends(o)
	of := make([]string, o.Fields().Len())
	for i := range of {
		f := o.Fields().Get(i)
		of[f.Number()-first] = name(f)
	}
	s.p("var %s = names{first: %d, last: %d, of: %#v}", table, first, last, of)
}

// ends are the first and the last number of the fields of a oneof, which has all
// between.
func ends(o protoreflect.OneofDescriptor) (first, last protoreflect.FieldNumber) {
	first, last = o.Fields().Get(0).Number(), 0
	for i := range o.Fields().Len() {
		n := o.Fields().Get(i).Number()
		first, last = min(first, n), max(last, n)
	}
	if int(last-first)+1 != o.Fields().Len() {
		panic(o.FullName() + " has numbers that are not its own between its fields")
	}
	return first, last
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

// reader writes the method that reads a type from a message, with the layout of the
// fields that it reads.
func (t *typ) reader(out *source, m protoreflect.MessageDescriptor) {
	elements, _ := t.in(m)
	method := t.method(m)
	var places []string
	for _, e := range elements {
		if e.field.ContainingOneof() == nil {
			e.slot = len(places)
			places = append(places, fmt.Sprintf("%d: %d", e.field.Number(), e.slot+1))
		}
	}
	out.p("\nvar %sLayout = layout{%s}", method, strings.Join(places, ", "))
	out.p("\nfunc (r *reader) %s(m message, v *fhir.%s) {\nvar f [%d]field", method, t.name, len(places))
	out.p("if !r.split(m, %sLayout, f[:]) {\nreturn\n}", method)
	for _, e := range elements {
		if t.options.one("before-proto") == e.name {
			out.p("if !r.before%s(&f[%d]) {\nreturn\n}", t.name, e.slot)
		}
	}
	for _, e := range elements {
		e.read(out, t)
	}
	t.require(out, "r")
	out.p("}")
	if t.repeats() {
		out.p("\nfunc (r *reader) %sAgain(m message, v *fhir.%s) {\nagain(r, &r.seen.%s, m, v, (*reader).%[1]s)\n}", method, t.name, lower(t.name))
	}
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
		first, last := ends(e.field.Message().Oneofs().ByName("choice"))
		out.p("switch c := r.oneof(f[%d].whole(), %d, %d); c.number {", e.slot, first, last)
		for _, c := range e.split {
			out.p("case %d:\nv.%s = %s", c.field.Number(), c.goName, c.fill(c.form().read, fmt.Sprintf("%q", c.name), "", t, "&c"))
		}
		out.p("}")
	case e.inline:
		out.p("%s", e.filled(e.form().read, t))
	default:
		out.p("v.%s = %s", e.goName, e.filled(e.form().read, t))
	}
}

// choiceReader writes the method that reads a choice element, and the names of the
// types that are not read.
func (e *element) choiceReader(out *source, t *typ) {
	name := lower(t.name) + upper(e.name)
	out.p("")
	out.names(name+"Types", e.field.Message().Oneofs().ByName("choice"), func(f protoreflect.FieldDescriptor) string { return upper(f.JSONName()) })
	out.p("\nfunc (r *reader) %s(f *field) fhir.Value {\nif f.count == 0 {\nreturn nil\n}", name)
	out.p("switch c := r.oneof(f.whole(), %sTypes.first, %[1]sTypes.last); c.number {", name)
	for _, c := range e.choices {
		if c.field == nil || !c.kept {
			continue
		}
		value := c.fill(c.form().read, fmt.Sprintf("%q", c.name), "", t, "&c")
		switch {
		case c.of != nil:
			value = "valueOf(" + value + ")"
		case c.basic.held != "bool" && c.basic.held != "int32":
			value = fmt.Sprintf("textValue[fhir.%s](%s)", c.basic.value, value)
		}
		out.p("case %d:\nreturn %s", c.field.Number(), value)
	}
	out.p("case 0:\nreturn r.noChoice(%q)\ndefault:\nreturn fhir.OtherValue(%sTypes.name(c.number))\n}\n}", e.name, name)
}

// readReferences writes which field of a reference holds the id of a resource of
// which type.
func (s *schema) readReferences(out *source) {
	out.p("\n// referenceTypes are the types of resources, by the fields of a reference that hold an id of one.")
	out.names("referenceTypes", listedDescriptor("Reference").Oneofs().ByName("reference"), func(f protoreflect.FieldDescriptor) string {
		typeName, _ := proto.GetExtension(f.Options(), apb.E_ReferencedFhirType).(string)
		return typeName
	})
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
