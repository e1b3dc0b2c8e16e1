package fhirproto_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/fhir/fhirtest"
	cpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/codes_go_proto"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/anypb"
)

// entryJSON is a Bundle around the JSON of one resource.
func entryJSON(resource string) []byte {
	return []byte(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + resource + `}]}`)
}

func observationJSON(elements string) []byte {
	return entryJSON(`{"resourceType":"Observation","status":"final","code":{"text":"c"},` + elements + `}`)
}

// Decode and Read must say the same of what the wire model leaves out.
func TestReadAgreesWithDecode(t *testing.T) {
	const subject = `"subject":{"reference":"Patient/1"}`
	tests := []struct {
		name string
		body []byte
	}{
		{"sixty Observations", fhirtest.Bundle60()},
		{"value without a value", entryJSON(`{"resourceType":"Patient","_birthDate":{"extension":[{"url":"urn:x","valueCode":"unknown"}]}}`)},
		{"extension beside a value", entryJSON(`{"resourceType":"Patient","birthDate":"1971","_birthDate":{"id":"a","extension":[{"url":"urn:x","valueTime":"08:00:00"}]}}`)},
		{"boolean without a value", observationJSON(`"_valueBoolean":{"extension":[{"url":"urn:x","valueCode":"unknown"}]}`)},
		{"integer without a value", observationJSON(`"_valueInteger":{"extension":[{"url":"urn:x","valueCode":"unknown"}]}`)},
		{"dateTime without a value", observationJSON(`"_effectiveDateTime":{"extension":[{"url":"urn:x","valueCode":"unknown"}]}`)},
		{"range", observationJSON(`"valueRange":{"low":{"value":1}}`)},
		{"ratio", observationJSON(`"valueRatio":{"numerator":{"value":1}}`)},
		{"time", observationJSON(`"valueTime":"08:00:00"`)},
		{"sampled data", observationJSON(`"valueSampledData":{"origin":{"value":1},"period":1,"dimensions":1}`)},
		{"timing", observationJSON(`"effectiveTiming":{"event":["2026-01-01"]}`)},
		{"component range", observationJSON(`"component":[{"code":{"text":"c"},"valueRange":{"low":{"value":1}}},{"code":{"text":"c"},"valueRatio":{"numerator":{"value":1}}},{"code":{"text":"c"},"valueTime":"08:00:00"},{"code":{"text":"c"},"valueSampledData":{"origin":{"value":1},"period":1,"dimensions":1}}]`)},
		{"elements not read", observationJSON(`"specimen":{"display":"s"},"referenceRange":[{"age":{"low":{"value":1}},"text":"t"}]`)},
		{"onset age", entryJSON(`{"resourceType":"Condition",` + subject + `,"onsetAge":{"value":50},"abatementString":"s"}`)},
		{"onset range", entryJSON(`{"resourceType":"Condition",` + subject + `,"onsetRange":{"low":{"value":50}}}`)},
		{"performed age", entryJSON(`{"resourceType":"Procedure","status":"completed",` + subject + `,"performedAge":{"value":50}}`)},
		{"performed range", entryJSON(`{"resourceType":"Procedure","status":"completed",` + subject + `,"performedRange":{"low":{"value":50}}}`)},
		{"goal start by concept", entryJSON(`{"resourceType":"Goal","lifecycleStatus":"active","description":{"text":"d"},` + subject + `,"startCodeableConcept":{"text":"admission"},"target":[{"dueDuration":{"value":6}},{"detailRange":{"low":{"value":1}}},{"detailRatio":{"numerator":{"value":1}}}]}`)},
		{"plan by timing", entryJSON(`{"resourceType":"CarePlan","status":"active","intent":"plan",` + subject + `,"activity":[{"reference":{"reference":"Task/1"}},{"detail":{"status":"scheduled","doNotPerform":false,"scheduledTiming":{"event":["2026-01-01"]}}}]}`)},
		{"answers of types that are not read", entryJSON(`{"resourceType":"QuestionnaireResponse","status":"completed","item":[{"linkId":"1","answer":[{"valueTime":"08:00:00"},{"valueAttachment":{"title":"a"}}]}]}`)},
		{"decimal of an extension", observationJSON(`"extension":[{"url":"urn:x","valueDecimal":1.50}]`)},
		{"resource not read", entryJSON(`{"resourceType":"MedicationRequest","id":"m1","status":"active","intent":"order","medicationCodeableConcept":{"text":"m"},` + subject + `}`)},
		{"resource not read, contained", observationJSON(`"contained":[{"resourceType":"Practitioner","id":"p"}]`)},
		{"entry without a resource", []byte(`{"resourceType":"Bundle","type":"batch","entry":[{"request":{"method":"GET","url":"Patient/1"}}]}`)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			decoded, err := fhirjson.Decode(tt.body, fhir.DefaultLimits)
			if err != nil {
				t.Fatal(err)
			}
			converted := fromProto(t, unmarshalJSON(t, tt.body).GetBundle())
			if diff := cmp.Diff(decoded, fhir.Resource(converted)); diff != "" {
				t.Errorf("(-from JSON +from protocol buffers):\n%s", diff)
			}
		})
	}
}

