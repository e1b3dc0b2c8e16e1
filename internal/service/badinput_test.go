package service

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
)

// badInput is what is sent, and what both doors say to it.
type badInput struct {
	name string
	body string

	status int
	code   codes.Code
	// The issue to be found, by severity, kind, FHIR issue type, and FHIRPath
	// in what was sent.
	severity, kind, issueType, path string
	// source says why this is the right answer.
	source string
}

const (
	r4Status  = "FHIR R4, RESTful API: 400 cannot be parsed or fails basic validation, 422 breaks business rules"
	r4JSON    = "FHIR R4, JSON representation"
	dropsOnly = "a bad Observation drops itself and the rest is assessed"
)

// added is the path of the first entry behind those of good.
const added = "Bundle.entry[4].resource"

func badInputs(t *testing.T) []badInput {
	refused := func(name, body string, status int, code codes.Code, severity, kind, issueType, path, source string) badInput {
		return badInput{name, body, status, code, severity, kind, issueType, path, source}
	}
	dropped := func(name string, bad object, kind, issueType, path string) badInput {
		return badInput{name, collection(t, good(bad)), 200, codes.OK, "warning", kind, issueType, path, dropsOnly}
	}
	sound := text(t, good())
	return []badInput{
		refused("empty body", "", 400, codes.InvalidArgument, "fatal", "syntax", "structure", "", r4Status),
		refused("not JSON", "<Bundle/>", 400, codes.InvalidArgument, "fatal", "syntax", "structure", "", r4Status),
		refused("behind the end", sound+"{}", 400, codes.InvalidArgument, "fatal", "syntax", "structure", "Bundle", r4JSON),
		refused("another resource", text(t, patient("p1")), 400, codes.InvalidArgument, "error", "wrong-resource", "invalid", "Patient", r4Status),
		refused("empty Bundle", `{"resourceType":"Bundle","type":"collection"}`, 422, codes.FailedPrecondition, "error", "nothing-to-assess", "required", "Bundle", r4Status),
		refused("two patients", text(t, good(patient("p2"))), 422, codes.FailedPrecondition, "error", "several-patients", "business-rule", added, "a Bundle with several patients is refused (422)"),
		refused("no involved side", text(t, bundle(patient("p1"), strength("o1", right, 80), strength("o2", left, 100))), 422, codes.FailedPrecondition, "error", "no-involved-side", "required", "Bundle", "the weaker side is never taken for the involved one"),
		refused("duplicate key", strings.Replace(sound, `"resourceType":"Bundle"`, `"resourceType":"Bundle","type":"batch"`, 1), 400, codes.InvalidArgument, "fatal", "duplicate-name", "structure", "Bundle.type", r4JSON),
		refused("nesting bomb", `{"resourceType":"Bundle","type":"collection","entry":`+strings.Repeat(`[`, 100_000), 413, codes.ResourceExhausted, "fatal", "too-long", "too-long", "", "too-long: a denial of service protection type of error"),
		refused("NaN", strings.Replace(sound, `"value":80`, `"value":NaN`, 1), 400, codes.InvalidArgument, "fatal", "syntax", "structure", "", "RFC 8259 has no NaN"),
		{"1e999999", strings.Replace(collection(t, good(strength("bad", right, 71))), `"value":71`, `"value":1e999999`, 1), 200, codes.OK, "warning", "bad-value", "value", added + ".valueQuantity.value", "outside any measurement"},

		dropped("no side", strength("bad", right, 70, noSide), "side-missing", "required", added),
		dropped("two sides", strength("bad", right, 70, put("bodySite", object{"coding": []any{object{"system": snomed, "code": right}, object{"system": snomed, "code": left}}})), "side-conflict", "business-rule", added+".bodySite"),
		dropped("kilograms", strength("bad", right, 7, put("valueQuantity", object{"value": 7, "unit": "kg", "system": ucum, "code": "kg"})), "unit-alias", "code-invalid", added+".valueQuantity.code"),
		dropped("unit of another kind", strength("bad", right, 7, put("valueQuantity", object{"value": 7, "unit": "s", "system": ucum, "code": "s"})), "unit-unknown", "code-invalid", added+".valueQuantity.code"),
		dropped("comparator", strength("bad", right, 70, put("valueQuantity", object{"value": 70, "comparator": "<", "unit": "N", "system": ucum, "code": "N"})), "comparator", "value", added+".valueQuantity.comparator"),
		dropped("entered in error", strength("bad", right, 70, put("status", "entered-in-error")), "status-retracted", "business-rule", added+".status"),
		dropped("future date", strength("bad", right, 70, put("effectiveDateTime", "2027-01-01T09:00:00Z")), "date-future", "business-rule", added+".effectiveDateTime"),
		{"newton metres against newtons", uneven(t, put("valueQuantity", object{"value": 30, "unit": "N.m", "system": ucum, "code": "N.m"})), 200, codes.OK, "warning", "not-comparable", "business-rule", "Bundle.entry[2].resource", "a force and a torque are not comparable"},
		{"make against break", uneven(t, put("component", []any{component("arm-position", "arm-at-side"), component("contraction-type", "break")})), 200, codes.OK, "warning", "not-comparable", "business-rule", "Bundle.entry[2].resource", "a break test reads much higher than a make test"},
		dropped("unknown modifierExtension", strength("bad", right, 70, put("modifierExtension", []any{object{"url": "https://record.example/negated", "valueBoolean": true}})), "modifier-unknown", "extension", added+".modifierExtension[0]"),
	}
}

