package fhirjson_test

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"github.com/google/go-cmp/cmp"
)

// found is what a test expects of an issue.
type found struct {
	kind fault.Kind
	path string
}

// refused decodes a body that must be refused and returns what was found.
func refused(t *testing.T, body string, limits fhir.Limits) []fault.Issue {
	t.Helper()
	r, err := fhirjson.Decode([]byte(body), limits)
	refusal, ok := errors.AsType[*fault.Errors](err)
	if !ok {
		t.Fatalf("Decode error is %T (%v), want *fault.Errors", err, err)
	}
	if r != nil {
		t.Errorf("Decode returned a resource beside its error")
	}
	if len(refusal.Issues) == 0 {
		t.Fatal("Decode refused without an issue")
	}
	return refusal.Issues
}

func summary(issues []fault.Issue) []found {
	var all []found
	for _, i := range issues {
		all = append(all, found{i.Kind, i.Path})
	}
	return all
}

// observation is a valid Observation with more members.
func observation(members string) string {
	if members != "" {
		members = "," + members
	}
	return `{"resourceType":"Observation","status":"final","code":{"text":"strength"}` + members + `}`
}

// entry is a Bundle whose second entry holds a resource.
func entry(resource string) string {
	return `{"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"urn:uuid:1"},{"resource":` + resource + `}]}`
}

const (
	jsonRules = "FHIR R4, JSON representation"
	rfc       = "RFC 8259"
	elements  = "FHIR R4, StructureDefinition of the type"
	dataTypes = "FHIR R4, data types"
)

func TestDecodeRefusesSyntax(t *testing.T) {
	tests := []struct {
		name   string
		body   string
		want   found
		source string
	}{
		{"empty body", "", found{fault.Syntax, ""}, rfc},
		{"white space only", " \n", found{fault.Syntax, ""}, rfc},
		{"not JSON", "hello", found{fault.Syntax, ""}, rfc},
		{"XML", `<Bundle xmlns="http://hl7.org/fhir"/>`, found{fault.Syntax, ""}, rfc},
		{"byte order mark", "\ufeff" + observation(""), found{fault.Syntax, ""}, rfc + " section 8.1"},
		{"comment", `{"resourceType":"Patient",/* x */"id":"a"}`, found{fault.Syntax, "Patient"}, jsonRules},
		{"truncated", `{"resourceType":"Patient","meta":{"profile":["a"`, found{fault.Syntax, "Patient.meta.profile"}, rfc},
		{"trailing comma", `{"resourceType":"Patient","id":"a",}`, found{fault.Syntax, "Patient"}, rfc},
		{"no colon", `{"resourceType":"Patient","id"}`, found{fault.Syntax, "Patient.id"}, rfc},
		{"NaN", observation(`"valueQuantity":{"value":NaN}`), found{fault.Syntax, "Observation.valueQuantity.value"}, rfc},
		{"number with a leading zero", observation(`"valueQuantity":{"value":012}`), found{fault.Syntax, "Observation.valueQuantity"}, rfc},
		{"number with a plus", observation(`"valueQuantity":{"value":+1}`), found{fault.Syntax, "Observation.valueQuantity.value"}, rfc},
		{"number without digits after the point", observation(`"valueQuantity":{"value":1.}`), found{fault.Syntax, "Observation.valueQuantity.value"}, rfc},
		{"control character in a string", "{\"resourceType\":\"Patient\",\"id\":\"a\x01\"}", found{fault.Syntax, "Patient.id"}, rfc},
		{"invalid UTF-8 in a string", "{\"resourceType\":\"Patient\",\"id\":\"a\xff\"}", found{fault.Syntax, "Patient.id"}, rfc},
		{"invalid UTF-8 in a name", "{\"resourceType\":\"Patient\",\"i\xff\":\"a\"}", found{fault.Syntax, "Patient"}, rfc},
		{"lone surrogate", `{"resourceType":"Patient","id":"\ud800"}`, found{fault.Syntax, "Patient.id"}, "RFC 7493 section 2.1"},
		{"text after the resource", observation("") + "x", found{fault.Syntax, "Observation"}, rfc},
		{"second resource", observation("") + observation(""), found{fault.Syntax, "Observation"}, rfc},
		{"syntax within an element that is passed over", `{"resourceType":"Patient","photo":[{"title":tru}]}`, found{fault.Syntax, "Patient.photo[0].title"}, rfc},
		{"name twice", `{"resourceType":"Patient","id":"a","id":"b"}`, found{fault.DuplicateName, "Patient.id"}, jsonRules},
		{"name twice, once escaped", `{"resourceType":"Patient","id":"a","\u0069d":"b"}`, found{fault.DuplicateName, "Patient.id"}, jsonRules},
		{"name twice before the resourceType", `{"id":"a","id":"b","resourceType":"Patient"}`, found{fault.DuplicateName, "Patient.id"}, jsonRules},
		{"name twice in an entry", entry(observation(`"valueQuantity":{"value":1,"value":2}`)), found{fault.DuplicateName, "Bundle.entry[1].resource.valueQuantity.value"}, jsonRules},
		{"name twice within what is passed over", `{"resourceType":"Patient","name":[{"text":"a","text":"b"}]}`, found{fault.DuplicateName, "Patient.name[0].text"}, jsonRules},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			issues := refused(t, tt.body, fhir.Limits{})
			got := issues[len(issues)-1]
			if got.Severity != fault.Fatal {
				t.Errorf("severity %v, want fatal: reading ends", got.Severity)
			}
			if diff := cmp.Diff(tt.want, found{got.Kind, got.Path}, cmp.AllowUnexported(found{})); diff != "" {
				t.Errorf("(-want +got, %s)\n%s", tt.source, diff)
			}
		})
	}
}