// Every type that an extension's value can have is named as JSON names it.
func TestReadNamesValueTypes(t *testing.T) {
	choices := (*dpb.Extension_ValueX)(nil).ProtoReflect().Descriptor().Oneofs().Get(0).Fields()
	read := 0
	for i := range choices.Len() {
		value := new(dpb.Extension_ValueX)
		value.ProtoReflect().Mutable(choices.Get(i))
		b := fromProtoOrNil(t, observationBundle(func(o *opb.Observation) {
			o.Extension = []*dpb.Extension{{Url: &dpb.Uri{Value: "urn:x"}, Value: value}}
		}))
		if b == nil {
			read++ // an empty value of a type that is read is refused
			continue
		}
		switch v := b.Entry[0].Resource.(*fhir.Observation).Extension[0].Value.(type) {
		case fhir.OtherValue:
			if want := string(choices.Get(i).Message().Name()); string(v) != want {
				t.Errorf("value[x] of type %s is called %q", want, v)
			}
		default:
			read++
		}
	}
	if want := 14; read != want {
		t.Errorf("%d types of value are read, want %d (the types of Value)", read, want)
	}
}

func TestReadKeepsTheTypesOfUnreadResources(t *testing.T) {
	read := map[string]bool{"Bundle": true}
	for _, r := range samples() {
		read[r.Type()] = true
	}
	types := (*bcrpb.ContainedResource)(nil).ProtoReflect().Descriptor().Oneofs().Get(0).Fields()
	for i := range types.Len() {
		name := string(types.Get(i).Message().Name())
		if read[name] {
			continue
		}
		t.Run(name, func(t *testing.T) {
			contained := new(bcrpb.ContainedResource)
			resource := contained.ProtoReflect().Mutable(types.Get(i)).Message()
			resource.Set(resource.Descriptor().Fields().ByName("id"), protoreflect.ValueOf((&dpb.Id{Value: "x1"}).ProtoReflect()))
			b := fromProto(t, &bcrpb.Bundle{
				Type:  &bcrpb.Bundle_TypeCode{Value: cpb.BundleTypeCode_COLLECTION},
				Entry: []*bcrpb.Bundle_Entry{{Resource: contained}},
			})
			want := &fhir.Other{TypeName: name, ID: "x1"}
			if diff := cmp.Diff(fhir.Resource(want), b.Entry[0].Resource); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestReferencesToEveryType(t *testing.T) {
	types := (*dpb.Reference)(nil).ProtoReflect().Descriptor().Oneofs().Get(0).Fields()
	for i := range types.Len() {
		field := types.Get(i)
		if field.Message().Name() != "ReferenceId" {
			continue
		}
		p := new(dpb.Reference)
		p.ProtoReflect().Set(field, protoreflect.ValueOf((&dpb.ReferenceId{Value: "x1"}).ProtoReflect()))
		b := fromProto(t, observationBundle(func(o *opb.Observation) { o.Subject = p }))
		back := toProto(t, b).Entry[0].Resource.GetObservation().Subject
		if !proto.Equal(p, back) {
			t.Errorf("%v came back as %v", p, back)
		}
	}
}

// The text of a reference to the same Patient is kept; another one's is not it.
func TestReferencesToPatients(t *testing.T) {
	want := []fhir.Reference{*to("Patient/a"), *to("Patient/a"), *to("Patient/b"), *to("Patient/b/_history/2"), *to("Patient/b")}
	b := fromProto(t, toProto(t, bundleOf([]fhir.Resource{&fhir.Observation{Status: "final", Code: words("c"), Performer: want}})))
	if diff := cmp.Diff(want, b.Entry[0].Resource.(*fhir.Observation).Performer); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// observationBundle is a valid Bundle with one Observation, changed.
func observationBundle(change func(*opb.Observation)) *bcrpb.Bundle {
	o := &opb.Observation{
		Status: &opb.Observation_StatusCode{Value: cpb.ObservationStatusCode_FINAL},
		Code:   &dpb.CodeableConcept{Text: &dpb.String{Value: "c"}},
	}
	change(o)
	return &bcrpb.Bundle{
		Type:  &bcrpb.Bundle_TypeCode{Value: cpb.BundleTypeCode_COLLECTION},
		Entry: []*bcrpb.Bundle_Entry{{Resource: &bcrpb.ContainedResource{OneofResource: &bcrpb.ContainedResource_Observation{Observation: o}}}},
	}
}

// fromProtoOrNil converts, and checks that a refusal is one of ours.
func fromProtoOrNil(t tester, p *bcrpb.Bundle) *fhir.Bundle {
	t.Helper()
	b, err := read(t, p)
	if err == nil {
		return b
	}
	var refusal *fault.Errors
	if !errors.As(err, &refusal) || len(refusal.Issues) == 0 {
		t.Errorf("error %T %v, want a *fault.Errors with issues", err, err)
	}
	return nil
}

func TestReadRefuses(t *testing.T) {
	const entry, observation = "Bundle.entry[0]", "Bundle.entry[0].resource"
	decimal := func(text string) func(*opb.Observation) {
		return func(o *opb.Observation) {
			o.Value = &opb.Observation_ValueX{Choice: &opb.Observation_ValueX_Quantity{Quantity: &dpb.Quantity{Value: &dpb.Decimal{Value: text}}}}
		}
	}
	issued := func(i *dpb.Instant) func(*opb.Observation) { return func(o *opb.Observation) { o.Issued = i } }
	subject := func(r *dpb.Reference) func(*opb.Observation) { return func(o *opb.Observation) { o.Subject = r } }
	deep := &dpb.Extension{Url: &dpb.Uri{Value: "urn:x"}}
	for range 100 {
		deep = &dpb.Extension{Url: &dpb.Uri{Value: "urn:x"}, Extension: []*dpb.Extension{deep}}
	}
	tests := []struct {
		name   string
		bundle *bcrpb.Bundle
		kind   fault.Kind
		path   string
	}{
		{"no type", &bcrpb.Bundle{}, fault.RequiredMissing, "Bundle.type"},
		{"unset type", &bcrpb.Bundle{Type: &bcrpb.Bundle_TypeCode{}}, fault.BadValue, "Bundle.type"},
		{"negative type", &bcrpb.Bundle{Type: &bcrpb.Bundle_TypeCode{Value: -1}}, fault.BadValue, "Bundle.type"},
		{"unknown type", &bcrpb.Bundle{Type: &bcrpb.Bundle_TypeCode{Value: 99}}, fault.BadValue, "Bundle.type"},
		{"resource without a type", with(func(b *bcrpb.Bundle) { b.Entry[0].Resource = &bcrpb.ContainedResource{} }), fault.Structure, observation},
		{"request without a method", with(func(b *bcrpb.Bundle) {
			b.Entry[0].Request = &bcrpb.Bundle_Entry_Request{Url: &dpb.Uri{Value: "Patient"}}
		}), fault.RequiredMissing, entry + ".request.method"},
		{"too many entries", with(func(b *bcrpb.Bundle) { b.Entry = make([]*bcrpb.Bundle_Entry, fhir.DefaultLimits.Entries+1) }), fault.TooLong, "Bundle.entry"},

		{"too many entries in a nested Bundle", with(func(b *bcrpb.Bundle) {
			inner := with(func(b *bcrpb.Bundle) { b.Entry = make([]*bcrpb.Bundle_Entry, fhir.DefaultLimits.Entries) })
			b.Entry[0].Resource = &bcrpb.ContainedResource{OneofResource: &bcrpb.ContainedResource_Bundle{Bundle: inner}}
		}), fault.TooLong, observation + ".entry"},

		{"too many elements of a list", observationBundle(func(o *opb.Observation) { o.Component = make([]*opb.Observation_Component, 120_000) }), fault.TooLong, observation + ".component"},
		{"too many contained", observationBundle(func(o *opb.Observation) { o.Contained = make([]*anypb.Any, 1_100_000) }), fault.TooLong, observation + ".contained"},
		{"too many elements of two lists", observationBundle(func(o *opb.Observation) {
			o.Component, o.Note = make([]*opb.Observation_Component, 100_000), make([]*dpb.Annotation, 100_000)
			for i := range o.Note {
				o.Note[i] = &dpb.Annotation{Text: &dpb.Markdown{Value: "a"}}
			}
		}), fault.TooLong, observation + ".component"},

		{"no status", observationBundle(func(o *opb.Observation) { o.Status = nil }), fault.RequiredMissing, observation + ".status"},
		{"unset status", observationBundle(func(o *opb.Observation) { o.Status = &opb.Observation_StatusCode{} }), fault.BadValue, observation + ".status"},
		{"status with extensions only", observationBundle(func(o *opb.Observation) {
			o.Status = &opb.Observation_StatusCode{Extension: []*dpb.Extension{{Url: &dpb.Uri{Value: "https://g.co/fhir/StructureDefinition/primitiveHasNoValue"}}}}
		}), fault.RequiredMissing, observation + ".status"},
		{"no code", observationBundle(func(o *opb.Observation) { o.Code = nil }), fault.RequiredMissing, observation + ".code"},
		{"empty code", observationBundle(func(o *opb.Observation) { o.Code = &dpb.CodeableConcept{} }), fault.RequiredMissing, observation + ".code"},
		{"empty text", observationBundle(func(o *opb.Observation) { o.Code.Text = &dpb.String{} }), fault.Structure, observation + ".code.text"},
		{"control character", observationBundle(func(o *opb.Observation) { o.Code.Text.Value = "line\x00" }), fault.BadValue, observation + ".code.text"},
		{"control character beyond eight bytes", observationBundle(func(o *opb.Observation) { o.Code.Text.Value = "twelve bytes\x01" }), fault.BadValue, observation + ".code.text"},
		{"code with two spaces", observationBundle(func(o *opb.Observation) {
			o.Code.Coding = []*dpb.Coding{{}, {Code: &dpb.Code{Value: "a  b"}}}
		}), fault.BadValue, observation + ".code.coding[1].code"},
		{"uri with a space", observationBundle(func(o *opb.Observation) {
			o.Code.Coding = []*dpb.Coding{{System: &dpb.Uri{Value: "urn:a b"}}}
		}), fault.BadValue, observation + ".code.coding[0].system"},
		{"id of another alphabet", observationBundle(func(o *opb.Observation) { o.Id = &dpb.Id{Value: "a_b"} }), fault.BadValue, observation + ".id"},
		{"decimal empty", observationBundle(decimal("")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal not a number", observationBundle(decimal("NaN")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal with a plus", observationBundle(decimal("+1")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal with a leading zero", observationBundle(decimal("01.5")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal ending in a point", observationBundle(decimal("1.")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal with half an exponent", observationBundle(decimal("1e+")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal with words after", observationBundle(decimal("1.5 N")), fault.BadValue, observation + ".valueQuantity.value"},
		{"decimal too large", observationBundle(decimal("1e999999")), fault.BadValue, observation + ".valueQuantity.value"},
		{"value without a choice", observationBundle(func(o *opb.Observation) { o.Value = &opb.Observation_ValueX{} }), fault.Structure, observation + ".value"},
		{"unset comparator", observationBundle(func(o *opb.Observation) {
			o.Value = &opb.Observation_ValueX{Choice: &opb.Observation_ValueX_Quantity{Quantity: &dpb.Quantity{Comparator: &dpb.Quantity_ComparatorCode{}}}}
		}), fault.BadValue, observation + ".valueQuantity.comparator"},
		{"component without a code", observationBundle(func(o *opb.Observation) {
			o.Component = []*opb.Observation_Component{{Code: o.Code}, {}}
		}), fault.RequiredMissing, observation + ".component[1].code"},

		{"time without a precision", observationBundle(issued(&dpb.Instant{ValueUs: 1, Timezone: "Z"})), fault.BadValue, observation + ".issued"},
		{"time of unknown precision", observationBundle(issued(&dpb.Instant{Precision: 9, Timezone: "Z"})), fault.BadValue, observation + ".issued"},
		{"time of negative precision", observationBundle(issued(&dpb.Instant{Precision: -1, Timezone: "Z"})), fault.BadValue, observation + ".issued"},
		{"time in no zone", observationBundle(issued(&dpb.Instant{Precision: dpb.Instant_SECOND, Timezone: "Nowhere/Town"})), fault.BadValue, observation + ".issued"},
		{"time in the server's zone", observationBundle(issued(&dpb.Instant{Precision: dpb.Instant_SECOND, Timezone: "Local"})), fault.BadValue, observation + ".issued"},
		{"zone outside the database", observationBundle(issued(&dpb.Instant{Precision: dpb.Instant_SECOND, Timezone: "../../etc/passwd"})), fault.BadValue, observation + ".issued"},
		{"offset of a day", observationBundle(issued(&dpb.Instant{Precision: dpb.Instant_SECOND, Timezone: "+24:00"})), fault.BadValue, observation + ".issued"},
		{"time in the year 10000", observationBundle(issued(&dpb.Instant{ValueUs: 253402300800000000, Precision: dpb.Instant_SECOND, Timezone: "Z"})), fault.BadValue, observation + ".issued"},
		{"time before the year 1", observationBundle(issued(&dpb.Instant{ValueUs: -62135596800000001, Precision: dpb.Instant_SECOND, Timezone: "Z"})), fault.BadValue, observation + ".issued"},
		{"time beyond counting", observationBundle(issued(&dpb.Instant{ValueUs: -1 << 63, Precision: dpb.Instant_SECOND, Timezone: "+14:00"})), fault.BadValue, observation + ".issued"},

		{"reference without an id", observationBundle(subject(&dpb.Reference{Reference: &dpb.Reference_PatientId{}})), fault.BadValue, observation + ".subject.reference"},
		{"reference of a rare type without an id", observationBundle(subject(&dpb.Reference{Reference: &dpb.Reference_GroupId{}})), fault.BadValue, observation + ".subject.reference"},
		{"reference with a control character", observationBundle(subject(&dpb.Reference{Reference: &dpb.Reference_PatientId{PatientId: &dpb.ReferenceId{Value: "a\x00"}}})), fault.BadValue, observation + ".subject.reference"},
		{"fragment with a control character", observationBundle(subject(&dpb.Reference{Reference: &dpb.Reference_Fragment{Fragment: &dpb.String{Value: "a\x00"}}})), fault.BadValue, observation + ".subject.reference"},
		{"extension without a url", observationBundle(func(o *opb.Observation) {
			o.Extension = []*dpb.Extension{{Extension: []*dpb.Extension{{}}}}
		}), fault.RequiredMissing, observation + ".extension[0].extension[0].url"},
		{"extensions nested a hundred deep", observationBundle(func(o *opb.Observation) { o.Extension = []*dpb.Extension{deep} }), fault.TooLong, ""},
		{"contained message of another type", observationBundle(func(o *opb.Observation) {
			packed, _ := anypb.New(&dpb.String{Value: "x"})
			o.Contained = []*anypb.Any{packed}
		}), fault.Structure, observation + ".contained[0]"},
		{"contained bytes that are no message", observationBundle(func(o *opb.Observation) {
			o.Contained = []*anypb.Any{{TypeUrl: "type.googleapis.com/google.fhir.r4.core.ContainedResource", Value: []byte{0xff}}}
		}), fault.Structure, observation + ".contained[0]"},
		{"contained nothing", observationBundle(func(o *opb.Observation) { o.Contained = []*anypb.Any{nil} }), fault.Structure, observation + ".contained[0]"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := read(t, tt.bundle)
			var refusal *fault.Errors
			if !errors.As(err, &refusal) {
				t.Fatalf("Read: %v, want a refusal", err)
			}
			for _, issue := range refusal.Issues {
				if issue.Kind == tt.kind && (issue.Path == tt.path || tt.path == "") {
					return
				}
			}
			t.Errorf("Read: %v, want %v at %s", err, tt.kind, tt.path)
		})
	}
}

// with is a valid Bundle, changed.
func with(change func(*bcrpb.Bundle)) *bcrpb.Bundle {
	b := observationBundle(func(*opb.Observation) {})
	change(b)
	return b
}

func TestReadReportsEveryProblem(t *testing.T) {
	b := with(func(b *bcrpb.Bundle) {
		b.Type = nil
		b.Entry = append(b.Entry, with(func(*bcrpb.Bundle) {}).Entry...)
		for _, e := range b.Entry {
			e.Resource.GetObservation().Code = nil
		}
	})
	_, err := read(t, b)
	want := "required-missing at Bundle.entry[0].resource.code: found no value; FHIR R4 requires one; " +
		"required-missing at Bundle.entry[1].resource.code: found no value; FHIR R4 requires one; " +
		"required-missing at Bundle.type: found no value; FHIR R4 requires one"
	if err == nil || err.Error() != want {
		t.Errorf("Read: %v, want %s", err, want)
	}
}

func TestReadBoundsTheList(t *testing.T) {
	b := with(func(b *bcrpb.Bundle) {
		b.Entry = slices.Repeat([]*bcrpb.Bundle_Entry{{Resource: &bcrpb.ContainedResource{}}}, 1000)
	})
	_, err := read(t, b)
	var refusal *fault.Errors
	if !errors.As(err, &refusal) || len(refusal.Issues) != 100 {
		t.Errorf("%d issues, want 100", len(refusal.Issues))
	}
}

func TestReadDetailsQuoteNothing(t *testing.T) {
	const canary = "CANARY\x00"
	_, err := read(t, observationBundle(func(o *opb.Observation) {
		o.Id = &dpb.Id{Value: canary}
		o.Code = &dpb.CodeableConcept{Text: &dpb.String{Value: canary}, Coding: []*dpb.Coding{{System: &dpb.Uri{Value: canary}, Code: &dpb.Code{Value: canary}}}}
		o.Subject = &dpb.Reference{Reference: &dpb.Reference_PatientId{PatientId: &dpb.ReferenceId{Value: canary}}}
		o.Issued = &dpb.Instant{Precision: dpb.Instant_SECOND, Timezone: canary}
		o.Text = &dpb.Narrative{Div: &dpb.Xhtml{Value: canary}}
	}))
	var refusal *fault.Errors
	if !errors.As(err, &refusal) || len(refusal.Issues) < 7 {
		t.Fatalf("Read: %v, want a refusal of every text", err)
	}
	for _, issue := range refusal.Issues {
		if text := issue.Path + issue.Detail; strings.Contains(text, "CANARY") {
			t.Errorf("%q quotes the input", text)
		}
	}
}

// FuzzRead reads bytes that began as messages, and holds proto.Unmarshal, JSON and what is written
// against what was read.
func FuzzRead(f *testing.F) {
	for i, r := range samples() {
		packed := written(f, bundleOf([]fhir.Resource{r}))
		f.Add(packed)
		f.Add(scrambled(packed, uint64(i)))
	}
	f.Fuzz(func(t *testing.T, packed []byte) {
		if len(packed) > 1<<16 {
			return
		}
		checkMerged(t, packed)
		b, err := fhirproto.Read(packed)
		if err != nil {
			if len(issues(err)) == 0 {
				t.Errorf("error %T %v, want a *fault.Errors with issues", err, err)
			}
			return
		}
		body := fhirjson.Encode(b)
		if _, err := fhirjson.Decode(body, fhir.Limits{Depth: 4 * fhir.DefaultLimits.Depth}); err != nil {
			t.Errorf("Decode refuses what Read accepts: %v\n%s", err, body)
		}
		// A resource of a type that is not read cannot be written again.
		if written, err := fhirproto.Append(nil, b); err == nil {
			checkCanonical(t, written, new(bcrpb.Bundle))
		}
	})
}