// uneven is an input whose other side was measured in another way.
func uneven(t *testing.T, other change) string {
	return collection(t, bundle(patient("p1"), condition(), strength("o1", right, 80), strength("o2", left, 100, other)))
}

// collection asks for an answer that lists what was left out.
func collection(t *testing.T, bundle object) string {
	return text(t, parameters(object{"name": "bundle", "resource": bundle}, parameter("output", "valueCode", "collection")))
}

// inParameters is a path in the Bundle as it reads in Parameters.
func (b badInput) inParameters() string {
	if !strings.HasPrefix(b.body, `{"parameter"`) {
		return b.path
	}
	return strings.Replace(b.path, "Bundle", "Parameters.parameter[0].resource", 1)
}

func TestBadInputByHTTP(t *testing.T) {
	h := start(t)
	for _, tt := range badInputs(t) {
		t.Run(tt.name, func(t *testing.T) {
			w := h.do(request(tt.body))
			if w.Code != tt.status {
				t.Fatalf("status %d, want %d (%s): %.400s", w.Code, tt.status, tt.source, w.Body)
			}
			if got, want := w.Header().Get("Content-Type"), "application/fhir+json; charset=utf-8"; got != want {
				t.Errorf("Content-Type %q, want %q", got, want)
			}
			checkIssue(t, tt, outcomeOf(t, w.Body.Bytes()))
		})
	}
}

func checkIssue(t *testing.T, tt badInput, issues []issue) {
	t.Helper()
	found := slices.ContainsFunc(issues, func(i issue) bool {
		return i.Severity == tt.severity && i.kind() == tt.kind && i.Code == tt.issueType &&
			(tt.path == "" || len(i.Expression) == 1 && i.Expression[0] == tt.inParameters())
	})
	if !found {
		t.Errorf("no issue %s %s (%s) at %q (%s) in %+v", tt.severity, tt.kind, tt.issueType, tt.inParameters(), tt.source, issues)
	}
}

func TestBadInputByGRPC(t *testing.T) {
	client := start(t).dial()
	for _, tt := range badInputs(t) {
		t.Run(tt.name, func(t *testing.T) {
			answer, err := client.AssessJSON(context.Background(), &httpbody.HttpBody{Data: []byte(tt.body)})
			if got := status.Code(err); got != tt.code {
				t.Fatalf("code %v, want %v (%s): %v", got, tt.code, tt.source, err)
			}
			if err == nil {
				checkIssue(t, tt, outcomeOf(t, answer.GetData()))
				return
			}
			checkDetail(t, tt, err)
		})
	}
}

// checkDetail finds the issue in the OperationOutcome of a status.
func checkDetail(t *testing.T, tt badInput, err error) {
	t.Helper()
	outcome := detailOf(t, err)
	for _, i := range outcome.GetIssue() {
		if i.GetDetails().GetCoding()[0].GetCode().GetValue() != tt.kind {
			continue
		}
		if tt.path != "" && i.GetExpression()[0].GetValue() != tt.inParameters() {
			continue
		}
		return
	}
	t.Errorf("no issue %s at %q among the details of %v", tt.kind, tt.inParameters(), err)
}

// detailOf is the one OperationOutcome among the details of a status.
func detailOf(t *testing.T, err error) *oopb.OperationOutcome {
	t.Helper()
	details := status.Convert(err).Details()
	if len(details) != 1 {
		t.Fatalf("%d details of %v, want one", len(details), err)
	}
	outcome, ok := details[0].(*oopb.OperationOutcome)
	if !ok {
		t.Fatalf("the detail is a %T, want an OperationOutcome", details[0])
	}
	return outcome
}

func TestTenMegabytesByGRPC(t *testing.T) {
	client := start(t).dial()
	_, err := client.AssessJSON(context.Background(), &httpbody.HttpBody{Data: make([]byte, 10<<20)})
	if status.Code(err) != codes.ResourceExhausted {
		t.Errorf("code %v, want ResourceExhausted: %v", status.Code(err), err)
	}
}

