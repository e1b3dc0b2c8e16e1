package oru_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/oru"
)

const msh = `MSH|^~\&|CLINIC|WARD|EVENREACH|REHAB|20260309110000+0100||ORU^R01^ORU_R01|M1|P|2.7`

// read maps a message of a header and further segments.
func read(t *testing.T, lines ...string) *oru.Input {
	t.Helper()
	m, err := hl7v2.Parse([]byte(strings.Join(append([]string{msh}, lines...), "\r")))
	if err != nil {
		t.Fatal(err)
	}
	in, err := oru.Read(m, oru.Options{Systems: map[string]string{"99CLN": "https://clinic.example/codes"}})
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// resource is the last resource of a mapped message.
func resource[T fhir.Resource](t *testing.T, in *oru.Input) T {
	t.Helper()
	r, ok := in.Bundle.Entry[len(in.Bundle.Entry)-1].Resource.(T)
	if !ok {
		t.Fatalf("found %T", in.Bundle.Entry[len(in.Bundle.Entry)-1].Resource)
	}
	return r
}

const strengthCode = "isometric-external-rotation-strength^^99EVR"

// The expected values are those of the HL7 Version 2 to FHIR guide, segment map OBX, and of
// UCUM.
func TestValue(t *testing.T) {
	ucum := func(value, unit, code string) *fhir.Quantity {
		return &fhir.Quantity{Value: fhir.Decimal(value), Unit: unit, System: fhir.SystemUCUM, Code: code}
	}
	tests := []struct {
		name, kind, value, unit string
		want                    fhir.Value
	}{
		{"number in UCUM", "NM", "92.50", "N^newton^UCUM", ucum("92.50", "newton", "N")},
		{"UCUM as the second coding", "NM", "92.5", "NWT^newton^L^N^newton^UCUM", ucum("92.5", "newton", "N")},
		{"unit as text", "NM", "92.5", "N", ucum("92.5", "N", "N")},
		{"pounds as text", "NM", "20", "lbs", ucum("20", "lbs", "[lb_av]")},
		{"kilograms as text", "NM", "9", "kgs", ucum("9", "kgs", "kg")},
		{"degrees as text", "NM", "160", "degrees", ucum("160", "degrees", "deg")},
		{"unknown unit", "NM", "20", "stone", &fhir.Quantity{Value: "20", Unit: "stone"}},
		{"no unit", "NM", "3", "", &fhir.Quantity{Value: "3"}},
		{"plus sign and zeros", "NM", "+007.5", "N", ucum("7.5", "N", "N")},
		{"zero", "NM", "000", "N", ucum("0", "N", "N")},
		{"below one", "NM", "0.5", "N", ucum("0.5", "N", "N")},
		{"structured", "SN", "^92.5", "N", ucum("92.5", "N", "N")},
		{"structured, bound", "SN", "<^5", "N", &fhir.Quantity{Value: "5", Comparator: "<", Unit: "N", System: fhir.SystemUCUM, Code: "N"}},
		{"structured, range", "SN", "^5^-^10", "N", fhir.OtherValue("SN")},
		{"number as text with a unit", "ST", "92.5", "N", ucum("92.5", "N", "N")},
		{"grade", "ST", "4-", "", fhir.String("4-")},
		{"grade with a unit", "ST", "4-/5", "1", fhir.String("4-/5")},
		{"lines of text", "TX", "a~b", "", fhir.String("a\nb")},
		{"yes", "ID", "Y", "", fhir.Boolean(true)},
		{"no as a code", "CWE", "N^No^HL70136", "", fhir.Boolean(false)},
		{"code", "CWE", "load-sport^^99EVR", "", &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: "load-sport"}}}},
		{"older code", "CE", "46669005^Right handed^SCT", "", &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemSNOMED, Code: "46669005", Display: "Right handed"}}}},
		{"site's code", "CWE", "X^Ex^99CLN", "", &fhir.CodeableConcept{Coding: []fhir.Coding{{System: "https://clinic.example/codes", Code: "X", Display: "Ex"}}}},
		{"unknown system", "CWE", "X^Ex^99OTH", "", &fhir.CodeableConcept{Coding: []fhir.Coding{{System: "urn:id:99OTH", Code: "X", Display: "Ex"}}}},
		{"date", "DT", "20260309", "", fhir.DateTime("2026-03-09")},
		{"document", "ED", "^TEXT^plain^Base64^eA==", "", fhir.OtherValue("ED")},
		{"nothing", "NM", "", "N", nil},
		{"null", "NM", `""`, "N", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in := read(t, "PID|1||P^^^H^MR", "OBR|1", "OBX|1|"+tt.kind+"|"+strengthCode+"||"+tt.value+"|"+tt.unit+"|||||F|||20260309")
			if got := resource[*fhir.Observation](t, in).Value; !reflect.DeepEqual(got, tt.want) {
				t.Errorf("found %#v, want %#v", got, tt.want)
			}
		})
	}
}

