package intake

import (
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// page is one Bundle of the results of a search or a history.
type page struct {
	path       string
	self, next string // addresses of this page and the following one
	total      int    // of all pages, 0 if it is not stated
	found      int    // resources of this page that the search was for
}

// page records what a Bundle says about the size of the whole result. The total counts
// only the entries that match, not those that are included besides.
//
// Source: FHIR R4 4.0.1, Bundle.total, Bundle.link and Bundle.entry.search.mode.
func (c *collector) page(b *fhir.Bundle, path string) {
	p := page{path: path}
	for _, l := range b.Link {
		switch l.Relation {
		case "self":
			p.self = l.URL
		case "next":
			p.next = l.URL
		}
	}
	if b.BundleType == "searchset" || b.BundleType == "history" {
		p.total = int(b.Total)
	}
	for i := range b.Entry {
		if e := &b.Entry[i]; e.Search == nil || e.Search.Mode == "match" {
			p.found++
		}
	}
	c.pages = append(c.pages, p)
}

// missing lists what the Bundles report as not sent with them.
func (c *collector) missing() []fault.Issue {
	here := map[string]int{} // pages by their address
	for i, p := range c.pages {
		if p.self != "" {
			here[p.self] = i
		}
	}
	found, total := make([]int, len(c.pages)), make([]int, len(c.pages))
	for i := range c.pages {
		last := c.lastPage(i, here)
		found[last] += c.pages[i].found
		total[last] = max(total[last], c.pages[i].total)
	}
	for i, p := range c.pages {
		if p.next == "" && total[i] > found[i] {
			c.addFailure(p.path+".total", "the total is more than the resources that were found; expected all pages", describeShortfall(found[i], total[i]))
		}
		if _, sent := here[p.next]; p.next != "" && !sent {
			c.addFailure(p.path+".link", "a link to a next page that was not sent; expected all pages", describeShortfall(found[i], total[i]))
		}
	}
	return c.failed
}

// lastPage follows the links from a page to the last one that was sent. It ends also if
// the links form a circle.
func (c *collector) lastPage(i int, here map[string]int) int {
	for range c.pages {
		next, sent := here[c.pages[i].next]
		if !sent {
			break
		}
		i = next
	}
	return i
}

// describeShortfall is a text on how many entries are missing, as far as that is known.
func describeShortfall(found, total int) string {
	if total <= found {
		return ""
	}
	return "found " + strconv.Itoa(found) + " of " + strconv.Itoa(total)
}

func (c *collector) addFailure(path, detail, diagnostic string) {
	c.failed = append(c.failed, fault.Issue{
		Severity: fault.Error, Kind: fault.InputIncomplete, Path: path,
		Detail:     detail + "; nothing is opened by what is there",
		Diagnostic: diagnostic,
	})
}

// noteFailure records an entry that reports that something was not returned: a failed part
// of a batch, or an OperationOutcome.
func (c *collector) noteFailure(b *fhir.Bundle, e *fhir.Entry, path string, i int) {
	at := func() string { return indexed(path+".entry", i) }
	if e.Response != nil && b.BundleType != "history" && isFailure(e.Response.Status) {
		c.addFailure(at()+".response.status", "a part of what was asked for failed; expected its answer", "found the status "+quote(e.Response.Status))
	}
	resource := e.Resource
	if malformed, ok := resource.(*fhir.Malformed); ok {
		resource = malformed.Read
	}
	outcome, ok := resource.(*fhir.OperationOutcome)
	if !ok {
		return
	}
	for k := range outcome.Issue {
		if issue := &outcome.Issue[k]; isGapIssue(issue) {
			c.addFailure(indexed(at()+".resource.issue", k), "the sender says that not everything was returned; expected the complete answer", "found the issue "+quote(issue.Code))
			return
		}
	}
}

// isFailure reports whether an HTTP status, which may be followed by a text, is that of an
// error.
func isFailure(status string) bool {
	status = strings.TrimSpace(status)
	return len(status) >= 3 && (status[0] == '4' || status[0] == '5') && (len(status) == 3 || status[3] == ' ')
}

// gapIssueTypes are the types of issue that report that something was left out.
//
// Source: FHIR R4 4.0.1, value set issue-type; the choice is ours.
var gapIssueTypes = map[string]bool{
	"suppressed": true, "incomplete": true, "forbidden": true, "security": true, "login": true, "unknown": true, "expired": true,
	"too-costly": true, "too-long": true, "transient": true, "lock-error": true, "no-store": true, "exception": true,
	"timeout": true, "throttled": true,
}

// isGapIssue reports whether an issue says that something may be missing. Those of earlier
// answers of this service are about the input of that answer, not about this one.
func isGapIssue(i *fhir.OutcomeIssue) bool {
	if i.Details != nil {
		for _, c := range i.Details.Coding {
			if c.System == fhir.SystemInputIssue {
				return false
			}
		}
	}
	return i.Severity == "error" || i.Severity == "fatal" || gapIssueTypes[i.Code]
}