// What HTTP alone can get wrong.
func TestBadHTTP(t *testing.T) {
	h := start(t)
	body := text(t, good())
	tests := []struct {
		name    string
		request *http.Request
		status  int
		kind    string
		source  string
	}{
		{"XML body", request("<Bundle/>", "Content-Type", "application/fhir+xml"), 415, "media-type-unknown", "FHIR R4, content types"},
		{"form", request("a=b", "Content-Type", "application/x-www-form-urlencoded"), 415, "media-type-unknown", "FHIR R4, content types"},
		{"Latin-1", request(body, "Content-Type", "application/fhir+json; charset=iso-8859-1"), 415, "media-type-unknown", "FHIR R4: UTF-8 shall be used"},
		{"FHIR R5", request(body, "Content-Type", "application/fhir+json; fhirVersion=5.0"), 415, "media-type-unknown", "FHIR R4, fhirVersion parameter"},
		{"brotli", request(body, "Content-Encoding", "br"), 415, "media-type-unknown", "RFC 9110, 15.5.16"},
		{"not the gzip it says", request(body, "Content-Encoding", "gzip"), 400, "syntax", r4Status},
		{"Accept XML", request(body, "Accept", "application/fhir+xml"), 406, "media-type-unwanted", "FHIR R4, content types"},
		{"Accept with JSON refused", request(body, "Accept", "*/*;q=0, application/json;q=0"), 406, "media-type-unwanted", "RFC 9110, 12.4.2"},
		{"_format XML", withQuery(request(body), "_format=xml"), 406, "media-type-unwanted", "FHIR R4, _format"},
		{"parameter that nothing has", withQuery(request(body), "side=left"), 400, "bad-parameter", "passed over it would change the answer"},
		{"parameter of the operation that needs a body", withQuery(request(body), "bundle=1"), 400, "bad-parameter", "OperationDefinition: a resource"},
		{"malformed query", withQuery(request(body), "output=%zz"), 400, "bad-parameter", "RFC 3986, 2.1: passed over it would change the answer"},
		{"_summary that is none", withQuery(request(body), "_summary=short"), 400, "bad-parameter", "FHIR R4, summary"},
		{"unknown output in the address", withQuery(request(body), "output=short"), 400, "bad-parameter", "OperationDefinition"},
		{"output twice in the address", withQuery(request(body), "output=check&output=check"), 400, "bad-parameter", "OperationDefinition: at most once"},
		{"documents that is no boolean", withQuery(request(body), "documents=yes"), 400, "bad-parameter", "FHIR R4, boolean"},
		{"address and Parameters", withQuery(request(text(t, parameters(object{"name": "bundle", "resource": good()}))), "output=check"), 400, "bad-parameter", "which of the two counts would be a guess"},
		{"10 MB body", request(`"` + strings.Repeat("x", 10<<20) + `"`), 413, "too-long", "FHIR R4, issue type too-long"},
		{"10 MB body of unknown length", unknownLength(request(`"` + strings.Repeat("x", 10<<20) + `"`)), 413, "too-long", "FHIR R4, issue type too-long"},
		{"gzip bomb", request(gzipped(t, strings.Repeat(" ", 64<<20)), "Content-Encoding", "gzip"), 413, "too-long", "the limit holds for the inflated body"},
		{"GET on the operation", method(http.MethodGet, operationPath), 405, "wrong-method", "a Resource input: POST only"},
		{"PUT on the operation", method(http.MethodPut, operationPath), 405, "wrong-method", "a Resource input: POST only"},
		{"another address", method(http.MethodPost, "/fhir/$assess-knee"), 404, "unknown-path", "FHIR R4, RESTful API"},
		{"the root", method(http.MethodGet, "/"), 404, "unknown-path", "FHIR R4, RESTful API"},
		{"bad deadline", request(body, "Grpc-Timeout", "soon"), 400, "bad-parameter", "the gateway reads this header"},
		{"deadline passed", request(body, "Grpc-Timeout", "1n"), 504, "timeout", "RFC 9110, 15.6.5"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := h.do(tt.request)
			if w.Code != tt.status {
				t.Fatalf("status %d, want %d (%s): %.400s", w.Code, tt.status, tt.source, w.Body)
			}
			issues := outcomeOf(t, w.Body.Bytes())
			if len(issues) != 1 || issues[0].kind() != tt.kind {
				t.Errorf("issues %+v, want one of kind %s", issues, tt.kind)
			}
			for _, i := range issues {
				if i.Diagnostics == "" || !strings.Contains(i.Diagnostics, i.Details.Text) {
					t.Errorf("diagnostics %q, want all that there is to say", i.Diagnostics)
				}
			}
			if allow := w.Header().Get("Allow"); (allow == "POST, OPTIONS") != (tt.status == 405) {
				t.Errorf("Allow: %q beside status %d", allow, tt.status)
			}
		})
	}
}