// The expected values are those of the guide's concept map of table 0085.
func TestStatus(t *testing.T) {
	for code, want := range map[string]string{
		"F": "final", "C": "corrected", "P": "preliminary", "D": "entered-in-error", "W": "entered-in-error", "X": "cancelled",
		"A": "amended", "R": "preliminary", "I": "registered", "": "unknown", "?": "unknown",
	} {
		in := read(t, "PID|1||P^^^H^MR", "OBR|1", "OBX|1|NM|"+strengthCode+"||5|N|||||"+code+"|||20260309")
		if got := resource[*fhir.Observation](t, in).Status; got != want {
			t.Errorf("OBX-11 %q is %q, want %q", code, got, want)
		}
	}
}

func TestFieldsOfAResult(t *testing.T) {
	in := read(t, "PID|1||P^^^H^MR", "PV1|1|O|||||||||||||||||V1^^^VIS", "OBR|1||F1^LAB|||||20260308",
		"OBX|1|NM|"+strengthCode+"||5|N||L^Low^HL70078|||F|||20260309100000||DR7^Muster^Mira^^^^^^STAFF|handheld-dynamometry^^99EVR|DYN3^DEV||91774008^^SCT|R1^LAB")
	o := resource[*fhir.Observation](t, in)
	checks := []struct{ field, got, want string }{
		{"OBX-8", o.Interpretation[0].Coding[0].System, "http://terminology.hl7.org/CodeSystem/v2-0078"},
		{"OBX-14 with the zone of MSH-7", string(o.Effective.(fhir.DateTime)), "2026-03-09T10:00:00+01:00"},
		{"OBX-16", o.Performer[0].Identifier.Value, "DR7"},
		{"OBX-16.9", o.Performer[0].Identifier.System, "urn:id:STAFF"},
		{"OBX-17", o.Method.Coding[0].Code, "handheld-dynamometry"},
		{"OBX-18", o.Device.Identifier.Value, "DYN3"},
		{"OBX-20", o.BodySite.Coding[0].Code, "91774008"},
		{"OBX-21", o.Identifier[0].Value, "R1"},
		{"PV1-19", o.Encounter.Identifier.Value, "V1"},
		{"PID-3", o.Subject.Reference, "Patient?identifier=urn%3Aid%3AH%7CP"},
	}
	for _, c := range checks {
		if c.got != c.want {
			t.Errorf("%s: found %q, want %q", c.field, c.got, c.want)
		}
	}
}

func TestOrderStandsInForTimeAndIdentifier(t *testing.T) {
	in := read(t, "PID|1||P^^^H^MR", "OBR|1||F1^LAB||||20260308", "OBX|1|NM|"+strengthCode+"|2|5|N|||||F", "OBX|2|NM|"+strengthCode+"|2|6|N|||||F")
	last := resource[*fhir.Observation](t, in)
	first := in.Bundle.Entry[1].Resource.(*fhir.Observation)
	if got := last.Effective; got != fhir.DateTime("2026-03-08") {
		t.Errorf("the time is %v, want that of OBR-7", got)
	}
	if first.Identifier[0].Value != "F1/isometric-external-rotation-strength/2" || last.Identifier[0].Value == first.Identifier[0].Value {
		t.Errorf("the identifiers are %v and %v; want two different ones that begin with the filler's", first.Identifier, last.Identifier)
	}
}

