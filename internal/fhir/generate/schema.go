package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	_ "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto" // registers all messages
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
)

// schema is the list with what the descriptors say about it.
type schema struct {
	types  []*typ // in the order of the list
	common *typ
	of     map[protoreflect.FullName]*typ // by message
}

// typ is a type of the wire model.
type typ struct {
	entry
	name       string                           // in Go
	messages   []protoreflect.MessageDescriptor // its own, then others that hold it
	isResource bool
	hasCommon  bool       // it is a DomainResource
	own        []*element // of its struct
	all        []*element // of its JSON object: those of Common before its own
}

// element is an element of a type, or one of the types of a choice element.
type element struct {
	name     string // of the member in JSON
	goName   string
	field    protoreflect.FieldDescriptor
	slot     int        // where the reader of a message puts that field
	basic    *primitive // exactly one of the following four, if it has content
	of       *typ
	resource bool
	choices  []*element // the types of a choice element
	list     bool
	required bool
	inline   bool
	kept     bool       // as one of the types of a choice element
	split    []*element // the fields that hold a choice element
}

// descriptor finds the message of a type, or of an element by its path.
func descriptor(path string) (protoreflect.MessageDescriptor, error) {
	name := "google.fhir.r4.core." + strings.Join(uppers(path, "."), ".")
	found, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName(name))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return found.(protoreflect.MessageDescriptor), nil
}

// listedDescriptor is descriptor for a message that the package is known to have.
func listedDescriptor(name string) protoreflect.MessageDescriptor {
	m, err := descriptor(name)
	if err != nil {
		panic(err)
	}
	return m
}

