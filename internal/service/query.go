package service

import (
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// The parameters that every address may have. What _summary and _elements ask for is
// given whole, as a server may.
//
// Source: FHIR R4 4.0.1, RESTful API, general parameters; Search, summary: servers are
// not obliged to return just a summary.
var everywhere = []string{"_format", "_pretty", "_summary", "_elements"}

// summaries are the values of _summary.
//
// Source: FHIR R4 4.0.1, Search, summary.
var summaries = []string{"true", "text", "data", "count", "false"}

// queryOf reads the query of an address. It refuses what cannot be read, which would
// otherwise be passed over without a word.
func queryOf(r *http.Request) (url.Values, []fault.Issue) {
	if r.URL.RawQuery == "" {
		return nil, nil
	}
	values, err := url.ParseQuery(r.URL.RawQuery)
	if err != nil {
		return values, badQuery("the query of the address is malformed; expected name=value, with what is special in it escaped by %", "")
	}
	if summary := values.Get("_summary"); summary != "" && !slices.Contains(summaries, summary) {
		return values, badQuery("_summary: expected "+strings.Join(summaries, ", "), summary)
	}
	return values, nil
}

// badQuery is a problem with the query of an address.
func badQuery(detail, found string) []fault.Issue {
	issue := fault.Issue{Severity: fault.Error, Kind: fault.BadParameter, Detail: detail}
	if found != "" {
		issue.Diagnostic = fmt.Sprintf("found %.80q", found)
	}
	return []fault.Issue{issue}
}

// unknownNames refuses every parameter of a query that is not expected, which has no
// effect and may have been thought to have one.
func unknownNames(values url.Values, expected ...string) (issues []fault.Issue) {
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if !slices.Contains(everywhere, name) && !slices.Contains(expected, name) {
			issues = append(issues, badQuery("found a parameter in the address; expected one of "+strings.Join(append(slices.Clone(expected), everywhere...), ", "), name)...)
		}
	}
	return issues
}

// The parameters of the operation that may stand in the address if the body is a bare Bundle,
// each with the FHIR type that its text is read as.
var inAddress = map[string]func(text string) fhir.Value{
	"involvedSide": func(text string) fhir.Value { return fhir.Code(text) },
	"asOf":         func(text string) fhir.Value { return fhir.DateTime(text) },
	"output":       func(text string) fhir.Value { return fhir.Code(text) },
	"protocol":     func(text string) fhir.Value { return fhir.String(text) },
	"sheet":        func(text string) fhir.Value { return fhir.Code(text) },
	"language":     func(text string) fhir.Value { return fhir.Code(text) },
	"forceUnit":    func(text string) fhir.Value { return fhir.Code(text) },
	"documents": func(text string) fhir.Value {
		if text != "true" && text != "false" {
			return nil
		}
		return fhir.Boolean(text == "true")
	},
}

// addressNames are their names, in order.
var addressNames = slices.Sorted(maps.Keys(inAddress))

// addressParameters are the parameters of the operation in a query, by name.
func addressParameters(values url.Values) (all []fhir.Parameter) {
	for _, name := range addressNames {
		for _, text := range values[name] {
			all = append(all, fhir.Parameter{Name: name, Value: inAddress[name](text)})
		}
	}
	return all
}

type addressKey struct{}

// withAddress gives a context the operation's parameters that stand in the address.
func withAddress(ctx context.Context, parameters []fhir.Parameter) context.Context {
	if len(parameters) == 0 {
		return ctx
	}
	return context.WithValue(ctx, addressKey{}, parameters)
}

// addAddress adds the parameters that stand in the address to a request. If the body
// is Parameters they are refused: which of the two counts would be a guess.
func addAddress(ctx context.Context, q Request) Request {
	parameters, _ := ctx.Value(addressKey{}).([]fhir.Parameter)
	if len(parameters) == 0 {
		return q
	}
	if q.Root != "Bundle" {
		q.Problems = append(q.Problems, badQuery("found parameters of the operation in the address and Parameters in the body; expected all of them in Parameters", parameters[0].Name)...)
		return q
	}
	r := parameterReader{request: q, seen: map[string]bool{}}
	for i := range parameters {
		r.parameter("", &parameters[i])
	}
	for i := range r.request.Problems {
		r.request.Problems[i].Path = "" // an address has no FHIRPath
	}
	return r.request
}
