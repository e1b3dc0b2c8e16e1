package main

import (
	"cmp"
	"slices"
)

// model writes the structs of the wire model.
func (s *schema) model(out *source) {
	for _, t := range s.types {
		out.p("")
		for _, line := range t.comment {
			out.p("%s", line)
		}
		out.p("type %s struct {", t.name)
		if t.hasCommon {
			out.p("Common")
		}
		for _, e := range t.own {
			e.declare(out)
		}
		out.p("}")
	}
	out.p("\n// Type implements Resource.")
	for _, t := range s.types {
		if t.isResource {
			out.p("func (*%s) Type() string { return %q }", t.name, t.path)
		}
	}
	for _, t := range s.types {
		if t.options.has("value") {
			out.p("\nfunc (*%s) isValue() {}", t.name)
		}
	}
}

// declare writes the fields of an element. What the name does not tell is in a
// comment.
func (e *element) declare(out *source) {
	for _, field := range e.split {
		out.p("%s %s // %s", field.goName, field.held(), field.name)
	}
	switch {
	case e.split != nil:
	case e.choices != nil:
		out.p("%s Value // %s[x]", e.goName, e.name)
	case e.goName != goName(e.name):
		out.p("%s %s // %s", e.goName, e.held(), e.name)
	default:
		out.p("%s %s", e.goName, e.held())
	}
}

// held is the type of the field that holds an element.
func (e *element) held() string {
	prefix := ""
	if e.list {
		prefix = "[]"
	}
	switch {
	case e.resource:
		return prefix + "Resource"
	case e.basic != nil:
		return prefix + e.basic.held
	case e.list || e.inline:
		return prefix + e.of.name
	}
	return "*" + e.of.name
}

// isShared reports whether the structs of a type are handed out from a slab.
func (t *typ) isShared() bool { return !t.isResource || t.options.has("many") }

// allocated is an expression: a new struct of a type; reading is what reads.
func (t *typ) allocated(reading string) string {
	if t.isShared() {
		return reading + ".slabs." + lower(t.name) + ".One()"
	}
	return "new(fhir." + t.name + ")"
}

// fields are the elements of a type by the fields that hold them.
func (t *typ) fields() (all []*element) {
	for _, e := range t.all {
		if e.split != nil {
			all = append(all, e.split...)
		} else {
			all = append(all, e)
		}
	}
	return all
}

// isFilled is an expression: whether v holds a required element.
func (e *element) isFilled(out *source) string {
	field := "v." + e.goName
	switch {
	case e.list && e.of != nil && e.of.name == "Reference":
		out.imports["slices"] = ""
		return "slices.ContainsFunc(" + field + ", fhir.IsFilled)"
	case e.list:
		return field + " != nil"
	case e.basic != nil:
		return field + ` != ""`
	}
	return "!" + field + ".IsEmpty()"
}

// require writes the checks of the required elements; reading is what reads.
func (t *typ) require(out *source, reading string) {
	for _, e := range t.all {
		if e.required {
			out.p("%s.require(%s, %q)", reading, e.isFilled(out), e.name)
		}
	}
}

// holder is the type in Go that a kept type of a choice element has as a value,
// such as fhir.String or *fhir.Quantity.
func (e *element) holder() string {
	if e.of != nil {
		return "*fhir." + e.of.name
	}
	return "fhir." + e.basic.value
}

// suffix is the FHIR name of a kept type, as the member of a choice has it.
func (e *element) suffix() string {
	if e.of != nil {
		return e.of.path
	}
	return string(e.field.Message().Name())
}

// values are all types of values that choice elements keep, one element each, in
// alphabetical order.
func (s *schema) values() (all []*element) {
	seen := map[string]bool{}
	for _, t := range s.types {
		for _, e := range t.own {
			for _, c := range e.choices {
				if c.kept && !seen[c.suffix()] {
					seen[c.suffix()] = true
					all = append(all, c)
				}
			}
		}
	}
	return sorted(all, func(a, b *element) int { return cmp.Compare(a.suffix(), b.suffix()) })
}

// choices are the names of the elements that are choices, in alphabetical order.
func (s *schema) choices() (names []string) {
	for _, t := range s.types {
		for _, e := range t.fields() {
			if e.form() == choice && !slices.Contains(names, e.name) {
				names = append(names, e.name)
			}
		}
	}
	return sorted(names, cmp.Compare[string])
}
