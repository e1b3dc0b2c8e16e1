// Package fault is the one vocabulary of what can be wrong with an input: a
// closed list of kinds, and issues that say where, what and what was expected.
// How a kind becomes a gRPC code or an HTTP status is the service's table.
package fault

import (
	"cmp"
	"slices"
	"strings"
)

// Severity says what became of the input.
type Severity uint8

const (
	// Information is noteworthy and changed nothing.
	Information Severity = iota
	// Warning means a part of the input was dropped, corrected or missing and
	// the rest was computed.
	Warning
	// Error means that nothing was computed. With the kind InputIncomplete it may
	// stand beside an answer, which then opens nothing.
	Error
	// Fatal means that reading stopped here, so there may be more to find.
	Fatal
)

// String is the FHIR code of the severity.
func (s Severity) String() string {
	return [...]string{"information", "warning", "error", "fatal"}[s]
}

// An Issue is one finding about an input.
type Issue struct {
	Severity Severity
	Kind     Kind
	// Path is the FHIRPath of the place, rooted at the resource that was sent,
	// such as Bundle.entry[3].resource.valueQuantity.code. Empty for the whole.
	Path string
	// Detail says what was found wrong and what was expected. It is written by
	// us, holds nothing of the input, and may be logged.
	Detail string
	// Diagnostic may quote the input. It goes into the answer and nowhere else.
	Diagnostic string
	// Subject is what of the record the issue is about, for a reader who sees no paths.
	Subject Subject
}

// An Errors is a refusal: every problem that was found, in the order of the
// input. Its text holds no input and may be logged.
type Errors struct {
	Issues []Issue
}

// New returns a refusal for the given issues, or nil if none of them is an
// Error or Fatal.
func New(issues []Issue) error {
	if !slices.ContainsFunc(issues, func(i Issue) bool { return i.Severity >= Error }) {
		return nil
	}
	return &Errors{Issues: issues}
}

// Refuse returns a refusal with a single issue.
func Refuse(kind Kind, path, detail string) *Errors {
	return &Errors{Issues: []Issue{{Severity: Error, Kind: kind, Path: path, Detail: detail}}}
}

// Error lists the issues without quoting the input.
func (e *Errors) Error() string {
	var b strings.Builder
	for i, issue := range e.Issues {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString(issue.Kind.String())
		if issue.Path != "" {
			b.WriteString(" at " + issue.Path)
		}
		if issue.Detail != "" {
			b.WriteString(": " + issue.Detail)
		}
	}
	return b.String()
}

// Kind is the kind that decides how the refusal is answered: of the most
// severe issues the one whose kind stands first in the list of kinds.
func (e *Errors) Kind() Kind {
	if len(e.Issues) == 0 {
		return Internal
	}
	worst := slices.MaxFunc(e.Issues, func(a, b Issue) int {
		return cmp.Or(cmp.Compare(a.Severity, b.Severity), cmp.Compare(b.Kind, a.Kind))
	})
	return worst.Kind
}

// Sort orders issues by the place in the input, reading numbers as numbers,
// then by kind and text, so that an answer does not depend on the order of
// the work.
func Sort(issues []Issue) {
	slices.SortStableFunc(issues, func(a, b Issue) int {
		return cmp.Or(
			comparePaths(a.Path, b.Path),
			cmp.Compare(a.Kind, b.Kind),
			cmp.Compare(a.Detail, b.Detail),
			cmp.Compare(a.Diagnostic, b.Diagnostic))
	})
}

// comparePaths compares two FHIRPaths, entry[2] before entry[10].
func comparePaths(a, b string) int {
	for a != "" && b != "" {
		if na, ra := leadingNumber(a); ra != a {
			if nb, rb := leadingNumber(b); rb != b {
				if na != nb {
					return cmp.Compare(na, nb)
				}
				a, b = ra, rb
				continue
			}
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

func leadingNumber(s string) (n uint64, rest string) {
	end := 0
	for end < len(s) && end < 18 && s[end] >= '0' && s[end] <= '9' {
		n = 10*n + uint64(s[end]-'0')
		end++
	}
	return n, s[end:]
}