// resolve looks the types of a list up.
func resolve(entries []entry) (*schema, error) {
	s := &schema{of: map[protoreflect.FullName]*typ{}}
	for _, e := range entries {
		t := &typ{entry: e, name: e.path}
		if name := e.options.one("as"); name != "" {
			t.name = name
		}
		if e.path == "Common" {
			s.common = t
		} else if err := s.describe(t); err != nil {
			return nil, err
		}
		s.types = append(s.types, t)
	}
	if s.common == nil {
		return nil, errors.New("the list has no type Common")
	}
	for _, t := range s.types {
		if err := s.resolveElements(t); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// describe finds the messages of a type.
func (s *schema) describe(t *typ) error {
	for _, path := range append([]string{t.path}, t.options["also"]...) {
		m, err := descriptor(path)
		if err != nil {
			return err
		}
		t.messages = append(t.messages, m)
		s.of[m.FullName()] = t
	}
	t.isResource = structureKind(t.messages[0]) == apb.StructureDefinitionKindValue_KIND_RESOURCE
	t.hasCommon = t.isResource && fieldOf(t.messages[0], "contained") != nil
	return nil
}

func structureKind(m protoreflect.MessageDescriptor) apb.StructureDefinitionKindValue {
	return proto.GetExtension(m.Options(), apb.E_StructureDefinitionKind).(apb.StructureDefinitionKindValue)
}

// resolveElements finds the elements of a type.
func (s *schema) resolveElements(t *typ) (err error) {
	if t == s.common {
		observation, err := descriptor("Observation")
		if err == nil {
			t.own, err = s.elements(observation, t.elements)
		}
		return err
	}
	if t.own, err = s.elements(t.messages[0], t.elements); err != nil {
		return fmt.Errorf("%s: %w", t.path, err)
	}
	t.all = t.own
	if t.hasCommon {
		inherited, err := s.elements(t.messages[0], slices.DeleteFunc(slices.Clone(s.common.elements), func(l listed) bool {
			f := fieldOf(t.messages[0], l.name)
			return f == nil || slices.ContainsFunc(t.elements, func(own listed) bool { return own.name == l.name })
		}))
		t.all = append(inherited, t.own...)
		return err
	}
	return nil
}

// elements looks elements of a message up.
func (s *schema) elements(m protoreflect.MessageDescriptor, all []listed) (found []*element, err error) {
	for _, l := range all {
		f := fieldOf(m, l.name)
		if f == nil {
			return nil, fmt.Errorf("FHIR R4 has no element %q", l.name)
		}
		e := &element{name: l.name, goName: goName(l.name), field: f, list: f.IsList(), inline: l.options.has("inline")}
		if name := l.options.one("as"); name != "" {
			e.goName = name
		}
		requirement := proto.GetExtension(f.Options(), apb.E_ValidationRequirement).(apb.Requirement)
		e.required = requirement == apb.Requirement_REQUIRED_BY_FHIR
		if isChoice(f.Message()) != l.isChoice {
			return nil, fmt.Errorf("%s: only choice elements are written with [x]", l.name)
		}
		if l.isChoice {
			err = s.choose(e, l.options)
		} else {
			err = s.content(e)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", l.name, err)
		}
		found = append(found, e)
	}
	return found, nil
}

// content finds what an element holds.
func (s *schema) content(e *element) error {
	m := e.field.Message()
	switch {
	case s.of[m.FullName()] != nil:
		e.of = s.of[m.FullName()]
	case m.Name() == "ContainedResource" || m.Name() == "Any":
		e.resource = true
	default:
		if e.basic = primitiveOf(m); e.basic == nil {
			return fmt.Errorf("its type %s is not in the list", m.Name())
		}
	}
	return nil
}

// choose finds the types of a choice element.
func (s *schema) choose(e *element, o options) error {
	fields := e.field.Message().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		c := &element{name: e.name + upper(f.JSONName()), field: f}
		c.goName = goName(c.name)
		c.kept = s.content(c) == nil && (c.of != nil && c.of.options.has("value") || c.basic != nil && c.basic.value != "")
		if c.kept && c.basic != nil && c.basic.rare {
			c.kept = slices.Contains(o["with"], string(f.Message().Name()))
		}
		if c.kept && slices.Contains(o["split"], upper(f.JSONName())) {
			e.split = append(e.split, c)
		}
		e.choices = append(e.choices, c)
	}
	for _, name := range o["also"] {
		e.choices = append(e.choices, &element{name: e.name + name})
	}
	if len(e.split) != len(o["split"]) {
		return fmt.Errorf("it has not all the types %v", o["split"])
	}
	return nil
}

// isChoice reports whether a message is one of several types.
func isChoice(m protoreflect.MessageDescriptor) bool { return m.Oneofs().ByName("choice") != nil }

// fieldOf finds a field by its name in JSON.
func fieldOf(m protoreflect.MessageDescriptor, name string) protoreflect.FieldDescriptor {
	for i := range m.Fields().Len() {
		if f := m.Fields().Get(i); f.JSONName() == name {
			return f
		}
	}
	return nil
}

// primitive is how a primitive type is held, and the methods that read and write it.
type primitive struct {
	held                      string // its type in Go
	json, encode, read, write string
	value                     string // its type as the value of a choice element, "" if it cannot be one
	rare                      bool   // it is such a value only where the list says so
	enum                      protoreflect.EnumDescriptor
	open                      bool // a code that no enum holds
}

var primitives = map[protoreflect.Name]*primitive{
	"Base64Binary": {held: "[]byte"},
	"Boolean":      {held: "bool", json: "boolean", encode: "boolean", read: "booleanValue", write: "boolean", value: "Boolean"},
	"Canonical":    {held: "string", json: "uri", encode: "text", read: "canonical", write: "text", value: "Canonical"},
	"Code":         {held: "string", json: "code", encode: "text", read: "code", write: "text", value: "Code"},
	"Date":         {held: "string", json: "date", encode: "text", read: "date", write: "date", value: "Date"},
	"DateTime":     {held: "string", json: "dateTime", encode: "text", read: "dateTime", write: "dateTime", value: "DateTime"},
	"Decimal":      {held: "Decimal", json: "decimal", encode: "decimal", read: "decimal", write: "decimal", value: "Decimal", rare: true},
	"Id":           {held: "string", json: "id", encode: "text", read: "id", write: "text"},
	"Instant":      {held: "string", json: "instant", encode: "text", read: "instant", write: "instant", value: "Instant"},
	"Integer":      {held: "int32", json: "integer", encode: "integer", read: "integerValue", write: "integer", value: "Integer"},
	"Markdown":     {held: "string", json: "str", encode: "text", read: "markdown", write: "text"},
	"String":       {held: "string", json: "str", encode: "text", read: "str", write: "text", value: "String"},
	"UnsignedInt":  {held: "uint32"},
	"Uri":          {held: "string", json: "uri", encode: "text", read: "uri", write: "text", value: "URI"},
	"Xhtml":        {held: "string", json: "div", encode: "text", read: "div", write: "text"},
}

// primitiveOf is the primitive type of a message, or nil. A code with a required
// binding has a message of its own, within that of the type that has the element.
func primitiveOf(m protoreflect.MessageDescriptor) *primitive {
	if p := primitives[m.Name()]; p != nil {
		return p
	}
	value := m.Fields().ByName("value")
	if _, isOwn := m.Parent().(protoreflect.MessageDescriptor); !isOwn || value == nil {
		return nil
	}
	return &primitive{held: "string", enum: value.Enum(), open: value.Enum() == nil}
}

// goName is the name of an element in Go.
func goName(name string) string {
	for _, initialism := range []string{"Url", "Id"} {
		if rest, found := strings.CutSuffix(upper(name), initialism); found {
			return rest + strings.ToUpper(initialism)
		}
	}
	return upper(name)
}

// uppers are the parts of a text between separators, each as upper writes it.
func uppers(text, separator string) []string {
	parts := strings.Split(text, separator)
	for i := range parts {
		parts[i] = upper(parts[i])
	}
	return parts
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// lower writes the first word of a name small, such as httpVerb.
func lower(s string) string {
	n := 1
	for n+1 < len(s) && unicode.IsUpper(rune(s[n])) && unicode.IsUpper(rune(s[n+1])) {
		n++
	}
	return strings.ToLower(s[:n]) + s[n:]
}
