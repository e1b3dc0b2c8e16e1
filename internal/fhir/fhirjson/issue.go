package fhirjson

import (
	"errors"
	"io"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
	"github.com/go-json-experiment/json/jsontext"
)

// onlyCounts counts a problem that is not kept, because its entry has more than enough. To
// say where it is would take longer than to find it.
func (d *decoder) onlyCounts() bool {
	if !d.inEntry || d.stopped || len(d.issues) < d.entryFrom+fhir.MaxEntryIssues {
		return false
	}
	d.problems++
	return true
}

// misshaped reports the current value as JSON of another shape than FHIR's.
func (d *decoder) misshaped(detail string) {
	if d.onlyCounts() {
		return
	}
	d.add(fault.Issue{Severity: fault.Error, Kind: fault.Structure, Path: d.path(), Detail: detail})
}

// bad reports the current value, a primitive, as outside its FHIR domain.
func (d *decoder) bad(expected string) {
	if d.onlyCounts() {
		return
	}
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.BadValue,
		Path:       d.path(),
		Detail:     "found a value outside its domain; expected " + expected,
		Diagnostic: "found " + lexical.Quote(d.text[d.start:d.end]),
	})
}

// unknown reports the current member as none of the type's, and passes over it.
func (d *decoder) unknown(typeName string) {
	if d.onlyCounts() {
		d.skip()
		return
	}
	d.add(fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.UnknownElement,
		Path:       d.path(),
		Detail:     "FHIR R4 has no such element in " + typeName + versionHint(typeName, d.name),
		Diagnostic: "found the name " + lexical.Quote(strconv.Quote(d.name)),
	})
	d.skip()
}

// require reports an element of the object just read as missing, unless its
// own value was already reported.
func (d *decoder) require(present bool, name string) {
	if present || d.onlyCounts() {
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
		issue.Diagnostic = lexical.Cut(syntax.Err.Error())
	default:
		issue.Detail = "not well-formed JSON in UTF-8" + atByte(d.end)
	}
	d.add(issue)
}

func atByte(offset int) string { return " at byte " + strconv.Itoa(offset) }

// add keeps an issue. A fatal one ends the reading, and so does one too many, but for
// those of an entry that is dropped alone.
func (d *decoder) add(issue fault.Issue) {
	if d.stopped {
		return
	}
	d.problems++
	if d.inEntry && issue.Severity < fault.Fatal {
		if len(d.issues) < d.entryFrom+fhir.MaxEntryIssues {
			d.issues = append(d.issues, issue)
		}
		return
	}
	if len(d.issues) == fhir.MaxIssues-1 && issue.Severity < fault.Fatal {
		issue.Severity = fault.Fatal
		issue.Detail += "; reading stopped after " + strconv.Itoa(fhir.MaxIssues) + " problems"
	}
	d.issues = append(d.issues, issue)
	if issue.Severity == fault.Fatal {
		d.stopped, d.kind = true, 0
	}
}