func TestDecodeRefusesShape(t *testing.T) {
	tests := []struct {
		name   string
		body   string
		want   []found
		source string
	}{
		{"array instead of a resource", `[1]`, []found{{fault.Structure, ""}}, jsonRules},
		{"null instead of a resource", `null`, []found{{fault.Structure, ""}}, jsonRules},
		{"no resourceType", `{"id":"a"}`, []found{{fault.Structure, ""}}, jsonRules},
		{"resourceType is a number", `{"resourceType":1}`, []found{{fault.Structure, ""}}, jsonRules},
		{"resourceType in another case", `{"resourceType":"observation"}`, []found{{fault.Structure, ""}}, jsonRules},
		{"resourceType of no R4 resource", entry(`{"resourceType":"Measurement"}`), []found{{fault.Structure, "Bundle.entry[1].resource"}}, "FHIR R4, resource list"},
		{"entry without resourceType", entry(`{"id":"a"}`), []found{{fault.Structure, "Bundle.entry[1].resource"}}, jsonRules},
		{"contained of no R4 resource", observation(`"contained":[{"resourceType":"X"}]`), []found{{fault.Structure, "Observation.contained[0]"}}, "FHIR R4, resource list"},
		{"empty object", observation(`"bodySite":{}`), []found{{fault.Structure, "Observation.bodySite"}}, jsonRules},
		{"empty array", observation(`"category":[]`), []found{{fault.Structure, "Observation.category"}}, jsonRules},
		{"empty string", observation(`"valueString":""`), []found{{fault.Structure, "Observation.valueString"}}, jsonRules},
		{"empty object within what is passed over", `{"resourceType":"Patient","name":[{}]}`, []found{{fault.Structure, "Patient.name[0]"}}, jsonRules},
		{"empty string within what is passed over", `{"resourceType":"Patient","name":[{"text":""}]}`, []found{{fault.Structure, "Patient.name[0].text"}}, jsonRules},
		{"null", observation(`"bodySite":null`), []found{{fault.Structure, "Observation.bodySite"}}, jsonRules},
		{"null for a primitive", observation(`"issued":null`), []found{{fault.Structure, "Observation.issued"}}, jsonRules},
		{"null for what is passed over", `{"resourceType":"Patient","photo":null}`, []found{{fault.Structure, "Patient.photo"}}, jsonRules},
		{"null in an array of objects", observation(`"category":[null]`), []found{{fault.Structure, "Observation.category[0]"}}, jsonRules},
		{"array where single", observation(`"bodySite":[{"text":"a"}]`), []found{{fault.Structure, "Observation.bodySite"}}, elements},
		{"single where array", observation(`"category":{"text":"a"}`), []found{{fault.Structure, "Observation.category"}}, elements},
		{"number where string", observation(`"valueString":1`), []found{{fault.Structure, "Observation.valueString"}}, elements},
		{"string where number", observation(`"valueQuantity":{"value":"1.50"}`), []found{{fault.Structure, "Observation.valueQuantity.value"}}, elements},
		{"string where boolean", observation(`"valueBoolean":"true"`), []found{{fault.Structure, "Observation.valueBoolean"}}, elements},
		{"string where integer", observation(`"valueInteger":"1"`), []found{{fault.Structure, "Observation.valueInteger"}}, elements},
		{"string where object", observation(`"subject":"Patient/a"`), []found{{fault.Structure, "Observation.subject"}}, elements},
		{"object where string", observation(`"issued":{"a":1}`), []found{{fault.Structure, "Observation.issued"}}, elements},
		{"two values", observation(`"valueQuantity":{"value":1},"valueString":"a"`), []found{{fault.Structure, "Observation.valueString"}}, "FHIR R4, choice of data types"},
		{"two values, one of a type that is not read", observation(`"valueRange":{"low":{"value":1}},"valueString":"a"`), []found{{fault.Structure, "Observation.valueString"}}, "FHIR R4, choice of data types"},
		{"two times", observation(`"effectiveDateTime":"2026","effectivePeriod":{"start":"2026"}`), []found{{fault.Structure, "Observation.effectivePeriod"}}, "FHIR R4, choice of data types"},
		{"two values of an extension", observation(`"extension":[{"url":"urn:a","valueCode":"a","valueBoolean":true}]`), []found{{fault.Structure, "Observation.extension[0].valueBoolean"}}, "FHIR R4, choice of data types"},
		{"parameter with a value and a resource", `{"resourceType":"Parameters","parameter":[{"name":"a","valueString":"b","resource":{"resourceType":"Patient"}}]}`, []found{{fault.Structure, "Parameters.parameter[0]"}}, "FHIR R4, Parameters, inv-1"},
		{"extensions of a primitive are no object", observation(`"_status":"a"`), []found{{fault.Structure, "Observation._status"}}, jsonRules},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			checkFound(t, tt.body, tt.want, tt.source)
		})
	}
}

