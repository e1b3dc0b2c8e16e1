package hl7v2

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fault"
)

// A Code says what became of a message, in MSA-1.
//
// Source: HL7 version 2.9, table 0008, original mode.
type Code string

// The codes of the original mode.
const (
	// Accepted: the message was processed, and what followed from it was handed on.
	Accepted Code = "AA"
	// Failed: something is wrong with the message; sending it again changes nothing.
	Failed Code = "AE"
	// Rejected: the message is of a kind that is not processed, or it is sound and could
	// not be processed now.
	Rejected Code = "AR"
)

// A Reply says who answers a message and when.
type Reply struct {
	To *Message // nil if the message could not be read
	At time.Time
}

// ControlID is the control id of a message that is derived from another: the same each time,
// so that its receiver can tell a repetition.
func ControlID(m *Message, about string) string {
	h := m.Header()
	sum := sha256.Sum256([]byte(strings.Join([]string{h.Field(3).raw, h.Field(4).raw, h.Field(10).raw, about}, "\x00")))
	return hex.EncodeToString(sum[:10])
}

// application is what the service calls itself in MSH-3.
const application = "EVENREACH"

// Version is the version of the results that are written: the first in which OBX-20 is the
// body site and OBX-21 the identifier. An acknowledgement has that of its message.
const Version = "2.7"

// Header writes the segment MSH of a message that answers another: back to its sender, under the
// same processing id.
func (r Reply) Header(w *Writer, event, structure, version, about string) {
	m := r.To
	if m == nil {
		m = &Message{delimiters: standard}
	}
	h := m.Header()
	kind := Composite{event, cmp.Or(h.Field(9).Text(2), "R01"), structure}
	receiver := Value(Copy(h.Field(5)))
	if h.Field(5).Empty() {
		receiver = Text(application)
	}
	w.header(receiver, Copy(h.Field(6)), Copy(h.Field(3)), Copy(h.Field(4)), Text(Time(r.At)), nil, kind,
		Text(ControlID(m, about)), Text(cmp.Or(h.Field(11).Text(1), "P")), Text(version),
		nil, nil, nil, nil, nil, Text(utf8Name))
}

// Acknowledgement is the acknowledgement of a message, with its issues.
func (r Reply) Acknowledgement(code Code, issues []fault.Issue) []byte {
	var w Writer
	version, id := Version, ""
	if r.To != nil {
		version, id = cmp.Or(r.To.Header().Field(12).Text(1), Version), r.To.Header().Field(10).Text(1)
	}
	r.Header(&w, "ACK", "ACK", version, "ack")
	w.Segment("MSA", Text(code), Text(id))
	for i := range issues[:min(len(issues), maxErrors)] {
		w.writeError(&issues[i])
	}
	return w.Bytes()
}

// maxErrors is how many issues an acknowledgement lists.
//
// Source: ours; nobody reads more, and some receivers keep acknowledgements in a
// database field.
const maxErrors = 50

// writeError writes an issue as a segment ERR.
func (w *Writer) writeError(i *fault.Issue) {
	kind := i.Kind
	w.Segment("ERR", nil, location(i.Path), standardError(kind), Text(severities[i.Severity]),
		Composite{kind.String(), kind.Display(), "99EVRI"}, nil, Text(i.Diagnostic), Text(Line(i)))
}

// Line is an issue in one line: its place and what is wrong there.
func Line(i *fault.Issue) string {
	text := cmp.Or(i.Detail, i.Kind.Display())
	if i.Path == "" {
		return text
	}
	return i.Path + ": " + text
}

// severities are the codes of ERR-4.
//
// Source: HL7 version 2.9, table 0516.
var severities = map[fault.Severity]string{fault.Information: "I", fault.Warning: "W", fault.Error: "E", fault.Fatal: "F"}

// standardError is the nearest condition of the standard, for ERR-3.
//
// Source: HL7 version 2.9, table 0357.
func standardError(k fault.Kind) Composite {
	code, text := "207", "Application internal error"
	switch k {
	case fault.Syntax, fault.Structure, fault.TooLong:
		code, text = "100", "Segment sequence error"
	case fault.RequiredMissing, fault.SideMissing, fault.DateMissing, fault.ValueMissing, fault.PositionMissing,
		fault.NoInvolvedSide, fault.NothingToAssess, fault.PerformerMissing:
		code, text = "101", "Required field missing"
	case fault.BadValue, fault.ValueKind, fault.ValueRange, fault.Comparator, fault.ImplausibleValue:
		code, text = "102", "Data type error"
	case fault.CodeUnknown, fault.UnitUnknown, fault.UnitAlias:
		code, text = "103", "Table value not found"
	case fault.MediaTypeUnknown, fault.WrongResource:
		code, text = "200", "Unsupported message type"
	case fault.Duplicate:
		code, text = "205", "Duplicate key identifier"
	case fault.PatientOther, fault.SeveralPatients, fault.ReferenceUnresolved:
		code, text = "204", "Unknown key identifier"
	}
	return Composite{code, text, "HL70357"}
}

// location is a place such as OBX[3]-5[2].1 as the components of ERR-2: segment, its
// number, field, repetition and component.
func location(path string) Value {
	segment, field, _ := strings.Cut(path, "-")
	name, number := indexed(segment)
	if !isSegmentName(name) {
		return nil
	}
	field, component, _ := strings.Cut(field, ".")
	place, repetition := indexed(field)
	return Composite{name, number, place, repetition, component}
}

// indexed parts NAME[2] into its name and its number.
func indexed(s string) (name, number string) {
	name, rest, _ := strings.Cut(s, "[")
	number = strings.TrimSuffix(rest, "]")
	if _, err := strconv.Atoi(number); err != nil {
		return name, ""
	}
	return name, number
}

// A Receipt is what an acknowledgement says.
type Receipt struct {
	Code Code
	ID   string // control id of the message that is acknowledged
}

// ReadReceipt reads an acknowledgement. It reports false if the message is none.
func ReadReceipt(m *Message) (Receipt, bool) {
	for _, s := range m.Segments {
		if s.Name == "MSA" {
			return Receipt{Code(s.Field(1).Text(1)), s.Field(2).Text(1)}, true
		}
	}
	return Receipt{}, false
}
