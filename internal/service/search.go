package service

import (
	"bufio"
	"fmt"
	"io"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/fault"
)

const (
	// usualPage and longestPage bound how many resources an answer to a search has;
	// the rest is behind its link "next". Ours: the largest resource has some 200 kB.
	usualPage   = 20
	longestPage = 50
	// maxSearch bounds the body of a search by POST, in bytes. Ours.
	maxSearch = 8 << 10
	// maxFound bounds what _count and _offset can say. Ours, beyond any number of
	// resources.
	maxFound = 1 << 20
)

// The parameters of a search that are no criteria. _offset is ours, for the link
// "next".
const (
	countParameter  = "_count"
	offsetParameter = "_offset"
)

// A definitionSearch is a search of the published resources of a type.
type definitionSearch struct {
	typeName string
	used     url.Values // what had an effect, for the link to this search
	criteria []fhirapi.Criterion
	count    int
	offset   int
	onlySum  bool // of the resources found
}

// searchByGet answers GET [base]/[type].
func (s *Server) searchByGet(w http.ResponseWriter, r *http.Request) {
	wanted, values, issues := negotiate(r)
	s.search(w, r, wanted, values, issues)
}

// searchByPost answers POST [base]/[type]/_search, whose parameters are in the body, in
// the address or in both.
func (s *Server) searchByPost(w http.ResponseWriter, r *http.Request) {
	wanted, values, issues := negotiate(r)
	if !isForm(r) {
		s.writeRefusal(w, r, fault.Refuse(fault.MediaTypeUnknown, "", "the format of Content-Type is not read; expected application/x-www-form-urlencoded for a search"))
		return
	}
	body, err := readBody(w, r, maxSearch, &s.bodies)
	if err != nil {
		s.writeRefusal(w, r, err)
		return
	}
	defer body.release()
	form, err := url.ParseQuery(string(body.bytes()))
	if err != nil {
		issues = append(issues, badQuery("the body is malformed; expected name=value, with what is special in it escaped by %", "")...)
	}
	if values == nil {
		values = url.Values{}
	}
	for name, more := range form {
		values[name] = append(values[name], more...)
	}
	s.search(w, r, wanted, values, issues)
}

// isForm reports whether the body of a request is a form. Nothing at all is one too.
func isForm(r *http.Request) bool {
	sent := r.Header.Get("Content-Type")
	if sent == "" && r.ContentLength == 0 {
		return true
	}
	mediaType, _, err := mime.ParseMediaType(sent)
	return err == nil && mediaType == "application/x-www-form-urlencoded"
}

// search answers a search with a Bundle of the type searchset.
func (s *Server) search(w http.ResponseWriter, r *http.Request, wanted format, values url.Values, issues []fault.Issue) {
	typeName, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, fhirBase+"/"), "/")
	q, problems := readSearch(typeName, values, isLenient(r))
	if err := fault.New(append(issues, problems...)); err != nil {
		s.writeRefusal(w, r, err)
		return
	}
	w.Header().Set("Content-Type", contentType(wanted.mediaType))
	// A caller that hung up needs no answer.
	_ = writeSearchset(w, wanted, s.base(r), q, s.libraryOf(r.Context()).Search(typeName, q.criteria))
}

// isLenient reports whether parameters that are not known are to be passed over.
//
// Source: FHIR R4 4.0.1, Search, handling errors.
func isLenient(r *http.Request) bool {
	return strings.Contains(strings.Join(r.Header.Values("Prefer"), ","), "handling=lenient")
}

// readSearch reads the parameters of a search.
func readSearch(typeName string, values url.Values, lenient bool) (q definitionSearch, issues []fault.Issue) {
	q = definitionSearch{typeName: typeName, used: url.Values{}, count: usualPage, onlySum: values.Get("_summary") == "count"}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		problem := q.parameter(name, values[name], lenient)
		if problem == nil {
			continue
		}
		issues = append(issues, problem...)
	}
	q.count = min(q.count, longestPage)
	return q, issues
}

