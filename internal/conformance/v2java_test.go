//go:build v2java

package conformance

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/oru"
)

// onFolder runs a Java program of this folder on a folder, and returns what it prints.
func onFolder(t *testing.T, program, folder string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	var out, problems bytes.Buffer
	command := exec.CommandContext(ctx, "mvn", "--batch-mode", "--quiet", "--file", program, "-Dbuilt="+t.TempDir(), "compile", "exec:java", "-Dexec.args="+folder)
	command.Stdout, command.Stderr = &out, &problems
	if err := command.Run(); err != nil {
		t.Fatalf("mvn: %v\n%.2000s\n%.2000s", err, out.String(), problems.String())
	}
	return out.String()
}

// messagesOf are messages by the name of their folder: those that are sent, or the answers to them. They are in UTF-8.
func messagesOf(t *testing.T, name string) map[string][]byte {
	t.Helper()
	files, err := filepath.Glob("../../testdata/messages/*/" + name)
	if err != nil || len(files) < 3 {
		t.Fatalf("%d messages found, want at least 3 (%v)", len(files), err)
	}
	all := map[string][]byte{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte("|8859/1")) {
			text = bytes.Replace([]byte(fromLatin1(text)), []byte("|8859/1"), []byte("|UNICODE UTF-8"), 1)
		}
		all[filepath.Base(filepath.Dir(file))] = bytes.ReplaceAll(text, []byte("\n"), []byte("\r"))
	}
	return all
}

func fromLatin1(text []byte) string {
	runes := make([]rune, len(text))
	for i, b := range text {
		runes[i] = rune(b)
	}
	return string(runes)
}

