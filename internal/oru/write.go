package oru

import (
	"cmp"
	"encoding/base64"
	"strconv"
	"strings"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
)

// A Report is a form of the report, for a value of type ED.
type Report struct {
	// Kind and Subtype are ED-2 and ED-3.
	//
	// Source: HL7 version 2.9, tables 0834 and 0291.
	Kind, Subtype string
	Data          []byte
}

// Text and PDF are the forms of the report.
func Text(data []byte) Report { return Report{"TEXT", "plain", data} }

// PDF is the report as a document.
func PDF(data []byte) Report { return Report{"application", "pdf", data} }

// Results writes the answer to a message as ORU^R01: the patient, the visit and the order
// of the message, the conclusion of the report, every result with its interpretation, the
// report as encapsulated data, and the issues of the input as notes. Results are
// preliminary.
func Results(reply hl7v2.Reply, answer *fhir.Bundle, report Report, issues []fault.Issue) []byte {
	w := &writer{}
	reply.Header(&w.Writer, "ORU", "ORU_R01", hl7v2.Version, report.Subtype)
	w.patient(reply.To)
	concluded := reportIn(answer)
	w.order(reply, concluded)
	for i := range issues {
		w.Segment("NTE", number(i+1), hl7v2.Text("L"), hl7v2.Text(issueText(&issues[i])))
	}
	w.result(obxRow{kind: "TX", code: concluded.Code, group: "0.1", value: hl7v2.Text(concluded.Conclusion), status: "P"})
	for i := range answer.Entry {
		if o, ok := answer.Entry[i].Resource.(*fhir.Observation); ok {
			w.observation(o)
		}
	}
	form := hl7v2.Composite{"", report.Kind, report.Subtype, "Base64", base64.StdEncoding.EncodeToString(report.Data)}
	w.result(obxRow{kind: "ED", code: concluded.Code, group: "0.2", value: form, status: "P"})
	return w.Bytes()
}

// issueText is the text of a note (NTE) for an issue.
func issueText(i *fault.Issue) string {
	if i.Diagnostic == "" {
		return hl7v2.Line(i)
	}
	return hl7v2.Line(i) + " (" + i.Diagnostic + ")"
}

// reportIn is the DiagnosticReport of an answer.
func reportIn(answer *fhir.Bundle) *fhir.DiagnosticReport {
	for i := range answer.Entry {
		if r, ok := answer.Entry[i].Resource.(*fhir.DiagnosticReport); ok {
			return r
		}
	}
	return &fhir.DiagnosticReport{}
}

// writer writes one message of results.
type writer struct {
	hl7v2.Writer

	groups  int // OBX-4 of the last Observation
	results int // OBX-1 of the last result
}

func number(n int) hl7v2.Value { return hl7v2.Text(strconv.Itoa(n)) }

// patient repeats the identifiers, name and birth of the first PID of the message, and its
// last visit.
func (w *writer) patient(m *hl7v2.Message) {
	var visit hl7v2.Value
	for _, s := range m.Segments {
		switch {
		case s.Name == "PID" && s.Number == 1:
			w.Segment("PID", number(1), nil, hl7v2.Copy(s.Field(3)), nil, hl7v2.Copy(s.Field(5)), nil, hl7v2.Copy(s.Field(7)), hl7v2.Copy(s.Field(8)))
		case s.Name == "PV1" && !s.Field(19).Empty():
			visit = hl7v2.Copy(s.Field(19))
		}
	}
	if visit != nil {
		fields := make([]hl7v2.Value, 19)
		fields[0], fields[1], fields[18] = number(1), hl7v2.Text("O"), visit
		w.Segment("PV1", fields...)
	}
}