// A source names the authority of an identifier as table 0301 says.
func TestPatient(t *testing.T) {
	in := read(t, "PID|1||X1^^^Social&1.2.3&ISO^SS~P1^^^H^MR~U1^^^&https://id.example/p&URI^PI||Muster^Mira^A||197001010000")
	p := resource[*fhir.Patient](t, in)
	want := []fhir.Identifier{{System: "urn:id:H", Value: "P1"}, {System: "https://id.example/p", Value: "U1"}, {System: "urn:oid:1.2.3", Value: "X1"}}
	if !reflect.DeepEqual(p.Identifier, want) {
		t.Errorf("the identifiers are %v, want %v: the record number first", p.Identifier, want)
	}
	if p.BirthDate != "1970-01-01" || p.Name[0].Family != "Muster" || !reflect.DeepEqual(p.Name[0].Given, []string{"Mira", "A"}) {
		t.Errorf("found %q, %v", p.BirthDate, p.Name)
	}
}

// One patient in two groups, with one identifier in common, is one; another is a second, whom intake
// refuses.
func TestPatientOfSeveralGroups(t *testing.T) {
	tests := []struct {
		second string
		want   int
	}{{"P1^^^H^MR", 1}, {"X^^^Y^SS~P1^^^H^MR", 1}, {"P2^^^H^MR", 2}}
	for _, tt := range tests {
		in := read(t, "PID|1||P1^^^H^MR", "PID|2||"+tt.second)
		if got := len(in.Bundle.Entry); got != tt.want {
			t.Errorf("P1 and %s are %d patients, want %d", tt.second, got, tt.want)
		}
	}
	in := read(t, "PID|1||P1^^^H^MR", "OBR|1", "OBX|1|NM|"+strengthCode+"||5|N|||||F", "PID|2||P2^^^H^MR", "OBR|1", "OBX|1|NM|"+strengthCode+"||5|N|||||F")
	_, err := intake.Read(intake.Input{Bundle: in.Bundle})
	if refused, ok := errors.AsType[*fault.Errors](err); !ok || refused.Kind() != fault.SeveralPatients {
		t.Errorf("found %v, want a refusal of several patients", err)
	}
}

func TestDisorderAndRepair(t *testing.T) {
	in := read(t, "PID|1||P^^^H^MR", "OBR|1", "OBX|1|CWE|DX^Diagnosis^99CLN||414033006^^SCT||||||F|||||||||91774008^^SCT",
		"OBX|2|CWE|OP^Operation^99CLN||56060000^^SCT||||||F|||20250609||||||91774008^^SCT")
	c := in.Bundle.Entry[1].Resource.(*fhir.Condition)
	if c.Code.Coding[0].Code != "414033006" || c.BodySite[0].Coding[0].Code != "91774008" || c.VerificationStatus.Coding[0].Code != "confirmed" {
		t.Errorf("the disorder is %+v", c)
	}
	p := resource[*fhir.Procedure](t, in)
	if p.Status != "completed" || p.Performed != fhir.DateTime("2025-06-09") {
		t.Errorf("the repair is %+v", p)
	}
	withdrawn := read(t, "PID|1||P^^^H^MR", "OBR|1", "OBX|2|CWE|OP^^99CLN||56060000^^SCT||||||W|||20250609||||||91774008^^SCT")
	if got := resource[*fhir.Procedure](t, withdrawn).Status; got != "entered-in-error" {
		t.Errorf("a withdrawn repair is %q", got)
	}
}

