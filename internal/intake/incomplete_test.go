package intake

import (
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func outcomeWith(severity, code string, details *fhir.CodeableConcept) *fhir.OperationOutcome {
	return &fhir.OperationOutcome{Issue: []fhir.OutcomeIssue{{Severity: severity, Code: code, Details: details}}}
}

// What tells that some of the record is missing. Source: FHIR R4 4.0.1, Bundle.link,
// Bundle.total, Bundle.entry.search.mode, Bundle.entry.response and the value set
// issue-type.
func TestIncompleteInput(t *testing.T) {
	next := func(url string) fhir.Link { return fhir.Link{Relation: "next", URL: url} }
	self := func(url string) fhir.Link { return fhir.Link{Relation: "self", URL: url} }
	page := func(total uint32, resource fhir.Resource, links ...fhir.Link) *fhir.Bundle {
		return &fhir.Bundle{BundleType: "searchset", Total: total, Link: links, Entry: []fhir.Entry{{Resource: resource, Search: &fhir.Search{Mode: "match"}}}}
	}
	a, b := strengthOf("a"), strengthOf("b")
	inBatch := func(status string, resources ...fhir.Resource) *fhir.Bundle {
		of := &fhir.Bundle{BundleType: "batch-response", Entry: []fhir.Entry{{Response: &fhir.Response{Status: status}}}}
		for _, r := range resources {
			of.Entry = append(of.Entry, fhir.Entry{Resource: r, Response: &fhir.Response{Status: "200 OK"}})
		}
		return of
	}
	with := func(outcome *fhir.OperationOutcome) *fhir.Bundle {
		of := page(1, a)
		of.Entry = append(of.Entry, fhir.Entry{Resource: outcome, Search: &fhir.Search{Mode: "outcome"}})
		return of
	}
	ofType := func(kind string, b *fhir.Bundle) *fhir.Bundle {
		b.BundleType = kind
		return b
	}
	ours := &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemInputIssue, Code: "not-measured"}}}
	include := page(1, a)
	include.Entry = append(include.Entry, fhir.Entry{Resource: patientOf("p1"), Search: &fhir.Search{Mode: "include"}})

	tests := []struct {
		name   string
		bundle *fhir.Bundle
		at     string // of the issue; none if nothing is missing
	}{
		{"one page of one", page(1, a), ""},
		{"more found than the total says", page(0, a), ""},
		{"the patient is included, not found", include, ""},
		{"a next page that is not there", page(0, a, next("https://record.example/?page=2")), "Bundle.link"},
		{"a total of which one was found", page(250, a), "Bundle.total"},
		{"a next page that is there", inBatch("200", page(2, a, self("u:1"), next("u:2")), page(2, b, self("u:2"))), ""},
		{"two pages of three", inBatch("200", page(3, a, self("u:1"), next("u:2")), page(3, b, self("u:2"), next("u:3"))), "Bundle.entry[2].resource.link"},
		{"two pages that are less than the total", inBatch("200", page(3, a, self("u:1"), next("u:2")), page(3, b, self("u:2"))), "Bundle.entry[2].resource.total"},
		{"two pages without a total", inBatch("200", page(0, a, self("u:1"), next("u:2")), page(0, b, self("u:2"))), ""},
		{"two pages of which the first has the total", inBatch("200", page(2, a, self("u:1"), next("u:2")), page(0, b, self("u:2"))), ""},
		{"a history that is not whole", ofType("history", page(250, a)), "Bundle.total"},
		{"a total where it has no meaning", ofType("collection", page(250, a)), ""},
		{"pages in a circle", inBatch("200", page(2, a, self("u:1"), next("u:2")), page(2, b, self("u:2"), next("u:1"))), ""},
		{"a part that is forbidden", inBatch("403 Forbidden", a), "Bundle.entry[0].response.status"},
		{"a part that failed", inBatch("500", a), "Bundle.entry[0].response.status"},
		{"a part that was created", inBatch("201 Created", a), ""},
		{"a text that begins with a 4", inBatch("4711", a), ""},
		{"suppressed", with(outcomeWith("information", "suppressed", nil)), "Bundle.entry[1].resource.issue[0]"},
		{"incomplete", with(outcomeWith("warning", "incomplete", nil)), "Bundle.entry[1].resource.issue[0]"},
		{"an error of any kind", with(outcomeWith("error", "processing", nil)), "Bundle.entry[1].resource.issue[0]"},
		{"a remark", with(outcomeWith("information", "informational", nil)), ""},
		{"what an earlier answer of ours lacked", with(outcomeWith("warning", "incomplete", ours)), ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: tt.bundle, Involved: shoulder.Right})
			if r.Episode.Incomplete != (tt.at != "") {
				t.Errorf("Incomplete = %t", r.Episode.Incomplete)
			}
			found := ""
			for _, i := range r.Issues {
				if i.Kind == fault.InputIncomplete && i.Severity == fault.Error {
					found += i.Path
				}
			}
			if found != tt.at {
				t.Errorf("something is missing at %q, want %q", found, tt.at)
			}
		})
	}
}

// Where nothing can be assessed, what is missing may be the reason.
func TestRefusalTellsWhatIsMissing(t *testing.T) {
	b := &fhir.Bundle{BundleType: "searchset", Total: 3}
	if got := summary(refused(t, Input{Bundle: b, Involved: shoulder.Right}).Issues); got[0] != "error input-incomplete Bundle.total" {
		t.Errorf("issues %v, want what is missing first", got)
	}
}

// How many are missing is said only where it is known. Source: FHIR R4 4.0.1, Bundle.total, which may be left out.
func TestShortfallIsCounted(t *testing.T) {
	next := []fhir.Link{{Relation: "next", URL: "https://record.example/?page=2"}}
	for _, tt := range []struct {
		total uint32
		links []fhir.Link
		want  string
	}{
		{250, nil, "found 1 of 250"}, {250, next, "found 1 of 250"}, {0, next, ""}, {1, next, ""},
	} {
		r := readInput(t, Input{Bundle: &fhir.Bundle{BundleType: "searchset", Total: tt.total, Link: tt.links, Entry: []fhir.Entry{{Resource: strengthOf("a")}}}, Involved: shoulder.Right})
		if len(r.Issues) != 1 || r.Issues[0].Diagnostic != tt.want {
			t.Errorf("a total of %d, with %d links: issues %+v, want one with %q", tt.total, len(tt.links), r.Issues, tt.want)
		}
	}
}
