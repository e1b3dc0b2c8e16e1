// Package oru maps between the results message of HL7 version 2 (ORU^R01) and the wire model
// of FHIR: a message to the Bundle that intake reads, and an answer to a message.
//
// MAPPING.md in this folder is the table of both mappings.
//
// Source: HL7 version 2.9, chapter 7 (observation reporting); the HL7 Version 2 to FHIR
// guide, message map ORU_R01 and segment maps PID, PV1, OBR and OBX.
package oru

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
)

// Options say how a site writes its messages.
type Options struct {
	// Systems are the URIs of the site's own coding systems and assigning authorities, by
	// the names that its messages have for them.
	Systems map[string]string
	// Zone is the time zone of times that state none, in messages whose MSH-7 states none
	// either; nil if it is not known.
	Zone *time.Location
	// Codes are the site's own codes; nil for none.
	Codes *intake.CodeMap
}

// Input is a message as a Bundle.
type Input struct {
	Bundle *fhir.Bundle
	// Issues are the problems of what could not be put into the Bundle.
	Issues []fault.Issue

	origins []origin // of the entries
}

// Check refuses a message that is not a complete results message of an HL7 version 2. The
// error is always *fault.Errors.
func Check(m *hl7v2.Message) error {
	h := m.Header()
	kind := h.Field(9)
	switch {
	case kind.Text(1) != "ORU" || kind.Text(2) != "R01":
		return fault.Refuse(fault.WrongResource, h.At(9), "found another type of message; expected ORU^R01")
	case !strings.HasPrefix(h.Field(12).Text(1), "2."):
		return fault.Refuse(fault.WrongResource, h.At(12), "found another version; expected one of HL7 version 2, such as 2.5.1")
	case h.Field(10).Text(1) == "":
		return fault.Refuse(fault.RequiredMissing, h.At(10), "the message has no control id; expected one")
	case !h.Field(14).Empty() || last(m).Name == "DSC":
		return fault.Refuse(fault.TooLong, h.At(14), "the message is only a part of one; expected it whole")
	}
	return nil
}

func last(m *hl7v2.Message) hl7v2.Segment { return m.Segments[len(m.Segments)-1] }

// Read maps a message. The error is always *fault.Errors. A problem of a single segment
// drops only that segment and is listed in Issues.
func Read(m *hl7v2.Message, o Options) (*Input, error) {
	if err := Check(m); err != nil {
		return nil, err
	}
	r := reader{options: o, zone: hl7v2.Zone(m.Header().Field(7).Text(1)), in: &Input{Bundle: &fhir.Bundle{BundleType: "collection"}}}
	if r.zone == nil {
		r.zone = o.Zone
	}
	r.patients, r.ids, r.unread = map[fhir.Identifier]*fhir.Reference{}, map[fhir.Identifier]int{}, map[string]int{}
	if !m.Stated && m.Charset.Name != "ASCII" {
		r.note(m.Header().At(18), fault.NotRead, "the character set is not stated; read as "+m.Charset.Name)
	}
	for _, s := range m.Segments {
		r.segment(s)
	}
	r.endOrder()
	r.reportUnread()
	return r.in, nil
}

// reader is the state while one message is read.
type reader struct {
	options Options
	zone    *time.Location // of times that state none; nil if it is not known
	in      *Input

	patients map[fhir.Identifier]*fhir.Reference
	ids      map[fhir.Identifier]int // how often an identifier was derived
	unread   map[string]int          // segments outside the mapping

	// The patient, visit and order of the segments that are read now.
	patient   *fhir.Reference
	encounter *fhir.Reference
	order     hl7v2.Segment   // OBR
	results   []hl7v2.Segment // the OBX segments of the order so far
}

// ignoredSegments are the segments of a results message that hold nothing that is read.
//
// Source: HL7 version 2.9, message structure ORU_R01.
var ignoredSegments = map[string]bool{
	"MSH": true, "SFT": true, "UAC": true, "ARV": true, "PD1": true, "PRT": true, "NK1": true, "NTE": true, "PV2": true, "ORC": true,
	"TQ1": true, "TQ2": true, "CTD": true, "FT1": true, "CTI": true, "SPM": true, "SGH": true, "SGT": true, "DEV": true,
}

func (r *reader) segment(s hl7v2.Segment) {
	switch s.Name {
	case "PID":
		r.endOrder()
		r.encounter = nil
		r.readPatient(s)
	case "PV1":
		r.encounter = r.visit(s)
	case "OBR":
		r.endOrder()
		r.order = s
	case "OBX":
		r.results = append(r.results, s)
	default:
		if !ignoredSegments[s.Name] {
			r.unread[s.Name]++
		}
	}
}

// reportUnread adds an issue with the segments that do not belong in a results message.
func (r *reader) reportUnread() {
	if len(r.unread) == 0 {
		return
	}
	var counts []string
	for _, name := range slices.Sorted(maps.Keys(r.unread)) {
		counts = append(counts, name+" "+strconv.Itoa(r.unread[name]))
	}
	r.in.Issues = append(r.in.Issues, fault.Issue{
		Severity: fault.Information, Kind: fault.NotRead,
		Detail: "segments outside the mapping were not read", Diagnostic: "found " + strings.Join(counts, ", "),
	})
}

func (r *reader) note(path string, kind fault.Kind, detail string) {
	r.in.Issues = append(r.in.Issues, fault.Issue{Severity: fault.Information, Kind: kind, Path: path, Detail: detail})
}

func (r *reader) warn(path string, kind fault.Kind, detail string) {
	r.in.Issues = append(r.in.Issues, fault.Issue{Severity: fault.Warning, Kind: kind, Path: path, Detail: detail})
}

// add adds a resource to the Bundle, with its origin.
func (r *reader) add(resource fhir.Resource, at origin) {
	r.in.Bundle.Entry = append(r.in.Bundle.Entry, fhir.Entry{Resource: resource})
	r.in.origins = append(r.in.origins, at)
}