// Each problem is named by the segment and field in which it stands.
func TestPlace(t *testing.T) {
	base := []string{"PID|1||P^^^H^MR", "OBR|1|||||||20260309", "OBX|1|CWE|DX^^99CLN||414033006^^SCT||||||F|||||||||91774008^^SCT"}
	good := "OBX|2|NM|isometric-external-rotation-strength^^99EVR|1|80|N|||||F|||20260309||||||91774008^^SCT"
	position := "OBX|3|CWE|arm-position^^99EVR|1|arm-at-side^^99EVR||||||F"
	tests := []struct {
		name  string
		lines []string
		kind  fault.Kind
		place string
	}{
		{"unit", []string{strings.Replace(good, "|N|", "|stone|", 1), position}, fault.UnitUnknown, "OBX[2]-6"},
		{"mass on a strength", []string{strings.Replace(good, "|N|", "|lbs|", 1), position}, fault.UnitAlias, "OBX[2]-6"},
		{"value", []string{strings.Replace(good, "|80|", "|8000|", 1), position}, fault.ImplausibleValue, "OBX[2]-5"},
		{"repetition", []string{strings.Replace(good, "|80|", "|80~8000|", 1), position}, fault.ImplausibleValue, "OBX[2]-5[2]"},
		{"status", []string{strings.Replace(good, "|F|", "|P|", 1), position}, fault.StatusRetracted, "OBX[2]-11"},
		{"side", []string{strings.Replace(good, "91774008^^SCT", "", 1), position}, fault.SideMissing, "OBX[2]"},
		{"both sides", []string{strings.Replace(good, "91774008^^SCT", "51440002^^SCT", 1), position}, fault.SideConflict, "OBX[2]-20"},
		{"position", []string{good}, fault.PositionMissing, "OBX[2]"},
		{"position's code", []string{good, strings.Replace(position, "arm-at-side", "arm-somewhere", 1)}, fault.CodeUnknown, "OBX[3]-5"},
		{"position of another", []string{good, strings.Replace(position, "|1|", "|9|", 1)}, fault.NotRead, "OBX[3]"},
		{"retracted position", []string{good, strings.Replace(position, "||F", "||W", 1)}, fault.StatusRetracted, "OBX[3]-11"},
		{"comparator", []string{strings.Replace(strings.Replace(good, "|NM|", "|SN|", 1), "|80|", "|<^80|", 1), position}, fault.Comparator, "OBX[2]-5"},
		{"date", []string{strings.Replace(good, "|20260309|", "|2026|", 1), position}, fault.DateMissing, "OBX[2]-14"},
		{"method", []string{strings.Replace(good, "||||||91774008", "|||guess^^99EVR|||91774008", 1), position}, fault.CodeUnknown, "OBX[2]-17"},
		{"outside the scope", []string{good, position, "OBX|4|NM|718-7^Hemoglobin^LN||14|g/dL^^UCUM|||||F"}, fault.NotRead, "OBX[4]-3"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in := read(t, append(base, tt.lines...)...)
			reading, err := intake.Read(intake.Input{Bundle: in.Bundle})
			issues := in.Issues
			if refused, ok := errors.AsType[*fault.Errors](err); ok {
				issues = append(issues, refused.Issues...)
			} else {
				issues = append(issues, reading.Issues...)
			}
			for _, i := range issues {
				if i.Kind == tt.kind && in.Place(i.Path) == tt.place {
					return
				}
			}
			t.Errorf("found %v, want %v at %s", issues, tt.kind, tt.place)
		})
	}
}

