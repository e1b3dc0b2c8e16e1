package hl7v2

import (
	"errors"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/fault"
)

const header = `MSH|^~\&|A|B|C|D|20260309100000+0100||ORU^R01^ORU_R01|1|P|2.7`

// parsed is a message of a header and further segments.
func parsed(t *testing.T, lines ...string) *Message {
	t.Helper()
	m, err := Parse([]byte(strings.Join(append([]string{header}, lines...), "\r")))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The expected values are those of HL7 version 2.9, section 2.7 (escape sequences) and 2.5
// (fields, components, repetitions).
func TestText(t *testing.T) {
	tests := []struct {
		name, field           string
		component, part, reps int
		want                  string
		empty                 bool
	}{
		{"component", "a^b^c", 2, 1, 1, "b", false},
		{"absent component", "a^b", 3, 1, 1, "", false},
		{"subcomponent", "a^b&c", 2, 2, 1, "c", false},
		{"first repetition", "a^b~c^d", 2, 1, 2, "b", false},
		{"empty", "", 1, 1, 0, "", true},
		{"null value", `""`, 1, 1, 0, "", true},
		{"null component", `a^""`, 2, 1, 1, "", false},
		{"field delimiter", `5\F\6`, 1, 1, 1, "5|6", false},
		{"component delimiter", `a\S\b^c`, 1, 1, 1, "a^b", false},
		{"subcomponent delimiter", `R\T\D`, 1, 1, 1, "R&D", false},
		{"repetition delimiter", `a\R\b`, 1, 1, 1, "a~b", false},
		{"escape character", `a\E\b`, 1, 1, 1, `a\b`, false},
		{"hexadecimal", `a\X0D0A\b`, 1, 1, 1, "a\r\nb", false},
		{"line break", `a\.br\b`, 1, 1, 1, "a\nb", false},
		{"highlighting is dropped", `\H\loud\N\`, 1, 1, 1, "loud", false},
		{"unfinished sequence is text", `5\6`, 1, 1, 1, `5\6`, false},
		{"of a site's own", `a\Zxy\b`, 1, 1, 1, "ab", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := parsed(t, "OBX|1||"+tt.field).Segments[1].Field(3)
			if got := f.Part(tt.component, tt.part); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
			if got := len(f.Repetitions()); got != tt.reps || f.Empty() != tt.empty {
				t.Errorf("found %d repetitions, empty %v; want %d, %v", got, f.Empty(), tt.reps, tt.empty)
			}
		})
	}
}

func TestHeaderCountsItsDelimiter(t *testing.T) {
	h := parsed(t).Header()
	if got := h.Field(9).Text(3); got != "ORU_R01" {
		t.Errorf("MSH-9.3 = %q, want ORU_R01", got)
	}
	if got := h.Field(10).Text(1); got != "1" {
		t.Errorf("MSH-10 = %q, want 1", got)
	}
}

func TestParseRefuses(t *testing.T) {
	tests := []struct {
		name, text, path string
		kind             fault.Kind
	}{
		{"nothing", "", "MSH", fault.Syntax},
		{"no header", "PID|1", "MSH", fault.Syntax},
		{"cut header", "MSH|^", "MSH[1]-1", fault.Syntax},
		{"a delimiter twice", `MSH|^^\&|A`, "MSH[1]-2", fault.Syntax},
		{"a letter as delimiter", `MSH|^~A&|A`, "MSH[1]-2", fault.Syntax},
		{"a space as delimiter", `MSH ^~\& A`, "MSH[1]-2", fault.Syntax},
		{"a second message", header + "\r" + header, "MSH[2]", fault.Syntax},
		{"a line without a name", header + "\rpid|1", "segment 2", fault.Syntax},
		{"framing inside", "\x0b" + header, "MSH", fault.Syntax},
		{"unknown character set", header + "||||||ISO IR87", "MSH[1]-18", fault.Syntax},
		{"several character sets", header + "||||||ASCII~8859/1", "MSH[1]-18", fault.Syntax},
		{"no ASCII", header + "||||||ASCII\rPID|1||\xfc", "MSH[1]-18", fault.Syntax},
		{"no UTF-8", header + "||||||UNICODE UTF-8\rPID|1||\xfc", "MSH[1]-18", fault.Syntax},
		{"too many segments", header + strings.Repeat("\rNTE|1", maxSegments), "", fault.TooLong},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Parse([]byte(tt.text))
			refused, ok := errors.AsType[*fault.Errors](err)
			if !ok || refused.Kind() != tt.kind || refused.Issues[0].Path != tt.path {
				t.Errorf("found %v, want %v at %q", err, tt.kind, tt.path)
			}
		})
	}
}

// The bytes are those of ISO/IEC 8859 and of Unicode: u with diaeresis is FC in parts 1 and
// 15, the euro sign A4 in part 15 alone; in Windows 1252 it is 80, and the apostrophe 92.
func TestCharsets(t *testing.T) {
	tests := []struct{ name, stated, sent, want string }{
		{"8859/1", "8859/1", "M\xfcller \xa4", "Müller ¤"},
		{"8859/1 as Windows writes it", "8859/1", "l\x92\xe9paule \x96 \x935 \x80\x94\x85", "l’épaule – “5 €”…"},
		{"not stated, as Windows writes it", "", "l\x92\xe9paule", "l’épaule"},
		{"8859/15", "8859/15", "M\xfcller \xa4", "Müller €"},
		{"UTF-8", "UNICODE UTF-8", "Müller €", "Müller €"},
		{"ASCII", "ASCII", "Muller", "Muller"},
		{"small letters", "unicode utf-8", "ü", "ü"},
		{"not stated, UTF-8", "", "Müller", "Müller"},
		{"not stated, no UTF-8", "", "M\xfcller", "Müller"},
		{"hexadecimal in 8859/1", "8859/1", `M\XFC\ller`, "Müller"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, err := Parse([]byte(header + "||||||" + tt.stated + "\rPID|1||" + tt.sent))
			if err != nil {
				t.Fatal(err)
			}
			if got := m.Segments[1].Field(3).Text(1); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
		})
	}
}

// The expected values follow HL7 version 2.9, section 2A.3.22, and FHIR R4's dateTime.
func TestDateTime(t *testing.T) {
	east := time.FixedZone("", 3600)
	tests := []struct {
		text string
		zone *time.Location
		want string
	}{
		{"20260309100000+0100", nil, "2026-03-09T10:00:00+01:00"},
		{"20260309100000-0530", east, "2026-03-09T10:00:00-05:30"},
		{"20260309100000+0000", nil, "2026-03-09T10:00:00Z"},
		{"20260309100000.25+0100", nil, "2026-03-09T10:00:00.25+01:00"},
		{"202603091000", east, "2026-03-09T10:00:00+01:00"},
		{"2026030910", east, "2026-03-09T10:00:00+01:00"},
		{"20260309100000", nil, "2026-03-09"},
		{"20260309", east, "2026-03-09"},
		{"202603", nil, "2026-03"},
		{"2026", nil, "2026"},
		{"20260230", nil, ""},
		{"20260309100000+25", nil, ""},
		{"2026-03-09", nil, ""},
		{"20260309100000.", nil, ""},
		{"soon", nil, ""},
		{"", nil, ""},
	}
	for _, tt := range tests {
		got, ok := DateTime(tt.text, tt.zone)
		if got != tt.want || ok != (tt.want != "") {
			t.Errorf("DateTime(%q) = %q, %v; want %q", tt.text, got, ok, tt.want)
		}
	}
}

func TestWrittenTextIsReadBack(t *testing.T) {
	const text = "a|b^c&d~e\\f\nü€"
	var w Writer
	w.header(Text("X"), nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, nil, Text(utf8Name))
	w.Segment("NTE", nil, Composite{"x", text}, List{Text(text), Text("y")})
	m, err := Parse(w.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if got := m.Segments[1].Field(2).Text(2); got != text {
		t.Errorf("component: found %q, want %q", got, text)
	}
	if all := m.Segments[1].Field(3).Repetitions(); len(all) != 2 || all[0].Text(1) != text {
		t.Errorf("repetitions: found %v", all)
	}
	var again Writer
	again.header()
	again.Segment("NTE", Copy(m.Segments[1].Field(2)))
	copied, err := Parse(again.Bytes())
	if err != nil || copied.Segments[1].Field(1).Text(2) != text {
		t.Errorf("a copied field holds %v, %v", copied, err)
	}
}

// HL7 version 2.9, section 2.9.2 (original mode): MSA-1 and MSA-2; sender and receiver change
// places; ERR-2 is segment, sequence, field, repetition, component.
func TestAcknowledgement(t *testing.T) {
	at := time.Date(2026, 3, 9, 9, 0, 0, 0, time.UTC)
	issues := []fault.Issue{{Severity: fault.Error, Kind: fault.UnitUnknown, Path: "OBX[3]-5[2].1", Detail: "expected N"}}
	text := Reply{To: parsed(t), At: at}.Acknowledgement(Failed, issues)
	m, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	h := m.Header()
	if h.Field(3).Text(1) != "C" || h.Field(4).Text(1) != "D" || h.Field(5).Text(1) != "A" || h.Field(6).Text(1) != "B" {
		t.Errorf("sender and receiver did not change places: %q", text)
	}
	if h.Field(9).Text(1) != "ACK" || h.Field(9).Text(2) != "R01" || h.Field(12).Text(1) != "2.7" || h.Field(11).Text(1) != "P" {
		t.Errorf("the header is %q", text)
	}
	if got, ok := ReadReceipt(m); !ok || got != (Receipt{Failed, "1"}) {
		t.Errorf("the receipt is %v, %v", got, ok)
	}
	place := m.Segments[2].Field(2)
	for i, want := range []string{"OBX", "3", "5", "2", "1"} {
		if got := place.Text(i + 1); got != want {
			t.Errorf("ERR-2.%d = %q, want %q", i+1, got, want)
		}
	}
	if got := m.Segments[2].Field(3).Text(1); got != "103" {
		t.Errorf("ERR-3 = %q, want 103, table value not found", got)
	}
	if got := m.Segments[2].Field(4).Text(1); got != "E" {
		t.Errorf("ERR-4 = %q, want E", got)
	}
}

func TestUnreadableMessageIsAcknowledged(t *testing.T) {
	text := Reply{At: time.Date(2026, 3, 9, 9, 0, 0, 0, time.UTC)}.Acknowledgement(Rejected, nil)
	m, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := ReadReceipt(m); !ok || got != (Receipt{Code: Rejected}) {
		t.Errorf("the receipt is %v, %v in %q", got, ok, text)
	}
}

func TestControlIDIsTheSameEachTime(t *testing.T) {
	a, b := ControlID(parsed(t), "x"), ControlID(parsed(t), "x")
	if a != b || len(a) != 20 {
		t.Errorf("found %q and %q, want one of 20 characters, the most that version 2.5 allows", a, b)
	}
	if a == ControlID(parsed(t), "y") {
		t.Error("two messages about one have the same control id")
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(header + "\rPID|1||a^b&c~d\\F\\||\rOBX|1|NM|x||5\\X0D\\"))
	f.Add([]byte("MSH$*!?@$A\nPID$1"))
	f.Add([]byte(header + "||||||8859/1\rPID|\xfc"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := Parse(data)
		if err != nil {
			if _, ok := errors.AsType[*fault.Errors](err); !ok {
				t.Fatalf("the error is %T, want *fault.Errors", err)
			}
			return
		}
		var w Writer
		w.header()
		for _, s := range m.Segments {
			w.Segment("ZZZ", Copy(s.Field(3)))
		}
		again, err := Parse(w.Bytes())
		if err != nil {
			t.Fatalf("what was written of it cannot be read: %v", err)
		}
		for i, s := range m.Segments {
			if a, b := normal(s.Field(3).Text(1)), normal(again.Segments[i+1].Field(1).Text(1)); a != b {
				t.Fatalf("segment %d says %q, and %q when it was written again", i, a, b)
			}
		}
	})
}

// normal is a text with one kind of line breaks, which is all that is written.
func normal(s string) string { return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(s) }