// checkFound expects exactly these errors, and reading to the end.
func checkFound(t *testing.T, body string, want []found, source string) {
	t.Helper()
	issues := refused(t, body, fhir.Limits{})
	if diff := cmp.Diff(want, summary(issues), cmp.AllowUnexported(found{})); diff != "" {
		t.Errorf("(-want +got, %s)\n%s", source, diff)
	}
	for _, i := range issues {
		if i.Severity != fault.Error {
			t.Errorf("%s: severity %v, want error: reading goes on", i.Path, i.Severity)
		}
		if i.Detail == "" {
			t.Errorf("%s: no detail", i.Path)
		}
	}
}

func TestDecodeRefusesUnknownElements(t *testing.T) {
	tests := []struct {
		name string
		body string
		want string
	}{
		{"resource", observation(`"colour":"red"`), "Observation.colour"},
		{"element of a later FHIR version", observation(`"bodyStructure":{"reference":"BodyStructure/a"}`), "Observation.bodyStructure"},
		{"another case", observation(`"Status":"final"`), "Observation.Status"},
		{"comments of DSTU2", observation(`"fhir_comments":["a"]`), "Observation.fhir_comments"},
		{"data type", observation(`"valueQuantity":{"value":1,"units":"N"}`), "Observation.valueQuantity.units"},
		{"backbone element", observation(`"component":[{"code":{"text":"a"},"bodySite":{"text":"b"}}]`), "Observation.component[0].bodySite"},
		{"type that the choice has not", observation(`"valueReference":{"reference":"Patient/a"}`), "Observation.valueReference"},
		{"type that no choice has", observation(`"extension":[{"url":"urn:a","valueForce":1}]`), "Observation.extension[0].valueForce"},
		{"choice without a type", observation(`"value":1`), "Observation.value"},
		{"extensions of what is no primitive", observation(`"_code":{"id":"a"}`), "Observation._code"},
		{"identifier where R4 has none", `{"resourceType":"Provenance","target":[{"reference":"a"}],"recorded":"2026-01-01T00:00:00Z","agent":[{"who":{"display":"a"}}],"identifier":[{"value":"a"}]}`, "Provenance.identifier"},
		{"text in a Bundle", `{"resourceType":"Bundle","type":"collection","text":{"status":"empty"}}`, "Bundle.text"},
		{"request", entryWith(`"request":{"method":"PUT","url":"a","body":"b"}`), "Bundle.entry[0].request.body"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			checkFound(t, tt.body, []found{{fault.UnknownElement, tt.want}}, elements)
		})
	}
}