// A corrected result takes the place of the one before it; a withdrawn one leaves none.
func TestNewestOfTwoResultsCounts(t *testing.T) {
	base := []string{"PID|1||P^^^H^MR", "OBR|1", "OBX|1|CWE|DX^^99CLN||414033006^^SCT||||||F|||||||||91774008^^SCT"}
	line := func(value, status string) string {
		return "OBX|2|NM|41389-8^^LN||" + value + "|deg|||||" + status + "|||20260309||||||91774008^^SCT|R1^LAB"
	}
	tests := []struct {
		name string
		last string
		used int
	}{{"corrected", line("150", "C"), 1}, {"withdrawn", line("160", "W"), 0}, {"deleted", line("", "D"), 0}}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in := read(t, append(base, line("160", "F"), tt.last, "OBX|3|NM|72514-3^^LN||2||||||F|||20260309")...)
			reading, err := intake.Read(intake.Input{Bundle: in.Bundle})
			if err != nil {
				t.Fatal(err)
			}
			if got := len(reading.Episode.Sessions[0].Ranges); got != tt.used {
				t.Errorf("%d ranges are used, want %d", got, tt.used)
			}
			if tt.used == 1 && reading.Episode.Sessions[0].Ranges[0].Degrees.Text(0) != "150" {
				t.Errorf("found %v, want the corrected 150", reading.Episode.Sessions[0].Ranges[0])
			}
		})
	}
}

func TestCheckRefuses(t *testing.T) {
	tests := []struct{ name, from, to, place string }{
		{"an order", "ORU^R01", "ORM^O01", "MSH[1]-9"},
		{"version 3", "|2.7", "|3.0", "MSH[1]-12"},
		{"no control id", "|M1|", "||", "MSH[1]-10"},
		{"a part of a message", "|P|2.7", "|P|2.7||CONT", "MSH[1]-14"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, err := hl7v2.Parse([]byte(strings.Replace(msh, tt.from, tt.to, 1)))
			if err != nil {
				t.Fatal(err)
			}
			refused, ok := errors.AsType[*fault.Errors](oru.Check(m))
			if !ok || refused.Issues[0].Path != tt.place {
				t.Errorf("found %v, want a refusal at %s", refused, tt.place)
			}
		})
	}
}

func TestTimeWithoutAnyZoneIsItsDay(t *testing.T) {
	m, err := hl7v2.Parse([]byte(strings.Replace(msh, "+0100", "", 1) + "\rPID|1||P^^^H^MR\rOBR|1\rOBX|1|NM|" + strengthCode + "||5|N|||||F|||20260309233000"))
	if err != nil {
		t.Fatal(err)
	}
	in, err := oru.Read(m, oru.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := resource[*fhir.Observation](t, in).Effective; got != fhir.DateTime("2026-03-09") {
		t.Errorf("the time is %v, want its day alone", got)
	}
	if len(in.Issues) != 1 || in.Issues[0].Kind != fault.DateMissing || in.Issues[0].Path != "OBX[1]-14" {
		t.Errorf("found %v, want a note on the zone", in.Issues)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(msh + "\rPID|1||P^^^H^MR\rPV1|1|O|||||||||||||||||V1\rOBR|1||F1\rOBX|1|NM|" + strengthCode + "|1.1|5~6|N|||||F|||20260309||||||91774008^^SCT\rOBX|2|CWE|arm-position^^99EVR|1|arm-at-side^^99EVR||||||F"))
	f.Add([]byte(msh + "\rPID|1||P^^^H^MR\rOBX|1|CWE|DX^^L||414033006^^SCT||||||F|||||||||91774008^^SCT\rOBX|2|SN|x||<^5"))
	f.Add([]byte(msh + "\rPID|1||P^^^H^MR\rOBX|1|CWE|measurement-confirmed^^99EVR|1|Y^^HL70136||||||F|||20260309||D^^^^^^^^S"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := hl7v2.Parse(data)
		if err != nil {
			return
		}
		in, err := oru.Read(m, oru.Options{})
		if err != nil {
			if _, ok := errors.AsType[*fault.Errors](err); !ok {
				t.Fatalf("the error is %T", err)
			}
			return
		}
		reading, err := intake.Read(intake.Input{Bundle: in.Bundle})
		var issues []fault.Issue
		if refused, ok := errors.AsType[*fault.Errors](err); ok {
			issues = refused.Issues
		} else if err == nil {
			issues = reading.Issues
		}
		for _, i := range issues {
			if place := in.Place(i.Path); strings.HasPrefix(place, "Bundle") {
				t.Fatalf("an issue stands at %q, which the sender does not know", place)
			}
		}
	})
}
