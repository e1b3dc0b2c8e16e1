package intake

import (
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
)

// pathBase is the start of a FHIRPath: a resource, or one component of an Observation. The
// path is only written out when an issue needs it.
type pathBase struct {
	entry     *entry
	component int // index, or noComponent
}

// noComponent is the component of a path that starts at the resource itself.
const noComponent = -1

// path is the FHIRPath of an element below the base, or of the base itself if element is
// empty.
func (p pathBase) path(element string) string {
	path := p.entry.path()
	if p.component != noComponent {
		path = indexed(path+".component", p.component)
	}
	if element == "" {
		return path
	}
	return path + "." + element
}

// warn reports something dropped or corrected. A found text is quoted in the
// answer only.
func (r *reader) warn(p pathBase, element string, kind fault.Kind, detail, found string) {
	r.issue(fault.Warning, p, element, kind, detail, found)
}

// note reports something noteworthy that changed nothing.
func (r *reader) note(p pathBase, element string, kind fault.Kind, detail, found string) {
	r.issue(fault.Information, p, element, kind, detail, found)
}

// maxIssues is how many issues of the input are listed: one for each entry that
// may be sent. A component that is not understood takes a dozen bytes, and its
// issue many times that.
//
// Source: ours.
const maxIssues = 20_000

func (r *reader) issue(severity fault.Severity, p pathBase, element string, kind fault.Kind, detail, found string) {
	if len(r.issues) >= maxIssues {
		r.unlisted++
		return
	}
	i := fault.Issue{Severity: severity, Kind: kind, Path: p.path(element), Detail: detail}
	if found != "" {
		i.Diagnostic = "found " + quote(found)
	}
	r.issues = append(r.issues, i)
}

// refuse reports why nothing can be computed.
func (r *reader) refuse(kind fault.Kind, path, detail string) {
	r.issues = append(r.issues, fault.Issue{Severity: fault.Error, Kind: kind, Path: path, Detail: detail})
}

// reportUnlisted says how many issues are not listed.
func (r *reader) reportUnlisted() {
	if r.unlisted == 0 {
		return
	}
	r.issues = append(r.issues, fault.Issue{
		Severity:   fault.Warning,
		Kind:       fault.TooLong,
		Path:       r.root,
		Detail:     "more issues than are listed; expected at most 20,000",
		Diagnostic: "found " + strconv.Itoa(r.unlisted) + " more",
	})
}

// maxQuote is how many bytes of the input a diagnostic quotes.
const maxQuote = 80

func quote(s string) string {
	if len(s) > maxQuote {
		s = strings.ToValidUTF8(s[:maxQuote], "") + "..." // without the rest of a letter that is cut
	}
	return strconv.Quote(s)
}

// skipType counts a resource of a type outside the scope.
func (r *reader) skipType(typeName string) {
	if r.skippedTypes == nil {
		r.skippedTypes = map[string]int{}
	}
	r.skippedTypes[typeName]++
}

// reportSkippedTypes adds one issue with the number of resources outside the scope. The
// types that the wire model does not know come from the input, so they are quoted in the
// answer only.
func (r *reader) reportSkippedTypes() {
	if len(r.skippedTypes) == 0 {
		return
	}
	var counts []string
	for typeName, n := range r.skippedTypes {
		counts = append(counts, typeName+" "+strconv.Itoa(n))
	}
	slices.Sort(counts)
	r.issues = append(r.issues, fault.Issue{
		Severity:   fault.Information,
		Kind:       fault.NotRead,
		Path:       r.root,
		Detail:     "resources outside the scope of the assessment were not read",
		Diagnostic: "found " + strings.Join(counts, ", "),
	})
}