// inFolder writes messages into a new folder.
func inFolder(t *testing.T, messages map[string][]byte) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range messages {
		if err := os.WriteFile(filepath.Join(folder, name+".hl7"), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// acknowledgements are of both versions, with and without issues, of a message that could be read and of one that could not.
func acknowledgements(t *testing.T) map[string][]byte {
	t.Helper()
	issues := []fault.Issue{
		{Severity: fault.Warning, Kind: fault.UnitUnknown, Path: "OBX[2]-6", Detail: "expected a unit of force", Diagnostic: `found "st|one"`},
		{Severity: fault.Error, Kind: fault.SideMissing, Path: "OBX[3]-5[2].1", Detail: "expected the side & no other"},
		{Severity: fault.Information, Kind: fault.NotRead},
	}
	all := map[string][]byte{"ack-none": hl7v2.Reply{At: time.Unix(0, 0)}.Acknowledgement(hl7v2.Failed, issues)}
	for name, text := range messagesOf(t, "input.hl7") {
		m, err := hl7v2.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		reply := hl7v2.Reply{To: m, At: time.Unix(0, 0)}
		all["ack-"+name] = reply.Acknowledgement(hl7v2.Accepted, nil)
		all["nak-"+name] = reply.Acknowledgement(hl7v2.Rejected, issues)
	}
	return all
}

// HAPI's structures of version 2, under its default rules, know every segment of what is written here where it stands,
// and write the same again. What HAPI writes is assessed here, with the usual delimiters and with others: 78 of 100 N
// is an index of 78 per cent.
func TestStructuresOfOthers(t *testing.T) {
	messages := acknowledgements(t)
	for name, text := range messagesOf(t, "golden.hl7") {
		messages["results-"+name] = text
	}
	folder := inFolder(t, messages)
	judged := 0
	for line := range strings.Lines(onFolder(t, "v2/hapi", folder)) {
		f := strings.Split(strings.TrimSpace(line), "\t")
		if len(f) == 1 { // of Maven
			continue
		}
		want := []string{f[0], "ACK", "2.7", "0", "true"}
		if strings.HasPrefix(f[0], "results-") {
			want[1] = "ORU_R01"
		} else if strings.HasSuffix(f[0], "local-codes-in-pounds.hl7") {
			want[2] = "2.5.1"
		}
		if !slices.Equal(f, want) {
			t.Errorf("found %q, want %q", f, want)
		}
		judged++
	}
	if judged != len(messages) {
		t.Errorf("%d messages were judged, want %d", judged, len(messages))
	}
	for _, name := range []string{"made-standard", "made-others"} {
		text, err := os.ReadFile(filepath.Join(folder, name+".hl7"))
		if err != nil {
			t.Fatal(err)
		}
		answer := answerByV2(t, text)
		if got := indexIn(t, answer); got != "78.0" {
			t.Errorf("%s: the index is %s, want 78.0", name, got)
		}
		for _, s := range answer.Segments {
			if s.Name == "PID" && (s.Field(5).Text(1) != `O&Neil|^~\ of the Müllers` || s.Field(5).Text(2) != "Zoë") {
				t.Errorf("%s: the name reads %q, %q", name, s.Field(5).Text(1), s.Field(5).Text(2))
			}
		}
	}
}

// A converter of others makes the same of the messages as we do: of each result the code, number, unit, status, side, time
// and identifier. It takes the first repetition of a value, and leaves the parts of a measurement as results of their own.
func TestConversionOfOthers(t *testing.T) {
	messages := messagesOf(t, "input.hl7")
	folder := inFolder(t, messages)
	onFolder(t, "v2/converter", folder)
	for name, text := range messages {
		converted, err := os.ReadFile(filepath.Join(folder, name+".hl7.json"))
		if err != nil {
			t.Fatal(err)
		}
		m, err := hl7v2.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		in, err := oru.Read(m, oru.Options{Zone: time.FixedZone("", 3600)})
		if err != nil {
			t.Fatal(err)
		}
		ours := flattened(in.Bundle)
		theirs := ours.others(t, converted)
		slices.Sort(ours.lines)
		ours.lines, theirs = slices.Compact(ours.lines), slices.Compact(theirs) // a part may belong to several trials
		if !slices.Equal(ours.lines, theirs) || len(theirs) < 10 {
			t.Errorf("%s: others make of it\n%s\nwe make\n%s", name, strings.Join(without(theirs, ours.lines), "\n"), strings.Join(without(ours.lines, theirs), "\n"))
		}
	}
}

// without are the lines that others do not have.
func without(lines, others []string) (left []string) {
	for _, line := range lines {
		if !slices.Contains(others, line) {
			left = append(left, line)
		}
	}
	return left
}

// results are what a message says, a line for each result.
type results struct {
	lines    []string
	parts    map[string]bool // codes of what we read as parts of a measurement
	findings []string        // codes of the disorders
}

// flattened are our resources as results again.
func flattened(b *fhir.Bundle) *results {
	r := &results{parts: map[string]bool{}}
	for i := range b.Entry {
		switch o := b.Entry[i].Resource.(type) {
		case *fhir.Observation:
			r.observation(o)
		case *fhir.Condition:
			r.findings = append(r.findings, o.Code.Coding[0].Code)
			r.lines = append(r.lines, "coded "+o.Code.Coding[0].Code)
		}
	}
	return r
}

func (r *results) observation(o *fhir.Observation) {
	code, value := o.Code.Coding[0].Code, o.Value
	for i, c := range o.Component {
		switch part := c.Code.Coding[0].Code; {
		case part != fhir.CodeTrial:
			r.parts[part] = true
			r.add(part, c.Value)
		case i == 0:
			value = c.Value
		}
	}
	r.add(code, value)
	site, when, id := "", "", ""
	if o.BodySite != nil {
		site = o.BodySite.Coding[0].Code
	}
	if at, ok := o.Effective.(fhir.DateTime); ok {
		when = string(at)
	}
	if len(o.Identifier) > 0 {
		id = o.Identifier[0].Value
	}
	r.lines = append(r.lines, of(code, o.Status, site, when, id))
}

func (r *results) add(code string, value fhir.Value) {
	switch v := value.(type) {
	case *fhir.Quantity:
		r.lines = append(r.lines, number(code, v.Comparator, string(v.Value), cmp.Or(v.Code, v.Unit)))
	case *fhir.CodeableConcept:
		r.lines = append(r.lines, "coded "+v.Coding[0].Code)
	}
}

// number is a line for a number, whichever way it is written.
func number(code, comparator, value, unit string) string {
	n, _ := new(big.Rat).SetString(value)
	return fmt.Sprint("number ", code, " ", comparator, n.FloatString(6), " ", unit)
}

// others are the results in a Bundle of others.
func (r *results) others(t *testing.T, text []byte) (lines []string) {
	t.Helper()
	type concept struct{ Coding []struct{ Code string } }
	var b struct {
		Entry []struct {
			Resource struct {
				ResourceType, Status, EffectiveDateTime string
				Code, BodySite                          concept
				Identifier                              []struct{ System, Value string }
				ValueCodeableConcept                    concept
				ValueQuantity                           *struct {
					Value                  json.Number
					Comparator, Unit, Code string
				}
			}
		}
	}
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	ordered := "" // the time of the order, which holds for results that state none
	for _, e := range b.Entry {
		if e.Resource.ResourceType == "DiagnosticReport" {
			ordered = e.Resource.EffectiveDateTime
		}
	}
	for _, e := range b.Entry {
		o := e.Resource
		if o.ResourceType != "Observation" {
			continue
		}
		code := o.Code.Coding[0].Code
		if q := o.ValueQuantity; q != nil {
			lines = append(lines, number(code, q.Comparator, q.Value.String(), unitOf(q.Code, q.Unit)))
		}
		finding := false
		for _, c := range o.ValueCodeableConcept.Coding[:min(1, len(o.ValueCodeableConcept.Coding))] {
			lines = append(lines, "coded "+c.Code)
			finding = slices.Contains(r.findings, c.Code)
		}
		if finding || r.parts[code] {
			continue
		}
		site, id := "", ""
		if len(o.BodySite.Coding) > 0 {
			site = o.BodySite.Coding[0].Code
		}
		for _, i := range o.Identifier {
			if i.System != "urn:id:extID" { // which it makes up
				id = i.Value
			}
		}
		lines = append(lines, of(code, o.Status, site, cmp.Or(o.EffectiveDateTime, ordered), id))
	}
	slices.Sort(lines)
	return lines
}

// unitOf is the code of a unit. One that was sent as text has none in a Bundle of others.
func unitOf(code, text string) string {
	if ours, ok := intake.UCUM(text); code == "" && ok {
		return ours
	}
	return cmp.Or(code, text)
}

// of is a line for a result that stands alone. Identifiers with a slash are those that we make up.
func of(code, status, site, when, id string) string {
	if strings.Contains(id, "/") {
		id = ""
	}
	return strings.Join([]string{"result", code, status, site, when, id}, " ")
}
