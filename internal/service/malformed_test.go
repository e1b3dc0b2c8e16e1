package service

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/batch"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/record"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	obpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

// malformedEntry is an entry that is not FHIR R4, and the place of its problem below the
// entry. Missed tells whether it may have been a measurement of the shoulder.
type malformedEntry struct {
	name, entry, place, kind string
	missed                   bool
}

const (
	vital     = `"code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]},"subject":{"reference":"Patient/p1"}`
	ofPatient = `"subject":{"reference":"Patient/p1"}`
	strong    = `"code":{"coding":[{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":"isometric-external-rotation-strength"}]},"subject":{"reference":"Patient/p1"}`
)

// The corpus. Source of the places and kinds: FHIR R4 4.0.1, the definitions of the
// elements and JSON representation.
func malformedEntries() []malformedEntry {
	of := func(resource string) string { return `{"resource":` + resource + `}` }
	observation := func(members string) string { return of(`{"resourceType":"Observation",` + members + `}`) }
	return []malformedEntry{
		{"no status", observation(vital), ".resource.status", "required-missing", false},
		{"no status, of a strength", observation(strong), ".resource.status", "required-missing", true},
		{"no status, of an old strength", observation(`"effectiveDateTime":"2020-01-01",` + strong), ".resource.status", "required-missing", false},
		{"no code", observation(`"status":"final",` + ofPatient), ".resource.code", "required-missing", true},
		{"dateTime without zone", observation(`"status":"final","effectiveDateTime":"2026-11-20T10:00:00",` + vital), ".resource.effectiveDateTime", "bad-value", false},
		{"an array for a resource", of(`[]`), ".resource", "structure", true},
		{"a text for a resource", of(`"Observation"`), ".resource", "structure", true},
		{"an array for an entry", `[]`, "", "structure", true},
		{"a number for an entry", `7`, "", "structure", true},
		{"null for an entry", `null`, "", "structure", true},
		{"an empty entry", `{}`, "", "structure", true},
		{"an empty array", observation(`"status":"final","component":[],` + vital), ".resource.component", "structure", false},
		{"an empty text", observation(`"status":"",` + vital), ".resource.status", "structure", false},
		{"null for an element", observation(`"status":"final","bodySite":null,` + vital), ".resource.bodySite", "structure", false},
		{"id with underscore", observation(`"id":"a_b","status":"final",` + vital), ".resource.id", "bad-value", false},
		{"number as text", observation(`"status":"final","valueQuantity":{"value":"72"},` + vital), ".resource.valueQuantity.value", "structure", false},
		{"text as number", observation(`"status":1,` + vital), ".resource.status", "structure", false},
		{"a vendor's property", observation(`"status":"final","vendorFlag":true,` + vital), ".resource.vendorFlag", "unknown-element", false},
		{"an element of STU3", observation(`"status":"final","comment":"fine",` + vital), ".resource.comment", "unknown-element", false},
		{"an element of R5", observation(`"status":"final","instantiatesCanonical":"https://a.example/o",` + vital), ".resource.instantiatesCanonical", "unknown-element", false},
		{"two values", observation(`"status":"final","valueString":"a","valueInteger":1,` + vital), ".resource.valueInteger", "structure", false},
		{"an Encounter without class", of(`{"resourceType":"Encounter","status":"finished",` + ofPatient + `}`), ".resource.class", "required-missing", false},
		{"a type of R5", of(`{"resourceType":"Transport","status":"completed"}`), ".resource", "structure", false},
		{"no type", of(`{"status":"final"}`), ".resource", "structure", true},
		{"no type, of this patient", of(`{"status":"final",` + ofPatient + `}`), ".resource", "structure", true},
		{"no type, of another patient", of(`{"status":"final","subject":{"reference":"Patient/p2"}}`), ".resource", "structure", false},
		{"no type, of a device", of(`{"patient":{"reference":"Device/d1"}}`), ".resource", "structure", false},
		{"no type, of a text", of(`{"subject":"Patient/p2"}`), ".resource", "structure", true},
		{"a number for a type", of(`{"resourceType":7,"subject":{"reference":"Patient/p1"}}`), ".resource", "structure", true},
		{"a type in small letters", of(`{"resourceType":"observation"}`), ".resource", "structure", true},
		{"a type of STU3", of(`{"resourceType":"ReferralRequest","status":"active",` + ofPatient + `}`), ".resource", "structure", false},
		{"no resource, request or response", `{"fullUrl":"urn:uuid:6ba7b810-9dad-41d1-80b4-00c04fd430c8"}`, ".resource", "required-missing", true},
		{"a repair without its subject", of(`{"resourceType":"Procedure","status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"56060000"}]}}`), ".resource.subject", "required-missing", true},
		{"a Procedure of unknown kind", of(`{"resourceType":"Procedure","status":3,` + ofPatient + `}`), ".resource.status", "structure", true},
		{"a fullUrl that is a number", `{"fullUrl":1,"resource":{"resourceType":"Basic","id":"b"}}`, ".fullUrl", "structure", false},
		{"a vendor's property beside the resource", `{"vendor":1,"resource":{"resourceType":"Basic","id":"b"}}`, ".vendor", "unknown-element", false},
		{"many problems", of(`{"resourceType":"Basic","a1":[` + strings.Repeat(`{"b":[]},`, 500) + `1]}`), ".resource.a1[0].b", "structure", false},
		{"a nested Bundle of nothing", of(`{"resourceType":"Bundle","entry":[]}`), ".resource.entry", "structure", false},
		{"a nested Bundle without type, of a strength", of(`{"resourceType":"Bundle","entry":[` + observation(`"status":"final",`+strong) + `]}`), ".resource.type", "required-missing", true},
		{"a nested Bundle without type, of a pulse", of(`{"resourceType":"Bundle","entry":[` + observation(`"status":"final",`+vital) + `]}`), ".resource.type", "required-missing", false},
		{"a nested Bundle without type, of no type", of(`{"resourceType":"Bundle","entry":[{"resource":{}}]}`), ".resource.type", "required-missing", true},
		{"a nested Bundle without type, of a deletion", of(`{"resourceType":"Bundle","entry":[{"request":{"method":"DELETE","url":"Observation/o9"}}]}`), ".resource.type", "required-missing", false},
		{"answers without a status", of(`{"resourceType":"QuestionnaireResponse",` + ofPatient + `}`), ".resource.status", "required-missing", true},
		{"answers without a time", of(`{"resourceType":"QuestionnaireResponse","questionnaire":"` + questionnaireURL + `","status":"completed",` + ofPatient + `}`), ".resource.authored", "date-missing", true},
		{"answers of an old day", of(`{"resourceType":"QuestionnaireResponse","authored":"2020-01-01",` + ofPatient + `}`), ".resource.status", "required-missing", false},
		{"answers to others' questions", of(`{"resourceType":"QuestionnaireResponse","questionnaire":"https://other.example/q",` + ofPatient + `}`), ".resource.status", "required-missing", false},
		{"answers of another patient", of(`{"resourceType":"QuestionnaireResponse","subject":{"reference":"Patient/p2"}}`), ".resource.status", "required-missing", false},
	}
}

