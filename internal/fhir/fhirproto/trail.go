package fhirproto

import (
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// A trail is the place where a conversion stands, and what it found wrong on
// the way. The place becomes a FHIRPath only when there is something to say,
// so that a faultless Bundle pays nothing for it.
type trail struct {
	steps  []step
	issues []fault.Issue
}

// step is one element of a path, and its index if the element may be repeated.
type step struct {
	name  string
	index int
}

// single is the index of an element that is not repeated.
const single = -1

// enter goes down to an element, and reports whether the conversion may read
// on below it.
func (t *trail) enter(name string, index int) bool {
	t.steps = append(t.steps, step{name, index})
	if len(t.steps) > fhir.DefaultLimits.Depth {
		t.report(fault.TooLong, "", "found deeper nesting than the limit; expected a shallower resource")
		return false
	}
	return true
}

// leave goes back up.
func (t *trail) leave() { t.steps = t.steps[:len(t.steps)-1] }

// report notes what is wrong with the element name below the current place, or
// with the place itself if name is empty.
func (t *trail) report(kind fault.Kind, name, detail string) { t.bad(kind, name, detail, "") }

// bad is report with a diagnostic, which may quote the input.
func (t *trail) bad(kind fault.Kind, name, detail, diagnostic string) {
	if !t.isFull() { // a path takes time to put together
		t.keep(fault.Issue{Severity: fault.Error, Kind: kind, Path: t.path(name), Detail: detail, Diagnostic: diagnostic})
	}
}

// isFull reports whether as many problems were noted as are listed.
func (t *trail) isFull() bool { return len(t.issues) == fhir.MaxIssues }

// keep notes issues, as far as there is room.
func (t *trail) keep(found ...fault.Issue) {
	for _, i := range found {
		if t.isFull() {
			return
		}
		if len(t.issues) == fhir.MaxIssues-1 {
			i.Detail += noMore
		}
		t.issues = append(t.issues, i)
	}
}

// noMore ends the detail of the last problem that is listed.
var noMore = "; no more than " + strconv.Itoa(fhir.MaxIssues) + " problems are listed"

// require reports an element below the current place as missing, unless it was
// reported already.
func (t *trail) require(present bool, name string) {
	if present || t.isFull() || t.reported(t.path(name)) {
		return
	}
	t.report(fault.RequiredMissing, name, "found no value; FHIR R4 requires one")
}

// reported reports whether an issue is about the path or something below it.
func (t *trail) reported(path string) bool {
	for _, issue := range t.issues {
		rest, found := strings.CutPrefix(issue.Path, path)
		if found && (rest == "" || rest[0] == '.' || rest[0] == '[') {
			return true
		}
	}
	return false
}

// path is the FHIRPath of the element name below the current place.
func (t *trail) path(name string) string {
	var b strings.Builder
	for i, s := range t.steps {
		if i > 0 {
			b.WriteByte('.')
		}
		b.WriteString(s.name)
		if s.index != single {
			b.WriteString("[" + strconv.Itoa(s.index) + "]")
		}
	}
	if name != "" {
		b.WriteString("." + name)
	}
	return b.String()
}
