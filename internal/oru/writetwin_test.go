package oru

import (
	"fmt"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
)

// A Style is one of the ways in which systems send the same results.
type Style struct {
	// EachTrial sends every trial as an OBX of its own, under dotted sub-IDs.
	EachTrial bool
	// Local replaces the code of a measurement and what its components say by one code of
	// the site, which the code map translates.
	Local func(o *fhir.Observation) (code string, ok bool)
	// Units writes a unit as text.
	Units map[string]string
}

// Twin writes a Bundle of one patient as the message that a source system would send for it.
func Twin(b *fhir.Bundle, style Style) []byte {
	t := twin{style: style, visits: map[string][]*fhir.Observation{}}
	for _, e := range b.Entry {
		t.sort(e.Resource)
	}
	t.w.Segment("MSH", hl7v2.Text("*"), hl7v2.Text("CLINIC"), hl7v2.Text("WARD"), hl7v2.Text("EVENREACH"), hl7v2.Text("REHAB"),
		hl7v2.Text("20260101080000+0100"), nil, hl7v2.Composite{"ORU", "R01", "ORU_R01"}, hl7v2.Text("MSG1"), hl7v2.Text("P"), hl7v2.Text("2.7"), nil, nil, nil, nil, nil, hl7v2.Text("UNICODE UTF-8"))
	t.pid()
	t.order("")
	for _, f := range t.findings {
		t.finding(f)
	}
	t.results("")
	for _, visit := range t.order1 {
		t.pid()
		fields := make([]hl7v2.Value, 19)
		fields[0], fields[1], fields[18] = number(1), hl7v2.Text("O"), hl7v2.Composite{visit, "", "", "VISITS"}
		t.w.Segment("PV1", fields...)
		t.order(visit)
		t.results(visit)
	}
	return []byte(strings.Replace(string(t.w.Bytes()), `MSH|*|`, `MSH|^~\&|`, 1))
}

type twin struct {
	w        writer
	style    Style
	patient  *fhir.Patient
	findings []fhir.Resource
	visits   map[string][]*fhir.Observation
	order1   []string
}

func (t *twin) sort(resource fhir.Resource) {
	switch r := resource.(type) {
	case *fhir.Patient:
		t.patient = r
	case *fhir.Condition, *fhir.Procedure:
		t.findings = append(t.findings, r)
	case *fhir.Observation:
		visit := ""
		if r.Encounter != nil {
			visit = r.Encounter.Reference
		}
		if visit != "" && t.visits[visit] == nil {
			t.order1 = append(t.order1, visit)
		}
		t.visits[visit] = append(t.visits[visit], r)
	}
}

func (t *twin) pid() {
	id := t.patient.Identifier[0]
	t.w.Segment("PID", number(1), nil, hl7v2.Composite{id.Value, "", "", "PATIENTS", "MR"}, nil, hl7v2.Composite{t.patient.Name[0].Family, t.patient.Name[0].Given[0]}, nil, hl7v2.Text("19700101"))
}

func (t *twin) order(visit string) {
	t.w.Segment("OBR", number(1), nil, hl7v2.Composite{"ORD" + visit, "LAB"}, hl7v2.Composite{"RECHECK", "Re-check", "99CLN"})
}

// finding writes a Condition or a Procedure as a coded result.
func (t *twin) finding(resource fhir.Resource) {
	var code *fhir.CodeableConcept
	var sites []fhir.CodeableConcept
	o := &fhir.Observation{}
	status := "F"
	switch r := resource.(type) {
	case *fhir.Condition:
		code, sites = r.Code, r.BodySite
	case *fhir.Procedure:
		code, sites, o.Effective = r.Code, r.BodySite, r.Performed
	}
	for i := range sites {
		o.BodySite = &sites[i]
	}
	t.w.result(obxRow{kind: "CWE", group: "", code: fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemLOINC, Code: "29308-4", Display: "Diagnosis"}}}, value: coded(code), status: status, of: o})
}

func (t *twin) results(visit string) {
	for _, o := range t.visits[visit] {
		t.observation(o)
	}
}

func (t *twin) observation(o *fhir.Observation) {
	c := *o
	c.Component = nil
	for _, one := range o.Component {
		one.Value = t.unit(one.Value)
		c.Component = append(c.Component, one)
	}
	c.Value = t.unit(o.Value)
	if o.ID != "" {
		c.Identifier = []fhir.Identifier{{System: "urn:id:OBS", Value: o.ID}}
	}
	var named []fhir.Reference
	for _, p := range o.Performer {
		named = append(named, fhir.Reference{Identifier: &fhir.Identifier{System: "urn:id:STAFF", Value: p.Reference}})
	}
	c.Performer = named
	if len(o.Focus) > 0 {
		t.confirmation(&c, o)
		return
	}
	if t.style.Local != nil {
		if code, ok := t.style.Local(o); ok {
			c.Code, c.BodySite = fhir.CodeableConcept{Coding: []fhir.Coding{{System: "urn:id:99CLN", Code: code, Display: "A test of the clinic"}}}, nil
			var trials []fhir.Component
			for _, one := range c.Component {
				if isTrial(&one.Code) {
					trials = append(trials, one)
				}
			}
			c.Component = trials
		}
	}
	t.write(&c)
}

// write writes an Observation, each trial as an OBX if the style asks for it.
func (t *twin) write(o *fhir.Observation) {
	var trials, others []fhir.Component
	for _, c := range o.Component {
		if isTrial(&c.Code) {
			trials = append(trials, c)
		} else {
			others = append(others, c)
		}
	}
	if !t.style.EachTrial || len(trials) == 0 {
		t.w.observation(o)
		return
	}
	t.w.groups++
	for i, one := range trials {
		r := obxRow{code: o.Code, group: fmt.Sprintf("%d.%d", t.w.groups, i+1), status: "F"}
		r.of = &fhir.Observation{Effective: o.Effective, BodySite: o.BodySite, Method: o.Method, Performer: o.Performer}
		r.kind, r.value, r.unit = valueOf(one.Value)
		t.w.result(r)
	}
	for _, c := range others {
		r := obxRow{code: c.Code, group: fmt.Sprint(t.w.groups), status: "F"}
		r.kind, r.value, r.unit = valueOf(c.Value)
		t.w.result(r)
	}
}

// confirmation writes a confirmation under the sub-ID of what it confirms, which the
// twin numbers by the order of the Observations.
func (t *twin) confirmation(c, o *fhir.Observation) {
	for i, other := range t.visits[o.Encounter.Reference] {
		if "Observation/"+other.ID == o.Focus[0].Reference {
			r := obxRow{code: c.Code, group: fmt.Sprint(i + 1), status: "F", of: &fhir.Observation{Effective: c.Effective, Performer: c.Performer}}
			r.kind, r.value, r.unit = valueOf(c.Value)
			t.w.result(r)
		}
	}
}

func (t *twin) unit(v fhir.Value) fhir.Value {
	q, ok := v.(*fhir.Quantity)
	if !ok || q == nil {
		return v
	}
	text, ok := t.style.Units[q.Code]
	if !ok {
		return v
	}
	return &fhir.Quantity{Value: q.Value, Comparator: q.Comparator, Unit: text}
}