// parameter reads one parameter. Each of its values is a criterion, of which the parts
// between commas are alternatives.
//
// Source: FHIR R4 4.0.1, Search: several values, and several parameters.
func (q *definitionSearch) parameter(name string, values []string, lenient bool) (issues []fault.Issue) {
	bare, modifier, modified := strings.Cut(name, ":")
	all := fhirapi.SearchParameters(q.typeName)
	i := slices.IndexFunc(all, func(p fhirapi.SearchParameter) bool { return p.Name == bare })
	switch {
	case name == countParameter:
		issues = number(name, values[0], &q.count)
	case name == offsetParameter:
		issues = number(name, values[0], &q.offset)
	case slices.Contains(everywhere, name):
	case i >= 0 && (!modified || slices.Contains(all[i].Modifiers(), modifier)):
		for _, value := range values {
			q.criteria = append(q.criteria, fhirapi.Criterion{Parameter: all[i], Modifier: modifier, Values: alternatives(value)})
		}
	case lenient:
		return nil
	default:
		return badQuery("found no search parameter of "+q.typeName+"; expected "+strings.Join(namesOf(all), ", ")+", _count or "+strings.Join(everywhere, ", "), name)
	}
	q.used[name] = values
	return issues
}

func namesOf(all []fhirapi.SearchParameter) (names []string) {
	for _, p := range all {
		names = append(names, p.Name)
	}
	return names
}

// number reads a parameter that is a whole number.
func number(name, text string, into *int) []fault.Issue {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		return badQuery(name+": expected a whole number of at least 0", text)
	}
	*into = min(n, maxFound)
	return nil
}

// alternatives are the parts of a value between commas that are not escaped.
//
// Source: FHIR R4 4.0.1, Search, escaping.
func alternatives(value string) (all []string) {
	var part strings.Builder
	for i := 0; i < len(value); i++ {
		switch {
		case value[i] == '\\' && i+1 < len(value):
			i++
			part.WriteByte(value[i])
		case value[i] == ',':
			all = append(all, part.String())
			part.Reset()
		default:
			part.WriteByte(value[i])
		}
	}
	return append(all, part.String())
}

// link is the address of this search from an offset on.
func (q *definitionSearch) link(base string, offset int) string {
	query := maps.Clone(q.used)
	query.Del(offsetParameter)
	if offset > 0 {
		query.Set(offsetParameter, strconv.Itoa(offset))
	}
	address := base + "/" + q.typeName
	if len(query) > 0 {
		address += "?" + query.Encode()
	}
	return address
}

// page are the resources of the page that is asked for.
func (q *definitionSearch) page(found []fhirapi.Resource) []fhirapi.Resource {
	if q.onlySum {
		return nil
	}
	from := min(q.offset, len(found))
	return found[from:min(from+q.count, len(found))]
}

// writeSearchset writes a page of what was found, resource by resource: whoever reads it
// slowly must not make the service hold all of it.
func writeSearchset(w io.Writer, wanted format, base string, q definitionSearch, found []fhirapi.Resource) error {
	page := q.page(found)
	buffer := bufio.NewWriterSize(w, 32<<10)
	// An error of a write is kept in the buffer.
	fmt.Fprintf(buffer, `{"resourceType":"Bundle","type":"searchset","total":%d,"link":[{"relation":"self","url":%s}`, len(found), quoted(q.link(base, q.offset)))
	if end := q.offset + len(page); len(page) > 0 && end < len(found) {
		fmt.Fprintf(buffer, `,{"relation":"next","url":%s}`, quoted(q.link(base, end)))
	}
	before, after := `],"entry":[`, "]}"
	for _, r := range page {
		fmt.Fprintf(buffer, `%s{"fullUrl":%s,"resource":`, before, quoted(base+"/"+r.Type+"/"+r.ID))
		_, _ = buffer.Write(wanted.layout(r.JSON))
		_, _ = buffer.WriteString(`,"search":{"mode":"match"}}`)
		before = ","
	}
	_, _ = buffer.WriteString(after)
	return buffer.Flush()
}

// quoted is a text as JSON.
func quoted(text string) []byte {
	quoted, err := jsontext.AppendQuote(nil, text)
	if err != nil {
		return []byte(`""`) // of what is no UTF-8 there is nothing to quote
	}
	return quoted
}