// order writes OBR, with the order of the message.
func (w *writer) order(reply hl7v2.Reply, report *fhir.DiagnosticReport) {
	var placer hl7v2.Value
	for _, s := range reply.To.Segments {
		if s.Name == "OBR" {
			placer = hl7v2.Copy(s.Field(2))
		}
	}
	fields := make([]hl7v2.Value, 25)
	fields[0], fields[1], fields[2], fields[3] = number(1), placer, entityOf(report.Identifier), coded(&report.Code)
	fields[6], fields[21] = dateTimeOf(report.Effective), hl7v2.Text(hl7v2.Time(reply.At))
	fields[23], fields[24] = hl7v2.Text("PT"), hl7v2.Text("P") // table 0074, physical therapy; table 0123, preliminary
	w.Segment("OBR", fields...)
}

// obxRow is one OBX.
type obxRow struct {
	kind, group, status string
	code                fhir.CodeableConcept
	value, unit         hl7v2.Value
	limits              string // OBX-7
	flags               []fhir.CodeableConcept
	of                  *fhir.Observation // for OBX-14 and on, nil for none
}

// result writes an OBX.
func (w *writer) result(r obxRow) {
	w.results++
	fields := make([]hl7v2.Value, 21)
	fields[0], fields[1], fields[2], fields[3] = number(w.results), hl7v2.Text(r.kind), coded(&r.code), hl7v2.Text(r.group)
	fields[4], fields[5], fields[6], fields[10] = r.value, r.unit, hl7v2.Text(r.limits), hl7v2.Text(r.status)
	var flags hl7v2.List
	for i := range r.flags {
		flags = append(flags, coded(&r.flags[i]))
	}
	fields[7] = flags
	if o := r.of; o != nil {
		fields[13], fields[15], fields[16] = dateTimeOf(o.Effective), people(o.Performer), coded(o.Method)
		fields[19], fields[20] = coded(o.BodySite), entityOf(o.Identifier)
	}
	w.Segment("OBX", fields...)
}

// observation writes an Observation: an OBX for it, and one for each component, which has the
// same OBX-4. Trials are repetitions of its value.
func (w *writer) observation(o *fhir.Observation) {
	w.groups++
	group := strconv.Itoa(w.groups)
	r := obxRow{code: o.Code, group: group, status: resultStatusCodes[o.Status], flags: o.Interpretation, limits: limits(o.ReferenceRange), of: o}
	r.kind, r.value, r.unit = valueOf(o.Value)
	var others []fhir.Component
	var trials hl7v2.List
	for i := range o.Component {
		c := &o.Component[i]
		if !isTrial(&c.Code) {
			others = append(others, *c)
			continue
		}
		var one hl7v2.Value
		r.kind, one, r.unit = valueOf(c.Value)
		trials = append(trials, one)
	}
	if len(trials) > 0 {
		r.value = trials
	}
	w.result(r)
	for i := range others {
		c := obxRow{code: others[i].Code, group: group, status: r.status, flags: others[i].Interpretation, limits: limits(others[i].ReferenceRange)}
		c.kind, c.value, c.unit = valueOf(others[i].Value)
		w.result(c)
	}
}

func isTrial(c *fhir.CodeableConcept) bool {
	return len(c.Coding) == 1 && c.Coding[0].System == fhir.SystemShoulder && c.Coding[0].Code == fhir.CodeTrial
}

// resultStatusCodes are the codes of OBX-11 by the status in FHIR.
//
// Source: HL7 version 2.9, table 0085.
var resultStatusCodes = map[string]string{
	"final": "F", "corrected": "C", "amended": "C", "preliminary": "P", "registered": "I", "cancelled": "X", "entered-in-error": "W",
}

// valueOf writes a value: OBX-2, OBX-5 and OBX-6. There is a type even without a value,
// because OBX-2 may be empty only for results that were not obtained or are withdrawn.
func valueOf(v fhir.Value) (kind string, value, unit hl7v2.Value) {
	switch v := v.(type) {
	case *fhir.Quantity:
		kind, value = "NM", hl7v2.Text(v.Value)
		if v.Comparator != "" {
			kind, value = "SN", hl7v2.Composite{v.Comparator, string(v.Value)}
		}
		return kind, value, unitOf(v)
	case *fhir.CodeableConcept:
		return "CWE", coded(v), nil
	case fhir.Boolean:
		if v {
			return "CWE", hl7v2.Composite{"Y", "Yes", "HL70136"}, nil
		}
		return "CWE", hl7v2.Composite{"N", "No", "HL70136"}, nil
	case fhir.Integer:
		return "NM", number(int(v)), nil
	case fhir.Decimal:
		return "NM", hl7v2.Text(v), nil
	case fhir.String:
		return "ST", hl7v2.Text(v), nil
	case fhir.DateTime:
		return "DTM", dateTimeOf(v), nil
	}
	return "ST", nil, nil
}

