package report

import (
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// allowed are the elements that a narrative of ours uses with their
// attributes. All are in the set that FHIR allows.
//
// Source: FHIR R4 4.0.1, Narrative: HTML 4.0 chapters 7 to 11 and 15.
var allowed = map[string][]string{
	"div": {"xmlns", "lang", "xml:lang"}, "h2": nil, "h3": nil, "p": nil, "b": nil, "ul": nil, "li": nil, "br": nil,
	"table": nil, "thead": nil, "tbody": nil, "tr": nil, "td": nil, "th": {"scope", "colspan"},
}

// checkNarrative reports what of a div is not well-formed or not allowed.
func checkNarrative(t *testing.T, div string) {
	t.Helper()
	if !strings.HasPrefix(div, `<div xmlns="http://www.w3.org/1999/xhtml"`) || !utf8.ValidString(div) {
		t.Errorf("no XHTML div in UTF-8: %.60q", div)
	}
	decoder := xml.NewDecoder(strings.NewReader(div))
	decoder.Strict = true
	depth, roots := 0, 0
	for {
		token, err := decoder.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			if depth == 0 {
				roots++
			}
			depth++
			checkElement(t, token)
		case xml.EndElement:
			depth--
		case xml.CharData:
			if depth == 0 {
				t.Errorf("text %q outside the div", token)
			}
		default:
			t.Errorf("neither element nor text: %T", token)
		}
	}
	if roots != 1 || depth != 0 {
		t.Errorf("%d roots, depth %d at the end", roots, depth)
	}
}

func checkElement(t *testing.T, e xml.StartElement) {
	t.Helper()
	attributes, ok := allowed[e.Name.Local]
	if !ok {
		t.Errorf("element %s is not allowed, only %v", e.Name.Local, slices.Sorted(maps.Keys(allowed)))
	}
	for _, a := range e.Attr {
		name := a.Name.Local
		if a.Name.Space != "" {
			name = a.Name.Space + ":" + name
		}
		if !slices.Contains(attributes, name) {
			t.Errorf("attribute %s of %s is not allowed", name, e.Name.Local)
		}
	}
}

func TestNarrativesKeepToFHIR(t *testing.T) {
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			t.Run(language+"/"+s.name, func(t *testing.T) {
				for _, div := range divs(s, wording.For(language)) {
					checkNarrative(t, div)
					// The same once more by a decoder that matches the tags.
					var root struct {
						Language string `xml:"lang,attr"`
					}
					if err := xml.Unmarshal([]byte(div), &root); err != nil || root.Language != language {
						t.Errorf("language %q, %v", root.Language, err)
					}
				}
			})
		}
	}
}

// attacks are texts that must stay texts.
var attacks = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	`</div><iframe src="javascript:alert(1)">`,
	`&lt;script&gt;`,
	`<![CDATA[x]]>`,
	"a\x00b\x1b[31mred\x07",
	"\xff\xfe broken",
	"\u202Eright to left",
	"\ufffe\uffff",
	strings.Repeat("<", 500),
}

// A clinic's protocol and the places of issues are not ours: they are text in
// every form, and cannot steer a terminal.
func TestForeignTextIsText(t *testing.T) {
	for _, attack := range attacks {
		p := *protocol.Default()
		p.ID, p.Version = attack, attack
		p.Symmetry.Even.Source, p.Dose.RhythmicStabilisation.Text = attack, attack
		a := assess.Assess(third(), &p, day("2026-03-30"))
		issues := []fault.Issue{{Kind: fault.UnknownElement, Path: attack, Detail: attack, Diagnostic: "only in the answer"}}
		for _, div := range []string{New(a, issues, words()).Narrative(), New(a, nil, words()).PlanNarrative()} {
			checkNarrative(t, div)
			if strings.Contains(div, "only in the answer") {
				t.Error("a diagnostic, which may quote the input, is shown")
			}
		}
		text := FullText(a, issues, words()) + ProgressNote(a, issues, words()) + Patient(a, words())
		if strings.ContainsAny(text, "\x00\x07\x1b\u202E") || !utf8.ValidString(text) {
			t.Errorf("%q reaches the terminal", attack)
		}
	}
}

func BenchmarkNarrative(b *testing.B) {
	s := stories()[1]
	a := s.assess()
	b.ReportAllocs()
	for b.Loop() {
		New(a, s.issues, words()).Narrative()
	}
}

func BenchmarkPlanNarrative(b *testing.B) {
	s := stories()[1]
	a := s.assess()
	b.ReportAllocs()
	for b.Loop() {
		New(a, nil, words()).PlanNarrative()
	}
}

func BenchmarkText(b *testing.B) {
	s := stories()[1]
	a := s.assess()
	b.ReportAllocs()
	for b.Loop() {
		Text(a, s.issues, words())
	}
}

func BenchmarkConclusion(b *testing.B) {
	s := stories()[1]
	a := s.assess()
	b.ReportAllocs()
	for b.Loop() {
		New(a, s.issues, words()).Conclusion()
	}
}

// Any episode that the core accepts can be reported.
func TestEmptyReadinessIsReported(t *testing.T) {
	a := assess.Assess(&shoulder.Episode{Involved: shoulder.Left}, protocol.Default(), day("2026-03-02"))
	checkNarrative(t, New(a, nil, words()).Narrative())
	checkNarrative(t, New(a, nil, words()).PlanNarrative())
}