// withEntry puts an entry behind those of good, and asks for an answer that lists what
// was left out.
func withEntry(t *testing.T, entry string) string {
	const end = `],"resourceType":"Bundle"`
	body := collection(t, good())
	if strings.Count(body, end) != 1 {
		t.Fatalf("the end of the entries is not found in %s", body)
	}
	return strings.Replace(body, end, ","+entry+end, 1)
}

// Each malformed entry drops exactly itself, with its path, by each door alike.
func TestMalformedEntryDropsItself(t *testing.T) {
	h := start(t)
	client := h.dial()
	sound := answeredBy(t, collection(t, good()))
	for _, tt := range malformedEntries() {
		t.Run(tt.name, func(t *testing.T) {
			body := withEntry(t, tt.entry)
			got := answeredBy(t, body)
			if got.Used != sound.Used {
				t.Errorf("%d measurements used, want the %d of the others", got.Used, sound.Used)
			}
			checkDropped(t, tt, got.Issues, len(sound.Issues))
			if got.Assessment.Episode.Incomplete != tt.missed {
				t.Errorf("counts as missing: %t, want %t", !tt.missed, tt.missed)
			}
			want := record.Outcome(got.Issues)
			rest := h.do(request(body))
			if rest.Code != 200 || placesOf(outcomeOf(t, rest.Body.Bytes())) != len(want.Issue) {
				t.Errorf("by REST: status %d, %.300s", rest.Code, rest.Body)
			}
			byRPC, err := client.AssessJSON(context.Background(), &httpbody.HttpBody{Data: []byte(body)})
			if err != nil || !bytes.Equal(byRPC.GetData(), rest.Body.Bytes()) {
				t.Errorf("by gRPC: %v, or another answer than by REST", err)
			}
			if line := inBatch(t, body); !bytes.Equal(bytes.TrimSpace(line), rest.Body.Bytes()) {
				t.Error("in a batch: another answer than by REST")
			}
		})
	}
}

// placesOf is of how many places issues tell, each without one as of one.
func placesOf(issues []issue) (n int) {
	for _, i := range issues {
		n += max(1, len(i.Expression))
	}
	return n
}