func unitOf(q *fhir.Quantity) hl7v2.Value {
	if q.System == "" {
		return hl7v2.Text(q.Unit)
	}
	return hl7v2.Composite{q.Code, q.Unit, systemName(q.System)}
}

// coded writes a concept as a CWE of at most two codings and the text.
func coded(c *fhir.CodeableConcept) hl7v2.Value {
	if c.IsEmpty() {
		return nil
	}
	parts := make(hl7v2.Composite, 9)
	for i := range c.Coding[:min(len(c.Coding), 2)] {
		of := &c.Coding[i]
		parts[3*i], parts[3*i+1], parts[3*i+2] = of.Code, nameOf(of), systemName(of.System)
	}
	parts[8] = c.Text
	if len(c.Coding) == 0 {
		parts[1] = c.Text
	}
	return parts
}

// nameOf is the display of a code. The project's own codes have none in FHIR, where the
// CodeSystem has their names, so they are looked up: the receiver of a message has no
// CodeSystem.
func nameOf(c *fhir.Coding) string {
	if c.System == fhir.SystemShoulder {
		return cmp.Or(c.Display, fhirapi.Display(c.Code))
	}
	return c.Display
}

// systemName is the name of a coding system: that of the standard, else its URI.
func systemName(uri string) string {
	if table, ok := strings.CutPrefix(uri, tables); ok {
		return "HL7" + table
	}
	if uri == fhir.SystemInterpretation {
		return "HL70078" // whose codes it has
	}
	return cmp.Or(systemNames[uri], strings.TrimPrefix(uri, "urn:id:"))
}

// entityOf writes the first identifier as an entity identifier (EI).
func entityOf(ids []fhir.Identifier) hl7v2.Value {
	if len(ids) == 0 {
		return nil
	}
	return assigned(ids[0], hl7v2.Composite{ids[0].Value})
}

// assigned appends the authority of an identifier as namespace, universal id and type.
func assigned(id fhir.Identifier, to hl7v2.Composite) hl7v2.Value {
	if name, ok := strings.CutPrefix(id.System, "urn:id:"); ok {
		return append(to, name)
	}
	if oid, ok := strings.CutPrefix(id.System, "urn:oid:"); ok {
		return append(to, "", oid, "ISO")
	}
	if id.System == "" {
		return to
	}
	return append(to, "", id.System, "URI")
}

// people writes the identifiers of performers.
func people(performers []fhir.Reference) hl7v2.Value {
	var all hl7v2.List
	for i := range performers {
		if id := performers[i].Identifier; id != nil {
			all = append(all, hl7v2.Composite{id.Value, "", "", "", "", "", "", "", strings.TrimPrefix(id.System, "urn:id:")})
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all
}

func dateTimeOf(v fhir.Value) hl7v2.Value {
	switch v := v.(type) {
	case fhir.DateTime:
		return hl7v2.Text(hl7v2.FromDateTime(string(v)))
	case fhir.Instant:
		return hl7v2.Text(hl7v2.FromDateTime(string(v)))
	}
	return nil
}

// limits writes the first reference range: its ends, or its text.
func limits(ranges []fhir.ReferenceRange) string {
	if len(ranges) == 0 {
		return ""
	}
	low, high := ranges[0].Low, ranges[0].High
	switch {
	case low != nil && high != nil:
		return string(low.Value) + "-" + string(high.Value)
	case low != nil:
		return ">=" + string(low.Value)
	case high != nil:
		return "<=" + string(high.Value)
	}
	return ranges[0].Text
}
