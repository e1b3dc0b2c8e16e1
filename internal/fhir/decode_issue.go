package fhir

import (
	"errors"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"evenreach.example/internal/fault"
	"github.com/go-json-experiment/json/jsontext"
)

// maxIssues is how many problems are listed before reading ends: more than
// anybody mends in one go, and few enough for a hostile body to stay cheap.
const maxIssues = 100

// maxQuote is how many bytes of the input a diagnostic may quote.
const maxQuote = 80

// misshaped reports the current value as JSON of another shape than FHIR's.
func (d *decoder) misshaped(detail string) {
	d.add(fault.Issue{Severity: fault.Error, Kind: fault.Structure, Path: d.path(), Detail: detail})
}

// bad reports the current value, a primitive, as outside its FHIR domain.
func (d *decoder) bad(expected string) {
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.BadValue,
		Path:       d.path(),
		Detail:     "found a value outside its domain; expected " + expected,
		Diagnostic: "found " + quote(d.text[d.start:d.end]),
	})
}

// unknown reports the current member as none of the type's, and passes over it.
func (d *decoder) unknown(typeName string) {
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.UnknownElement,
		Path:       d.path(),
		Detail:     "FHIR R4 has no such element in " + typeName,
		Diagnostic: "found the name " + quote(strconv.Quote(d.name)),
	})
	d.skip()
}

// require reports an element of the object just read as missing, unless its
// own value was already reported.
func (d *decoder) require(present bool, name string) {
	if present {
		return
	}
	path := d.path() + "." + name
	for _, i := range d.issues {
		if rest, found := strings.CutPrefix(i.Path, path); found && (rest == "" || rest[0] == '.' || rest[0] == '[') {
			return
		}
	}
	d.add(fault.Issue{Severity: fault.Error, Kind: fault.RequiredMissing, Path: path, Detail: "found no value; FHIR R4 requires one"})
}

// fatal adds an issue that ends the reading.
func (d *decoder) fatal(kind fault.Kind, detail string) {
	d.add(fault.Issue{Severity: fault.Fatal, Kind: kind, Path: d.path(), Detail: detail})
}

// stop ends the reading because the text after the current token is not JSON,
// or not the JSON that FHIR asks for.
func (d *decoder) stop() {
	d.catchUp()
	_, err := d.trail.ReadToken()
	issue := fault.Issue{Severity: fault.Fatal, Kind: fault.Syntax, Path: d.path()}
	syntax, isSyntax := errors.AsType[*jsontext.SyntacticError](err)
	switch {
	case errors.Is(err, io.EOF):
		issue.Detail = "found no text; expected a FHIR resource in JSON"
	case isSyntax:
		issue.Path = d.fhirPath(syntax.JSONPointer)
		issue.Detail = "not well-formed JSON in UTF-8" + atByte(int(syntax.ByteOffset))
		issue.Diagnostic = cut(syntax.Err.Error())
	default:
		issue.Detail = "not well-formed JSON in UTF-8" + atByte(d.end)
	}
	d.add(issue)
}

func atByte(offset int) string { return " at byte " + strconv.Itoa(offset) }

// add keeps an issue. A fatal one ends the reading, and so does one too many.
func (d *decoder) add(issue fault.Issue) {
	if d.stopped {
		return
	}
	if len(d.issues) == maxIssues-1 && issue.Severity < fault.Fatal {
		issue.Severity = fault.Fatal
		issue.Detail += "; reading stopped after " + strconv.Itoa(maxIssues) + " problems"
	}
	d.issues = append(d.issues, issue)
	if issue.Severity == fault.Fatal {
		d.stopped, d.kind = true, 0
	}
}

// quote cuts a token of the input to what a diagnostic may hold.
func quote(token string) string {
	if len(token) <= maxQuote {
		return token
	}
	return cut(token) + "..."
}

// cut shortens a text to at most maxQuote bytes, at a whole character.
func cut(s string) string {
	if len(s) <= maxQuote {
		return s
	}
	end := maxQuote
	for end > 0 && !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end]
}