func answeredBy(t *testing.T, body string) *Answer {
	t.Helper()
	q, err := Decode([]byte(body))
	if err != nil {
		t.Fatalf("Decode: %v", err)
	}
	answer, err := testPipeline().Run(context.Background(), q)
	if err != nil {
		t.Fatalf("Run: %v", err)
	}
	return answer
}

// checkDropped checks that the first issue of the added entry is the one that is wanted,
// and that no other entry has one more.
func checkDropped(t *testing.T, tt malformedEntry, issues []fault.Issue, before int) {
	t.Helper()
	const entry = "Parameters.parameter[0].resource.entry[4]"
	var own []fault.Issue
	for _, i := range issues {
		if strings.HasPrefix(i.Path, entry) {
			own = append(own, i)
		}
	}
	found := false
	for _, i := range own {
		found = found || i.Path == entry+tt.place && i.Kind.String() == tt.kind && i.Severity == fault.Warning
	}
	if !found {
		t.Errorf("no warning %s at %s in %v", tt.kind, entry+tt.place, own)
	}
	if len(own) > fhir.MaxEntryIssues+1 {
		t.Errorf("%d issues of one entry, want a few", len(own))
	}
	if others := len(issues) - len(own); others > before && !tt.missed {
		t.Errorf("%d issues of other places, want the %d without the entry: %v", others, before, issues)
	}
}

type lines []string

func (l *lines) Next() (batch.Request, error) {
	if len(*l) == 0 {
		return batch.Request{}, io.EOF
	}
	body := (*l)[0]
	*l = (*l)[1:]
	return batch.Request{Body: []byte(body)}, nil
}

func inBatch(t *testing.T, body string) []byte {
	t.Helper()
	var out bytes.Buffer
	_, err := batch.Run(context.Background(), &lines{body}, &out, func(ctx context.Context, body []byte) (fhir.Resource, error) {
		q, err := Decode(body)
		if err != nil {
			return nil, err
		}
		answer, err := testPipeline().Run(ctx, q)
		if err != nil {
			return nil, err
		}
		return answer.Resource(), nil
	}, batch.Options{Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// What protocol buffers can hold and FHIR cannot drops its entry, too.
func TestMalformedMessageDropsItself(t *testing.T) {
	client := start(t).dial()
	message := func(o *obpb.Observation) *bcrpb.Bundle_Entry {
		o.Subject = &dpb.Reference{Reference: &dpb.Reference_PatientId{PatientId: &dpb.ReferenceId{Value: "p1"}}}
		return &bcrpb.Bundle_Entry{Resource: &bcrpb.ContainedResource{OneofResource: &bcrpb.ContainedResource_Observation{Observation: o}}}
	}
	pulse := &dpb.CodeableConcept{Coding: []*dpb.Coding{{System: &dpb.Uri{Value: "http://loinc.org"}, Code: &dpb.Code{Value: "8867-4"}}}}
	tests := []struct {
		name        string
		entry       *bcrpb.Bundle_Entry
		place, kind string
	}{
		{"no status", message(&obpb.Observation{Code: pulse}), ".resource.status", "required-missing"},
		{"id with underscore", message(&obpb.Observation{Id: &dpb.Id{Value: "a_b"}, Code: pulse}), ".resource.id", "bad-value"},
		{"an empty text", &bcrpb.Bundle_Entry{FullUrl: &dpb.Uri{}}, ".fullUrl", "structure"},
		{"a resource without a type", &bcrpb.Bundle_Entry{Resource: &bcrpb.ContainedResource{}}, ".resource", "structure"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := messageOf(t, good())
			at := len(b.Entry)
			b.Entry = append(b.Entry, tt.entry)
			sent, err := proto.Marshal(b)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := fhirproto.Read(sent); err == nil {
				t.Fatal("the strict reading takes it, so that it is no case")
			}
			answer, err := client.Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: b})
			if err != nil {
				t.Fatal(err)
			}
			want := "Bundle.entry[" + string(rune('0'+at)) + "]" + tt.place
			written, err := proto.Marshal(answer)
			if err != nil || !bytes.Contains(written, []byte(want)) {
				t.Errorf("the answer does not name %s", want)
			}
		})
	}
}

func messageOf(t *testing.T, o object) *bcrpb.Bundle {
	t.Helper()
	resource, err := fhirjson.Decode([]byte(text(t, o)), fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	written, err := fhirproto.Append(nil, bundleOf(resource))
	if err != nil {
		t.Fatal(err)
	}
	b := new(bcrpb.Bundle)
	if err := proto.Unmarshal(written, b); err != nil {
		t.Fatal(err)
	}
	return b
}
