package oru_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/oru"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// inexpressible are the scenarios whose Bundle holds what no message of results can say, each
// with the reason.
var inexpressible = map[string]string{
	"bad-inputs-in-a-good-bundle":  "modifier extensions",
	"statements-that-do-not-count": "a confirmation that points at a measurement that is not there",
}

func assess(t *testing.T, q service.Request, codes *intake.CodeMap) *service.Answer {
	t.Helper()
	p := &service.Pipeline{Protocols: service.Protocols{protocol.Default()}, Codes: codes, Now: func() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }}
	a, err := p.Run(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// twinOf assesses a message with the parameters that the FHIR twin has besides the Bundle.
func twinOf(t *testing.T, q service.Request, message []byte, o oru.Options) *service.Answer {
	t.Helper()
	m, err := hl7v2.Parse(message)
	if err != nil {
		t.Fatal(err)
	}
	in, err := oru.Read(m, o)
	if err != nil {
		t.Fatal(err)
	}
	q.Bundle, q.Root, q.Place, q.Unmapped = in.Bundle, "Bundle", in.Place, in.Issues
	return assess(t, q, o.Codes)
}

// answerText is the text of an answer, without the paths in the input.
func answerText(a *service.Answer) string {
	var issues []string
	for _, i := range a.Issues {
		issues = append(issues, i.Severity.String()+" "+i.Kind.String()+": "+i.Detail)
	}
	slices.Sort(issues)
	return report.Text(a.Assessment, nil, wording.For("en")) + strings.Join(issues, "\n")
}

func eachScenario(t *testing.T, run func(t *testing.T, q service.Request)) {
	t.Helper()
	inputs, err := filepath.Glob("../../testdata/scenarios/*/input.json")
	if err != nil || len(inputs) < 10 {
		t.Fatalf("%d scenarios found, want at least 10 (%v)", len(inputs), err)
	}
	for _, path := range inputs {
		name := filepath.Base(filepath.Dir(path))
		if inexpressible[name] != "" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			body, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			q, err := service.Decode(body)
			if err != nil {
				t.Fatal(err)
			}
			run(t, q)
		})
	}
}