func entryWith(members string) string {
	return `{"resourceType":"Bundle","type":"transaction","entry":[{` + members + `}]}`
}

func TestDecodeKeepsFreeTextOutOfPaths(t *testing.T) {
	for _, name := range []string{"John Smith, born 1970", "1970", "a-b", "é", strings.Repeat("x", 65)} {
		issues := refused(t, observation(`"`+name+`":{"a":1}`), fhir.Limits{})
		want := []found{{fault.UnknownElement, "Observation"}}
		if diff := cmp.Diff(want, summary(issues), cmp.AllowUnexported(found{})); diff != "" {
			t.Errorf("name %q (-want +got)\n%s", name, diff)
		}
		if !strings.Contains(issues[0].Diagnostic, name) {
			t.Errorf("diagnostic %q does not tell the name %q", issues[0].Diagnostic, name)
		}
	}
}

func TestDecodeRequires(t *testing.T) {
	tests := []struct {
		name string
		body string
		want []string
	}{
		{"Bundle", `{"resourceType":"Bundle","id":"a"}`, []string{"Bundle.type"}},
		{"entry.request", entryWith(`"request":{"ifNoneExist":"a"}`), []string{"Bundle.entry[0].request.method", "Bundle.entry[0].request.url"}},
		{"Parameters", `{"resourceType":"Parameters","parameter":[{"valueString":"a"}]}`, []string{"Parameters.parameter[0].name"}},
		{"Observation", entry(`{"resourceType":"Observation","id":"a"}`), []string{"Bundle.entry[1].resource.status", "Bundle.entry[1].resource.code"}},
		{"Observation with extensions for a status", `{"resourceType":"Observation","_status":{"id":"a"},"code":{"text":"a"}}`, []string{"Observation.status"}},
		{"Observation with a code that says nothing", `{"resourceType":"Observation","status":"final","code":{"coding":[{"userSelected":true}]}}`, []string{"Observation.code"}},
		{"component", observation(`"component":[{"valueString":"a"}]`), []string{"Observation.component[0].code"}},
		{"Condition", `{"resourceType":"Condition","id":"a"}`, []string{"Condition.subject"}},
		{"Procedure", `{"resourceType":"Procedure","id":"a"}`, []string{"Procedure.status", "Procedure.subject"}},
		{"Encounter", `{"resourceType":"Encounter","id":"a"}`, []string{"Encounter.status", "Encounter.class"}},
		{"Goal", `{"resourceType":"Goal","id":"a"}`, []string{"Goal.lifecycleStatus", "Goal.description", "Goal.subject"}},
		{"CarePlan", `{"resourceType":"CarePlan","activity":[{"detail":{"kind":"Task"}}]}`, []string{"CarePlan.activity[0].detail.status", "CarePlan.status", "CarePlan.intent", "CarePlan.subject"}},
		{"DiagnosticReport", `{"resourceType":"DiagnosticReport","id":"a"}`, []string{"DiagnosticReport.status", "DiagnosticReport.code"}},
		{"Provenance", `{"resourceType":"Provenance","agent":[{"type":{"text":"a"}}],"entity":[{"id":"a"}]}`, []string{"Provenance.agent[0].who", "Provenance.entity[0].role", "Provenance.entity[0].what", "Provenance.target", "Provenance.recorded"}},
		{"Device", `{"resourceType":"Device","deviceName":[{"id":"a"}],"version":[{"id":"a"}]}`, []string{"Device.deviceName[0].name", "Device.deviceName[0].type", "Device.version[0].value"}},
		{"OperationOutcome", `{"resourceType":"OperationOutcome","id":"a"}`, []string{"OperationOutcome.issue"}},
		{"OperationOutcome.issue", `{"resourceType":"OperationOutcome","issue":[{"diagnostics":"a"}]}`, []string{"OperationOutcome.issue[0].severity", "OperationOutcome.issue[0].code"}},
		{"DetectedIssue", `{"resourceType":"DetectedIssue","mitigation":[{"date":"2026"}]}`, []string{"DetectedIssue.mitigation[0].action", "DetectedIssue.status"}},
		{"QuestionnaireResponse", `{"resourceType":"QuestionnaireResponse","item":[{"text":"a","item":[{"id":"b"}]}]}`, []string{"QuestionnaireResponse.item[0].item[0].linkId", "QuestionnaireResponse.item[0].linkId", "QuestionnaireResponse.status"}},
		{"Narrative", observation(`"text":{"id":"a"}`), []string{"Observation.text.status", "Observation.text.div"}},
		{"Annotation", observation(`"note":[{"time":"2026"}]`), []string{"Observation.note[0].text"}},
		{"Extension", observation(`"extension":[{"valueString":"a"}]`), []string{"Observation.extension[0].url"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var want []found
			for _, path := range tt.want {
				want = append(want, found{fault.RequiredMissing, path})
			}
			checkFound(t, tt.body, want, elements)
		})
	}
}

