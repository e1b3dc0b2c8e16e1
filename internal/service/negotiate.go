package service

import (
	"context"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// The media types that are read and written, the usual one first.
//
// Source: FHIR R4 4.0.1, RESTful API, content types and encodings; the generic
// types are to be answered with what was asked for.
const fhirJSON = "application/fhir+json"

var mediaTypes = []string{fhirJSON, "application/json", "text/json"}

// contentType is a media type with its charset.
func contentType(mediaType string) string { return mediaType + "; charset=utf-8" }

// format is how an answer is to be written.
type format struct {
	mediaType string
	pretty    bool
}

type formatKey struct{}

// formatFrom is the format that was negotiated; the usual one before that.
func formatFrom(ctx context.Context) format {
	if f, ok := ctx.Value(formatKey{}).(format); ok {
		return f
	}
	return format{mediaType: fhirJSON}
}

// layout indents an answer if that was asked for.
func (f format) layout(body []byte) []byte {
	if f.pretty {
		return fhirjson.Indent(body)
	}
	return body
}

// negotiate is the format of the answer to a request, or every problem with what its
// headers and its query ask for. Of the query it knows what every address may have; the
// rest it returns.
func negotiate(r *http.Request) (format, url.Values, []fault.Issue) {
	values, issues := queryOf(r)
	wanted := format{mediaType: acceptable(r, values), pretty: values.Get("_pretty") == "true"}
	if wanted.mediaType == "" {
		issues = append(issues, fault.Issue{
			Severity: fault.Error,
			Kind:     fault.MediaTypeUnwanted,
			Detail:   "the format asked for by Accept or _format is not written; expected FHIR R4 JSON in UTF-8: " + strings.Join(mediaTypes, ", "),
		})
	}
	return wanted, values, issues
}

// negotiateOperation also reads the parameters of the operation in the address.
func negotiateOperation(r *http.Request) (format, []fhir.Parameter, error) {
	wanted, values, err := negotiateNamed(r, addressNames...)
	return wanted, addressParameters(values), err
}

// negotiateNamed also refuses parameters in the address that are none of some names.
func negotiateNamed(r *http.Request, names ...string) (format, url.Values, error) {
	wanted, values, issues := negotiate(r)
	if sent := r.Header.Get("Content-Type"); !readsMediaType(sent) {
		issues = append(issues, mediaTypeUnknown(sent).Issues...)
	}
	issues = append(issues, unknownNames(values, names...)...)
	if err := fault.New(issues); err != nil {
		return format{}, nil, err
	}
	return wanted, values, nil
}

// readsMediaType reports whether a Content-Type is read. An absent one is
// taken for what the service reads.
func readsMediaType(value string) bool {
	if value == "" {
		return true
	}
	mediaType, params, err := mime.ParseMediaType(value)
	return err == nil && slices.Contains(mediaTypes, mediaType) && understands(params)
}

func mediaTypeUnknown(sent string) *fault.Errors {
	refusal := fault.Refuse(fault.MediaTypeUnknown, "", "the format of Content-Type is not read; expected FHIR R4 JSON in UTF-8: "+strings.Join(mediaTypes, ", ")+versionNamed(sent))
	refusal.Issues[0].Diagnostic = fmt.Sprintf("found %.80q", sent)
	return refusal
}

// understands reports whether the parameters of a media type name the charset
// and the version that are used. Clients also write the charset without its hyphen, as
// several programming languages do.
func understands(params map[string]string) bool {
	charset, version := params["charset"], params["fhirversion"]
	return (charset == "" || strings.EqualFold(charset, "utf-8") || strings.EqualFold(charset, "utf8")) &&
		(version == "" || slices.Contains(versions, version))
}

// versions are those of FHIR that are read and written: R4, and R4B, in which every type that is read or written here is
// as in R4.
//
// Source: FHIR R4B 4.3.0, which changed the types of medicinal products, evidence and subscriptions.
var versions = []string{"4.0", "4.0.1", "4.3", "4.3.0"}

// otherVersions are the names of versions that are neither, by the number before the point.
var otherVersions = map[string]string{"1": "DSTU2", "3": "STU3", "5": "R5", "6": "R6"}

// versionNamed says which version of FHIR a Content-Type names, if it is one that is not read.
func versionNamed(value string) string {
	_, params, _ := mime.ParseMediaType(value) // none of one that is malformed
	major, _, _ := strings.Cut(params["fhirversion"], ".")
	if name := otherVersions[major]; name != "" {
		return "; it says FHIR " + name
	}
	return ""
}

// acceptable is the media type to answer with, empty if none is wanted. The
// query parameter _format takes precedence over the header Accept.
func acceptable(r *http.Request, query url.Values) string {
	if wanted := query.Get("_format"); wanted != "" {
		return formatNamed(wanted)
	}
	accept := strings.Join(r.Header.Values("Accept"), ",")
	if strings.TrimSpace(accept) == "" {
		return fhirJSON
	}
	ranges := parseRanges(accept)
	best, bestQuality := "", 0.0
	for _, mediaType := range mediaTypes {
		if q := quality(ranges, mediaType); q > bestQuality {
			best, bestQuality = mediaType, q
		}
	}
	return best
}

// formatNamed reads _format. A "+" arrives as a space unless it was escaped.
func formatNamed(wanted string) string {
	if strings.EqualFold(wanted, "json") {
		return fhirJSON
	}
	mediaType, params, err := mime.ParseMediaType(strings.ReplaceAll(wanted, " ", "+"))
	if err != nil || !slices.Contains(mediaTypes, mediaType) || !understands(params) {
		return ""
	}
	return mediaType
}

// mediaRange is one element of Accept or Accept-Encoding.
type mediaRange struct {
	name    string
	quality float64
}

// parseRanges reads the elements of a header with their q values, leaving out
// what is malformed or asks for another charset or version.
func parseRanges(header string) (ranges []mediaRange) {
	for element := range strings.SplitSeq(header, ",") {
		name, params, err := mime.ParseMediaType(element)
		if err != nil || !understands(params) {
			continue
		}
		q := 1.0
		if text, stated := params["q"]; stated {
			if q, err = strconv.ParseFloat(text, 64); err != nil {
				continue
			}
		}
		ranges = append(ranges, mediaRange{name, q})
	}
	return ranges
}

// quality is how much a name is wanted: what the most specific range says of
// it, 0 if none does.
//
// Source: RFC 9110, section 12.5.1.
func quality(ranges []mediaRange, name string) float64 {
	major, _, _ := strings.Cut(name, "/")
	for _, pattern := range []string{name, major + "/*", "*/*", "*"} {
		for _, r := range ranges {
			if r.name == pattern {
				return r.quality
			}
		}
	}
	return 0
}