// codes is the code map of an invented clinic that has one code for each test with its position,
// support and side.
func codes(t *testing.T) *intake.CodeMap {
	t.Helper()
	var elements []string
	for _, motion := range []string{"external", "internal"} {
		for _, position := range []string{"arm-at-side", "flexion-90", "abduction-90"} {
			for _, support := range []string{"supported", "unsupported"} {
				for _, side := range []string{"right", "left"} {
					elements = append(elements, fmt.Sprintf(`{"code": %q, "target": [{"code": "isometric-%s-rotation-strength", "equivalence": "wider", "product": [
						{"property": "arm-position", "value": %q}, {"property": "arm-support", "value": %q}, {"property": "side", "value": %q}]}]}`,
						localCode(motion, position, support, side), motion, position, support, side))
				}
			}
		}
	}
	m, err := intake.ReadCodeMap([]byte(`{"resourceType": "ConceptMap", "status": "active", "group": [{"source": "https://clinic.example/codes",
		"target": "https://evenreach.example/fhir/CodeSystem/shoulder", "element": [` + strings.Join(elements, ",") + `]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func localCode(motion, position, support, side string) string {
	return strings.ToUpper(motion[:1] + "R-" + position + "-" + support[:1] + "-" + side[:1])
}

// local is the clinic's code of a strength that states all that such a code says.
func local(o *fhir.Observation) (string, bool) {
	motion, strength := map[string]string{
		"isometric-external-rotation-strength": "external", "isometric-internal-rotation-strength": "internal",
	}[o.Code.Coding[0].Code]
	side := map[string]string{"91774008": "right", "91775009": "left"}
	said := map[string]string{}
	for _, c := range o.Component {
		if v, ok := c.Value.(*fhir.CodeableConcept); ok {
			said[c.Code.Coding[0].Code] = v.Coding[0].Code
		}
	}
	if !strength || o.BodySite == nil || said["arm-position"] == "" || said["arm-support"] == "" {
		return "", false
	}
	return localCode(motion, said["arm-position"], said["arm-support"], side[o.BodySite.Coding[0].Code]), true
}

// withoutContraction leaves out what the clinic's codes cannot say.
func withoutContraction(b *fhir.Bundle) {
	for _, e := range b.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok {
			o.Component = slices.DeleteFunc(o.Component, func(c fhir.Component) bool { return c.Code.Coding[0].Code == "contraction-type" })
		}
	}
}

// The expected value of each case is the answer to the FHIR Bundle of the scenario, which was
// reviewed as such.
func TestMessageIsAssessedAsItsTwin(t *testing.T) {
	site := oru.Options{Systems: map[string]string{"99CLN": "https://clinic.example/codes"}, Codes: codes(t)}
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	styles := []struct {
		name    string
		style   oru.Style
		options oru.Options
		twin    func(*fhir.Bundle)
		rewrite func([]byte) []byte
	}{
		{name: "trials repeat"},
		{name: "each trial an OBX", style: oru.Style{EachTrial: true}},
		{name: "units as text", style: oru.Style{Units: map[string]string{"N": "N", "deg": "degrees", "kg": "kgs", "[lbf_av]": "lbf"}}},
		{name: "codes of the site", style: oru.Style{Local: local}, options: site, twin: withoutContraction},
		{name: "a zone that is configured", options: oru.Options{Zone: berlin}, rewrite: withoutZones},
		{name: "the zone of MSH-7", twin: inOneZone, rewrite: withoutZonesButMSH},
		{name: "other delimiters", rewrite: otherDelimiters},
		{name: "8859/1", rewrite: latin},
		{name: "lines that end with LF", rewrite: func(m []byte) []byte { return bytes.ReplaceAll(m, []byte("\r"), []byte("\n")) }},
	}
	for _, s := range styles {
		t.Run(s.name, func(t *testing.T) {
			eachScenario(t, func(t *testing.T, q service.Request) {
				name(q.Bundle)
				if s.twin != nil {
					s.twin(q.Bundle)
				}
				message := oru.Twin(q.Bundle, s.style)
				if s.rewrite != nil {
					message = s.rewrite(message)
				}
				want, got := answerText(assess(t, q, nil)), answerText(twinOf(t, q, message, s.options))
				if got != want {
					t.Errorf("the message is assessed otherwise than its twin:\n%s", difference(want, got))
				}
			})
		})
	}
}

var zoned = regexp.MustCompile(`(\d{14})[+-]\d{4}`)

// withoutZones leaves out the zones of all times.
func withoutZones(m []byte) []byte { return zoned.ReplaceAll(m, []byte("$1")) }

// withoutZonesButMSH leaves out the zones of all times but that of the message.
func withoutZonesButMSH(m []byte) []byte {
	header, rest, _ := bytes.Cut(m, []byte("\r"))
	return append(append(header, '\r'), withoutZones(rest)...)
}

// inOneZone moves the times of a Bundle to the zone of the message.
func inOneZone(b *fhir.Bundle) {
	for _, e := range b.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok {
			if when, ok := o.Effective.(fhir.DateTime); ok {
				o.Effective = fhir.DateTime(strings.Replace(string(when), "+02:00", "+01:00", 1))
			}
		}
	}
}

// otherDelimiters writes a message that has no escape sequences with other delimiters.
func otherDelimiters(m []byte) []byte {
	return []byte(strings.NewReplacer("|", "$", "^", "*", "~", "!", `\`, "?", "&", "@").Replace(string(m)))
}

// name gives the patient the name of an invented person, with a letter that is not of ASCII.
func name(b *fhir.Bundle) {
	for _, e := range b.Entry {
		if p, ok := e.Resource.(*fhir.Patient); ok {
			p.Name, p.BirthDate = []fhir.HumanName{{Family: "Müller", Given: []string{"Mira"}}}, "1970-01-01"
		}
	}
}

// latin writes a message in 8859/1.
func latin(m []byte) []byte {
	text := strings.Replace(string(m), "UNICODE UTF-8", "8859/1", 1)
	return []byte(strings.ReplaceAll(text, "ü", "\xfc"))
}

// difference are the lines in which two texts differ.
func difference(want, got string) string {
	var b strings.Builder
	a, c := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(a), len(c)) {
		var x, y string
		if i < len(a) {
			x = a[i]
		}
		if i < len(c) {
			y = c[i]
		}
		if x != y {
			b.WriteString("- " + x + "\n+ " + y + "\n")
		}
		if b.Len() > 1500 {
			break
		}
	}
	return b.String()
}
