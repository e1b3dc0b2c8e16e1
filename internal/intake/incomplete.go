package intake

import (
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// page is one Bundle of what a search or a history found.
type page struct {
	path       string
	self, next string // addresses of this page and the following one
	total      int    // of all pages, 0 if it is not stated
	found      int    // resources of this page that the search was for
}

// page notes what a Bundle says about how much there is. Only what is found counts
// for the total, not what is sent along with it.
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
	if p.total > 0 || p.next != "" {
		c.pages = append(c.pages, p)
	}
}

// missing says what the Bundles tell about what was not sent with them.
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
			c.fail(p.path+".total", "the total is more than the resources that were found; expected all pages", shortBy(found[i], total[i]))
		}
		if _, sent := here[p.next]; p.next != "" && !sent {
			c.fail(p.path+".link", "a link to a next page that was not sent; expected all pages", shortBy(found[i], total[i]))
		}
	}
	return c.failed
}

// lastPage follows the links from a page to the last one that was sent. Links that
// lead in a circle end somewhere on it.
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

// shortBy says how much is missing, as far as it is known.
func shortBy(found, total int) string {
	if total <= found {
		return ""
	}
	return "found " + strconv.Itoa(found) + " of " + strconv.Itoa(total)
}

func (c *collector) fail(path, detail, diagnostic string) {
	c.failed = append(c.failed, fault.Issue{
		Severity: fault.Error, Kind: fault.InputIncomplete, Path: path,
		Detail:     detail + "; nothing is opened by what is there",
		Diagnostic: diagnostic,
	})
}

// heed notes an entry that says that something was not returned: a part of a batch
// that failed, or an OperationOutcome.
func (c *collector) heed(b *fhir.Bundle, e *fhir.Entry, path string, i int) {
	at := func() string { return indexed(path+".entry", i) }
	if e.Response != nil && b.BundleType != "history" && isFailure(e.Response.Status) {
		c.fail(at()+".response.status", "a part of what was asked for failed; expected its answer", "found the status "+quote(e.Response.Status))
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
		if issue := &outcome.Issue[k]; tellsOfGap(issue) {
			c.fail(indexed(at()+".resource.issue", k), "the sender says that not everything was returned; expected the complete answer", "found the issue "+quote(issue.Code))
			return
		}
	}
}

// isFailure reports whether a status of HTTP, which may have a text behind it, is one
// of an error.
func isFailure(status string) bool {
	status = strings.TrimSpace(status)
	return len(status) >= 3 && (status[0] == '4' || status[0] == '5') && (len(status) == 3 || status[3] == ' ')
}

// gaps are the types of issue that say that something was left out.
//
// Source: FHIR R4 4.0.1, value set issue-type; the choice is ours.
var gaps = map[string]bool{
	"suppressed": true, "incomplete": true, "forbidden": true, "security": true, "login": true, "unknown": true, "expired": true,
	"too-costly": true, "too-long": true, "transient": true, "lock-error": true, "no-store": true, "exception": true,
	"timeout": true, "throttled": true,
}

// tellsOfGap reports whether an issue says that something may be missing. Those of
// our own earlier answers tell of their input, not of this one.
func tellsOfGap(i *fhir.OutcomeIssue) bool {
	if i.Details != nil {
		for _, c := range i.Details.Coding {
			if c.System == fhir.SystemInputIssue {
				return false
			}
		}
	}
	return i.Severity == "error" || i.Severity == "fatal" || gaps[i.Code]
}
