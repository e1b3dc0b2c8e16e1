package main

import (
	"fmt"
	"strings"
)

// form is how an element gets from JSON into the struct v, from there into JSON, and
// from protocol buffers and into them. What is read is an expression, what is written
// a statement. The words in capitals are filled in:
//
//	NAME    its name in JSON, in quotes          TYPE    its type, as a method or field
//	VALUE   the field of v that holds it         MESSAGE likewise, as one of its messages
//	                                             READER  likewise, as what reads that
//	FROM    what its message has of it           TABLE   the table of its codes
//	NUMBER  the number of its field there        CHOICE  the method for a choice element
type form struct{ decode, encode, read, write string }

var (
	text     = form{"d.JSON()", "e.ENCODE(NAME, VALUE)", "r.READ(NAME, FROM)", "w.WRITE(NUMBER, NAME, VALUE)"}
	textList = form{"d.primitives((*decoder).JSON)", "e.texts(NAME, VALUE)", "primitives(r, NAME, FROM, (*reader).READ)", "w.texts(NUMBER, NAME, VALUE)"}
	code     = form{"d.code()", "e.text(NAME, VALUE)", "r.requiredCode(NAME, FROM, TABLE)", "w.code(NUMBER, NAME, VALUE, TABLE)"}
	openCode = form{"d.code()", "e.text(NAME, VALUE)", "r.openCode(NAME, FROM)", "w.openCode(NUMBER, NAME, VALUE)"}
	data     = form{"d.base64()", "e.data(NAME, VALUE)", "r.data(FROM)", "w.data(NUMBER, NAME, VALUE)"}
	flag     = form{"d.boolean()", "e.flag(NAME, VALUE)", "r.number(FROM) != 0", "w.flag(NUMBER, NAME, VALUE)"}
	count    = form{"d.unsignedInt()", "e.count(NAME, VALUE)", "uint32(r.number(FROM))", "w.count(NUMBER, NAME, VALUE)"}
	number   = form{"d.JSON()", "e.ENCODE(NAME, VALUE)", "r.READ(FROM)", "w.WRITE(NUMBER, NAME, VALUE)"}

	resource     = form{"d.resource()", "e.resourceMember(NAME, VALUE)", "r.resource(NAME, FROM)", "w.resourceMember(NUMBER, NAME, &VALUE)"}
	resourceList = form{"list(d, &d.resources, (*decoder).resourceInto)", "e.contained(VALUE)", "r.contained(FROM)",
		"children(w, NUMBER, NAME, VALUE, (*writer).pack)"}

	structPointer = form{"pointer(d, &d.slabs.TYPE, (*decoder).TYPE)", "objectMember(e, NAME, VALUE, (*encoder).TYPE)",
		"optional(r, &r.slabs.TYPE, NAME, FROM, (*reader).READER)", "child(w, NUMBER, NAME, VALUE, (*writer).MESSAGE)"}
	structList = form{"list(d, &d.slabs.TYPE, (*decoder).TYPE)", "arrayMember(e, NAME, VALUE, (*encoder).TYPE)",
		"repeated(r, &r.slabs.TYPE, NAME, FROM, (*reader).READER)", "children(w, NUMBER, NAME, VALUE, (*writer).MESSAGE)"}
	structEachAgain = form{"list(d, &d.slabs.TYPE, (*decoder).TYPEAgain)", structList.encode, structList.read, structList.write}
	structApart     = form{"list(d, &d.slabs.TYPE, (*decoder).TYPEApart)", structList.encode, "repeated(r, &r.slabs.TYPE, NAME, FROM, (*reader).TYPEApart)", structList.write}
	structInline    = form{"d.TYPE(&VALUE)", "objectMember(e, NAME, &VALUE, (*encoder).TYPE)",
		"inline(r, NAME, FROM, &VALUE, (*reader).READER)", "child(w, NUMBER, NAME, &VALUE, (*writer).MESSAGE)"}

	// Values that repeat are read once.
	pointerAgain = form{"pointerAgain(d, &d.seen.TYPEOne, &d.slabs.TYPE, (*decoder).TYPE)", structPointer.encode, structPointer.read, structPointer.write}
	listAgain    = form{"listAgain(d, &d.seen.TYPEList, &d.slabs.TYPE, (*decoder).TYPE)", structList.encode, structList.read, structList.write}
	inlineAgain  = form{"valueAgain(d, &d.seen.TYPE, &VALUE, (*decoder).TYPE)", structInline.encode, structInline.read, structInline.write}

	choice = form{"", "e.choice(ELEMENTNames, VALUE)", "r.CHOICE(FROM)", "choice(w, NUMBER, NAME, VALUE, (*writer).CHOICE)"}
	split  = form{"", "", "", "choice(w, NUMBER, NAME, v, (*writer).CHOICE)"}
	target = form{"d.str()", "e.address(NAME, VALUE)", "r.referenceText(m)", "w.referred(VALUE)"} // of a Reference
)

// form is the one that fits an element.
func (e *element) form() form {
	switch {
	case e.split != nil:
		return split
	case e.choices != nil:
		return choice
	case e.resource && e.list:
		return resourceList
	case e.resource:
		return resource
	case e.of != nil:
		return e.structForm()
	case e.list:
		return textList
	case e.field.ContainingOneof() != nil && !e.kept:
		return target
	case e.basic.enum != nil:
		return code
	case e.basic.open:
		return openCode
	case e.basic.held == "[]byte":
		return data
	case e.basic.held == "bool" && !e.kept:
		return flag
	case e.basic.held == "uint32":
		return count
	case e.basic.held == "bool" || e.basic.held == "int32":
		return number
	}
	return text
}

// structForm is the form of an element that is a struct, or a list of such.
func (e *element) structForm() form {
	again := e.of.options.has("again")
	switch {
	case e.list && e.of.options.has("each"):
		return structEachAgain
	case e.list && e.of.options.has("apart"):
		return structApart
	case e.list && again:
		return listAgain
	case e.list:
		return structList
	case e.inline && again:
		return inlineAgain
	case e.inline:
		return structInline
	case again:
		return pointerAgain
	}
	return structPointer
}

// fill fills in the words of a form: name, value and from are expressions; t is the
// type that has the element.
func (e *element) fill(text, name, value string, t *typ, from string) string {
	words := []string{"NAME", name, "VALUE", value, "CHOICE", lower(t.name) + upper(e.name), "ELEMENT", e.name}
	if e.field != nil {
		words = append(words, "NUMBER", fmt.Sprint(e.field.Number()), "FROM", from)
	}
	if e.of != nil {
		method := e.of.method(e.field.Message())
		words = append(words, "TYPE", lower(e.of.name), "MESSAGE", method, "READER", method)
		if e.of.repeats() {
			words[len(words)-1] += "Again"
		}
	}
	if e.basic != nil {
		words = append(words, "JSON", e.basic.json, "ENCODE", e.basic.encode, "READ", e.basic.read, "WRITE", e.basic.write)
		if e.basic.enum != nil {
			words = append(words, "TABLE", table(e.basic.enum))
		}
	}
	return strings.NewReplacer(words...).Replace(text)
}

// filled is fill for an element in a field of its own.
func (e *element) filled(text string, t *typ) string {
	return e.fill(text, fmt.Sprintf("%q", e.name), "v."+e.goName, t, fmt.Sprintf("&f[%d]", e.slot))
}
