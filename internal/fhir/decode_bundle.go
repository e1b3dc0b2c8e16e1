package fhir

import (
	"fmt"

	"evenreach.example/internal/fault"
)

func (d *decoder) bundle() *Bundle {
	b := &Bundle{}
	for d.member() {
		switch d.name {
		case "resourceType":
			// Read ahead, by resourceType.
		case "id":
			b.ID = d.id()
		case "meta":
			b.Meta = d.metaPtr()
		case "type":
			b.BundleType = d.code()
		case "timestamp":
			b.Timestamp = d.instant()
		case "entry":
			b.Entry = list(d, &d.entries, (*decoder).entry)
		default:
			d.other("Bundle")
		}
	}
	d.require(b.BundleType != "", "type")
	return b
}

func (d *decoder) entry(e *Entry) {
	if d.entryCount++; d.entryCount > d.limits.Entries {
		d.fatal(fault.TooLong, fmt.Sprintf("found more than %d entries; expected at most that many", d.limits.Entries))
	}
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "fullUrl":
			e.FullURL = d.uri()
		case "resource":
			e.Resource = d.resource()
		case "request":
			e.Request = d.request()
		default:
			d.other("Bundle.entry")
		}
	}
}

func (d *decoder) request() *Request {
	if !d.object() {
		return nil
	}
	r := &Request{}
	for d.member() {
		switch d.name {
		case "method":
			r.Method = d.code()
		case "url":
			r.URL = d.uri()
		case "ifNoneExist":
			r.IfNoneExist = d.str()
		default:
			d.other("Bundle.entry.request")
		}
	}
	d.require(r.Method != "", "method")
	d.require(r.URL != "", "url")
	return r
}

// parameterSet decodes a Parameters resource.
func (d *decoder) parameterSet() *Parameters {
	p := &Parameters{}
	for d.member() {
		switch d.name {
		case "resourceType":
			// Read ahead, by resourceType.
		case "id":
			p.ID = d.id()
		case "parameter":
			p.Parameter = d.parameterList()
		default:
			d.other("Parameters")
		}
	}
	return p
}

func (d *decoder) parameterList() []Parameter {
	return list(d, &d.parameters, (*decoder).parameter)
}

func (d *decoder) parameter(p *Parameter) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "name":
			p.Name = d.str()
		case "resource":
			p.Resource = d.resource()
		case "part":
			p.Part = d.parameterList()
		default:
			if d.isOpenChoice() {
				p.Value = d.choice(p.Value, "value")
			} else {
				d.other("Parameters.parameter")
			}
		}
	}
	d.require(p.Name != "", "name")
	if p.Value != nil && p.Resource != nil || p.Part != nil && (p.Value != nil || p.Resource != nil) {
		d.misshaped("found several of value[x], resource and part; expected one (inv-1)")
	}
}
