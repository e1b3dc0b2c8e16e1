package fhir

import (
	"slices"
	"strings"
)

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

func (d *decoder) meta(m *Meta) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "versionId":
			m.VersionID = d.id()
		case "lastUpdated":
			m.LastUpdated = d.instant()
		case "source":
			m.Source = d.uri()
		case "profile":
			m.Profile = d.primitives((*decoder).uri)
		case "tag":
			m.Tag = d.codingList()
		default:
			d.other("Meta")
		}
	}
}

func (d *decoder) metaPtr() *Meta {
	return pointerAgain(d, &d.seen.metas, &d.metas, (*decoder).meta)
}

func (d *decoder) narrative() *Narrative {
	if !d.object() {
		return nil
	}
	n := &Narrative{}
	for d.member() {
		switch d.name {
		case "status":
			n.Status = d.code()
		case "div":
			n.Div = d.div()
		default:
			d.other("Narrative")
		}
	}
	d.require(n.Status != "", "status")
	d.require(n.Div != "", "div")
	return n
}

func (d *decoder) coding(c *Coding) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "system":
			c.System = d.uri()
		case "version":
			c.Version = d.str()
		case "code":
			c.Code = d.code()
		case "display":
			c.Display = d.str()
		default:
			d.other("Coding")
		}
	}
}

func (d *decoder) codingList() []Coding { return list(d, &d.codings, (*decoder).coding) }

func (d *decoder) concept(c *CodeableConcept) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "extension":
			c.Extension = d.extensionList()
		case "coding":
			c.Coding = d.codingList()
		case "text":
			c.Text = d.str()
		default:
			d.other("CodeableConcept")
		}
	}
}

// isEmpty reports whether c says nothing.
func (c *CodeableConcept) isEmpty() bool {
	return c.Text == "" && len(c.Extension) == 0 && !slices.ContainsFunc(c.Coding, func(c Coding) bool { return c != Coding{} })
}

func (d *decoder) conceptAgain(c *CodeableConcept) {
	valueAgain(d, &d.seen.concepts, c, (*decoder).concept)
}

func (d *decoder) conceptPtr() *CodeableConcept {
	return pointerAgain(d, &d.seen.conceptPtrs, &d.concepts, (*decoder).concept)
}

func (d *decoder) conceptList() []CodeableConcept {
	return listAgain(d, &d.seen.conceptLists, &d.concepts, (*decoder).concept)
}

func (d *decoder) reference(r *Reference) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "reference":
			r.Reference = d.str()
		case "type":
			r.TypeName = d.uri()
		case "identifier":
			r.Identifier = pointer(d, &d.identifiers, (*decoder).identifier)
		case "display":
			r.Display = d.str()
		default:
			d.other("Reference")
		}
	}
}

// isEmpty reports whether r points nowhere and says nothing.
func (r *Reference) isEmpty() bool {
	return r == nil || r.Reference == "" && r.TypeName == "" && r.Display == "" &&
		(r.Identifier == nil || *r.Identifier == Identifier{})
}

func (d *decoder) referencePtr() *Reference {
	return pointerAgain(d, &d.seen.references, &d.references, (*decoder).reference)
}

func (d *decoder) referenceList() []Reference {
	return listAgain(d, &d.seen.referenceLists, &d.references, (*decoder).reference)
}

func (d *decoder) identifier(i *Identifier) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "system":
			i.System = d.uri()
		case "value":
			i.Value = d.str()
		default:
			d.other("Identifier")
		}
	}
}

func (d *decoder) quantity(q *Quantity) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "value":
			q.Value = d.decimal()
		case "comparator":
			q.Comparator = d.code()
		case "unit":
			q.Unit = d.str()
		case "system":
			q.System = d.uri()
		case "code":
			q.Code = d.code()
		default:
			d.other("Quantity")
		}
	}
}

func (d *decoder) quantityPtr() *Quantity { return pointer(d, &d.quantities, (*decoder).quantity) }

func (d *decoder) period(p *Period) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "start":
			p.Start = d.dateTime()
		case "end":
			p.End = d.dateTime()
		default:
			d.other("Period")
		}
	}
}

func (d *decoder) periodPtr() *Period { return pointer(d, &d.periods, (*decoder).period) }

func (d *decoder) annotation(a *Annotation) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "text":
			a.Text = d.str()
		default:
			d.other("Annotation")
		}
	}
	d.require(a.Text != "", "text")
}

func (d *decoder) annotationList() []Annotation {
	return listAgain(d, &d.seen.annotationLists, &d.annotations, (*decoder).annotation)
}

func (d *decoder) attachment(a *Attachment) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "contentType":
			a.ContentType = d.code()
		case "language":
			a.Language = d.code()
		case "data":
			a.Data = d.base64()
		case "title":
			a.Title = d.str()
		case "creation":
			a.Creation = d.dateTime()
		default:
			d.other("Attachment")
		}
	}
}

func (d *decoder) extension(e *Extension) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "extension":
			e.Extension = d.extensionList()
		case "url":
			e.URL = d.uri()
		default:
			if d.isOpenChoice() {
				e.Value = d.choice(e.Value, "value")
			} else {
				d.other("Extension")
			}
		}
	}
	d.require(e.URL != "", "url")
}

func (d *decoder) extensionList() []Extension {
	return list(d, &d.extensions, (*decoder).extension)
}

// isOpenChoice reports whether the current member is value[x] of any type.
func (d *decoder) isOpenChoice() bool {
	return strings.HasPrefix(d.name, "value") && hasElement(openValues, d.name)
}

// choice decodes the current member, whose name is that of a choice element
// followed by the type of its value. already is the value read before, which
// must be none.
func (d *decoder) choice(already Value, element string) Value {
	if already != nil {
		d.misshaped("found a second value; expected " + element + "[x] once")
		d.skip()
		return already
	}
	switch typeName := d.name[len(element):]; typeName {
	case "Quantity":
		return d.quantityPtr()
	case "CodeableConcept":
		return d.conceptPtr()
	case "Coding":
		return pointer(d, &d.codings, (*decoder).coding)
	case "Reference":
		return d.referencePtr()
	case "Period":
		return d.periodPtr()
	case "String":
		return String(d.str())
	case "Code":
		return Code(d.code())
	case "Uri":
		return URI(d.uri())
	case "Canonical":
		return Canonical(d.uri())
	case "DateTime":
		return DateTime(d.dateTime())
	case "Date":
		return Date(d.date())
	case "Instant":
		return Instant(d.instant())
	case "Integer":
		return Integer(d.integer())
	case "Boolean":
		return Boolean(d.boolean())
	default:
		d.skip()
		return OtherValue(typeName)
	}
}