func TestDecodeDoesNotMissWhatItRefused(t *testing.T) {
	tests := []struct {
		name string
		body string
		want []found
	}{
		{"the element itself", `{"resourceType":"Observation","status":1,"code":"a"}`, []found{{fault.Structure, "Observation.status"}, {fault.Structure, "Observation.code"}}},
		{"within the element", `{"resourceType":"Observation","status":"final","code":{"coding":"a"}}`, []found{{fault.Structure, "Observation.code.coding"}}},
		{"within its list", `{"resourceType":"Provenance","target":["a"],"recorded":"2026-01-01T00:00:00Z","agent":[{"who":{"display":"a"}}]}`, []found{{fault.Structure, "Provenance.target[0]"}}},
		{"a name that begins the same", `{"resourceType":"Observation","status":"final","codes":1}`, []found{{fault.UnknownElement, "Observation.codes"}, {fault.RequiredMissing, "Observation.code"}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			checkFound(t, tt.body, tt.want, "one issue for one problem")
		})
	}
}

func TestDecodeListsEveryProblem(t *testing.T) {
	body := `{"resourceType":"Parameters","parameter":[{"name":"asOf","valueDate":"2026-02-30"},{"name":"bundle","resource":` +
		`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + observation(`"colour":1,"issued":"today"`) + `},{"resource":{"resourceType":"Encounter","id":"a b"}}]}}]}`
	want := []found{
		{fault.BadValue, "Parameters.parameter[0].valueDate"},
		{fault.UnknownElement, "Parameters.parameter[1].resource.entry[0].resource.colour"},
		{fault.BadValue, "Parameters.parameter[1].resource.entry[0].resource.issued"},
		{fault.BadValue, "Parameters.parameter[1].resource.entry[1].resource.id"},
		{fault.RequiredMissing, "Parameters.parameter[1].resource.entry[1].resource.status"},
		{fault.RequiredMissing, "Parameters.parameter[1].resource.entry[1].resource.class"},
	}
	checkFound(t, body, want, "written by hand, in the order of the text")
}

func TestDecodeKeepsWhatItFoundBeforeAFatalFault(t *testing.T) {
	issues := refused(t, `{"resourceType":"Observation","colour":1,"status":"final","note":[}`, fhir.Limits{})
	want := []fault.Severity{fault.Error, fault.Fatal}
	var got []fault.Severity
	for _, i := range issues {
		got = append(got, i.Severity)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("severities (-want +got)\n%s", diff)
	}
	if last := issues[len(issues)-1]; !strings.Contains(last.Detail, " at byte ") {
		t.Errorf("detail %q does not tell the byte", last.Detail)
	}
}

func TestDecodeEndsAfterManyProblems(t *testing.T) {
	issues := refused(t, observation(manyMembers(1000)), fhir.Limits{})
	if len(issues) != 100 {
		t.Fatalf("%d issues, want 100", len(issues))
	}
	if last := issues[99]; last.Severity != fault.Fatal || !strings.Contains(last.Detail, "100 problems") {
		t.Errorf("last issue is %+v, want one that tells that reading stopped", last)
	}
}

func TestDecodeLimits(t *testing.T) {
	nested := observation(`"extension":` + strings.Repeat(`[{"url":"urn:a","extension":`, 30) + `[{"url":"urn:a","valueCode":"a"}]` + strings.Repeat(`}]`, 30))
	tests := []struct {
		name   string
		body   string
		limits fhir.Limits
		path   string
	}{
		{"body", observation(""), fhir.Limits{Bytes: 10}, ""},
		{"10 MB body", `{"resourceType":"Patient","id":"` + strings.Repeat("a", 10<<20) + `"}`, fhir.Limits{}, ""},
		{"depth", observation(`"subject":{"identifier":{"value":"a"}}`), fhir.Limits{Depth: 2}, "Observation.subject.identifier"},
		{"depth of what is passed over", `{"resourceType":"Patient","name":[{"period":{"start":"2026"}}]}`, fhir.Limits{Depth: 3}, "Patient.name[0].period"},
		{"nested extensions", nested, fhir.Limits{}, "Observation" + strings.Repeat(".extension[0]", 20)},
		{"nesting bomb of arrays", strings.Repeat("[", 1<<20), fhir.Limits{}, ""},
		{"nesting bomb of objects", observation(`"x":` + strings.Repeat(`{"x":`, 1<<20)), fhir.Limits{}, "Observation" + strings.Repeat(".x", 40)},
		{"members", observation(`"_status":{` + manyMembers(257) + `}`), fhir.Limits{}, "Observation._status.n256"},
		{"entries", entry(observation("")), fhir.Limits{Entries: 1}, "Bundle.entry[1]"},
		{"entries of nested Bundles", entry(entry(observation(""))), fhir.Limits{Entries: 3}, "Bundle.entry[1].resource.entry[1]"},
		{"elements of lists", observation(`"identifier":[{"value":"a"},{"value":"b"},{"value":"c"}]`), fhir.Limits{Lists: 2 * 32}, "Observation.identifier[2]"},
		{"elements of several lists", observation(`"identifier":[{"value":"a"}],"performer":[{"display":"a"},{"display":"b"}]`), fhir.Limits{Lists: 32 + 56}, "Observation.performer[1]"},
		{"texts of a list", `{"resourceType":"Patient","meta":{"profile":["urn:a","urn:b"]}}`, fhir.Limits{Lists: 16}, "Patient.meta.profile[1]"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			issues := refused(t, tt.body, tt.limits)
			got := issues[len(issues)-1]
			if got.Kind != fault.TooLong || got.Severity != fault.Fatal || got.Path != tt.path {
				t.Errorf("issue %v %v at %q, want too-long, fatal at %q", got.Kind, got.Severity, got.Path, tt.path)
			}
		})
	}
}

// manyMembers writes n members with different names.
func manyMembers(n int) string {
	members := make([]string, n)
	for i := range members {
		members[i] = fmt.Sprintf(`"n%d":1`, i)
	}
	return strings.Join(members, ",")
}

func TestDecodeTakesTheLimitsThemselves(t *testing.T) {
	body := entry(observation(`"_status":{` + manyMembers(256) + `}`))
	limits := fhir.Limits{Bytes: len(body), Depth: 5, Entries: 2}
	if _, err := fhirjson.Decode([]byte(body), limits); err != nil {
		t.Errorf("Decode(%d bytes, depth 5, 2 entries) = %v, want no error at %+v", len(body), err, limits)
	}
}

// A body of eight megabytes whose elements take two or three bytes each and hold nothing is refused, with the place, and takes
// a small multiple of its length: without a limit the components alone were a gigabyte.
func TestManyElementsTakeLittleMemory(t *testing.T) {
	for _, list := range []string{"category", "component", "contained"} {
		for _, element := range []string{"{}", "1"} {
			one := `{"resource":` + observation(`"`+list+`":[`+strings.Repeat(element+",", 20_000)+element+"]") + "},"
			body := []byte(`{"resourceType":"Bundle","type":"collection","entry":[` + strings.Repeat(one, (8<<20-100)/len(one)) + `{"resource":` + observation("") + "}]}")
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := fhirjson.DecodeInput(body, fhir.DefaultLimits)
			runtime.ReadMemStats(&after)
			refusal, ok := errors.AsType[*fault.Errors](err)
			if !ok || refusal.Kind() != fault.TooLong || !strings.Contains(err.Error(), "].resource."+list+"[") {
				t.Errorf("%s of %s: %.300v, want it refused as too long, with the place", list, element, err)
			}
			if allocated := after.TotalAlloc - before.TotalAlloc; allocated > 40*uint64(len(body)) {
				t.Errorf("%s of %s: %d bytes allocated for %d, want at most forty times as many in all", list, element, allocated, len(body))
			}
		}
	}
}
