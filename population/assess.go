package population

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"slices"

	"evenreach.example/internal/batch"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service"
)

// Results is what of the results for a record is written.
type Results uint8

// The kinds of results.
const (
	// NoResults leaves the summary of each patient and the rows.
	NoResults Results = iota
	// Resources are the resources of all patients by type, to be imported.
	Resources
	// Transactions are a transaction a patient, to be posted.
	Transactions
)

// limits are wider than those of a request of a stranger: a watch may send tens of
// thousands of heart rates, and they must not hide the shoulder. Ours.
var limits = fhir.Limits{Bytes: mostText + mostText/8, Entries: 200_000}

// mostText is how many bytes of one patient are held. Ours.
const mostText = 64 << 20

// Assessor assesses patients. It may be used by many goroutines.
type Assessor struct {
	Pipeline *service.Pipeline
	Identity Identity
	Results  Results
}

// Outcome is all that is said about one patient.
type Outcome struct {
	Patient  Patient
	Rows     []Row
	Rejected []Rejection
	Results  []Result
}

// Result is a resource, or a transaction, in JSON.
type Result struct {
	Type string
	JSON []byte
}

// Assess assesses one patient from the lines about them, which it sorts: what comes out
// does not depend on the order in which they came. The error is the context's.
func (a *Assessor) Assess(ctx context.Context, lines []Line) (*Outcome, error) {
	slices.SortFunc(lines, func(a, b Line) int {
		return cmp.Or(bytes.Compare(a.Text, b.Text), cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	c := &caseOf{assessor: a, lines: lines, name: a.Identity.Of(lines[0].Patient)}
	request, err := c.decode()
	if err == nil {
		c.answer, err = a.run(ctx, request)
	}
	refused, ok := errors.AsType[*fault.Errors](err)
	if err != nil && !ok {
		return nil, err
	}
	c.refused = refused
	return c.outcome(), nil
}

// run answers a request by the one pipeline. A panic costs only this answer.
func (a *Assessor) run(ctx context.Context, request service.Request) (answer *service.Answer, err error) {
	defer func() {
		if value := recover(); value != nil {
			answer, err = nil, batch.Defect(value)
		}
	}()
	request.Output = record.Check
	if a.Results != NoResults {
		request.Output = record.Transaction
	}
	return a.Pipeline.Run(ctx, request)
}

// caseOf is one patient in progress.
type caseOf struct {
	assessor *Assessor
	lines    []Line
	name     string

	entries []fhir.Entry // one for each line; nil if they could not be read together
	broken  map[int]fault.Issue
	answer  *service.Answer // nil if the patient was refused
	refused *fault.Errors
}

// decode reads the lines as one Bundle. A line that makes it unreadable as a whole, such
// as one with a name twice, is taken out, and what stands in its place says that
// something is missing.
func (c *caseOf) decode() (service.Request, error) {
	request, err := service.DecodeWithin(bundleOf(c.lines), limits)
	if err != nil && c.takeOut() {
		request, err = service.DecodeWithin(bundleOf(c.lines), limits)
	}
	if err != nil {
		return request, err
	}
	c.entries = request.Bundle.Entry
	return request, nil
}

// takeOut replaces the lines that cannot be read alone, and reports whether there are any.
func (c *caseOf) takeOut() bool {
	c.broken = map[int]fault.Issue{}
	for i := range c.lines {
		_, err := service.DecodeWithin(bundleOf(c.lines[i:i+1]), limits)
		if refused, ok := errors.AsType[*fault.Errors](err); ok && len(refused.Issues) > 0 {
			c.broken[i] = refused.Issues[len(refused.Issues)-1]
			c.lines[i].Text = []byte(missing)
		}
	}
	return len(c.broken) > 0
}

// bundleOf puts lines into a Bundle, each an entry.
func bundleOf(lines []Line) []byte {
	const begin, open, end = `{"resourceType":"Bundle","type":"collection","entry":[`, `{"resource":`, `}`
	size := len(begin) + len(`]}`)
	for i := range lines {
		size += len(lines[i].Text) + len(open) + len(end) + 1
	}
	b := append(make([]byte, 0, size), begin...)
	for i := range lines {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, open...), lines[i].Text...), end...)
	}
	return append(b, `]}`...)
}
