package fhirjson_test

import (
	"math"
	"reflect"
	"slices"

	"evenreach.example/internal/fhir"
	"pgregory.net/rapid"
)

// drawResource draws a resource that FHIR allows, filled at random.
func drawResource(t *rapid.T) fhir.Resource {
	g := generator{t}
	return g.resource(0)
}

// generator fills the structs of the wire model by reflection, so that a new
// field needs no generator of its own.
type generator struct{ *rapid.T }

// The forms of the fields that are strings; what is not here is free text.
var forms = map[string]string{
	"ID": word, "VersionID": word, "Language": word, "Comparator": word, "Method": word,
	"Status": word, "LifecycleStatus": word, "Intent": word, "Severity": word, "Role": word, "Kind": word, "BundleType": word, "Mode": word, "Location": uri, "ContentType": word,
	"Coding.Code": word, "Quantity.Code": word, "OutcomeIssue.Code": word,
	"URL": uri, "FullURL": uri, "System": uri, "Source": uri, "ImplicitRules": uri, "TypeName": uri,
	"Profile": uri, "InstantiatesCanonical": uri, "InstantiatesUri": uri, "Questionnaire": uri, "Policy": uri,
	"LastUpdated": instant, "Timestamp": instant, "Issued": instant, "Recorded": instant,
	"BirthDate": date, "StartDate": date, "StatusDate": date, "DueDate": date,
	"Start": dateTime, "End": dateTime, "Created": dateTime, "Creation": dateTime, "Authored": dateTime, "IssueMitigation.Date": dateTime, "Time": dateTime,
	"Div": `<div>[ -~]{0,20}</div>`,
}

const (
	word     = `[A-Za-z0-9.\-]{1,20}`
	uri      = `[a-z]{1,8}:[!-~à-ÿ]{1,30}`
	date     = `[12][0-9]{3}(-(0[1-9]|1[0-2])(-(0[1-9]|1[0-9]|2[0-8]))?)?`
	instant  = `[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](\.[0-9]{1,9})?(Z|[+\-](0[0-9]|1[0-3]):[0-5][0-9])`
	dateTime = date + "|" + instant
	text     = `([ -~\t\n\rà-ÿ“-”\x{2028}\x{1F600}-\x{1F610}]){1,20}`
	decimal  = `-?(0|[1-9][0-9]{0,9})(\.[0-9]{1,9})?([eE][+\-]?[0-9])?`
)

// required lists the fields that R4 requires, by struct.
var required = map[string][]string{
	"Bundle": {"BundleType"}, "Request": {"Method", "URL"}, "Parameter": {"Name"},
	"Observation": {"Status", "Code"}, "Component": {"Code"}, "Condition": {"Subject"}, "Procedure": {"Status", "Subject"},
	"Encounter": {"Status", "Class"}, "Goal": {"LifecycleStatus", "Description", "Subject"}, "CarePlan": {"Status", "Intent", "Subject"},
	"ActivityDetail": {"Status"}, "Activity": {"Detail"}, "DiagnosticReport": {"Status", "Code"}, "Provenance": {"Target", "Recorded", "Agent"},
	"Agent": {"Who"}, "ProvenanceEntity": {"Role", "What"}, "DeviceName": {"Name", "Kind"}, "DeviceVersion": {"Value"},
	"OperationOutcome": {"Issue"}, "OutcomeIssue": {"Severity", "Code"}, "Narrative": {"Status", "Div"}, "Annotation": {"Text"}, "Extension": {"URL"},
	"DetectedIssue": {"Status"}, "IssueMitigation": {"Action"}, "QuestionnaireResponse": {"Status"}, "ResponseItem": {"LinkID"},
	// R4 requires nothing here, but an empty object is not allowed.
	"Meta": {"VersionID"}, "Coding": {"Code"}, "CodeableConcept": {"Text"}, "Reference": {"Reference"}, "Identifier": {"Value"},
	"Quantity": {"Value"}, "Period": {"Start"}, "ReferenceRange": {"Text"}, "Target": {"DueDate"}, "Attachment": {"Title"}, "Entry": {"FullURL"},
	"HumanName": {"Text"}, "Link": {"Relation", "URL"}, "Search": {"Mode"}, "Response": {"Status"},
	"IssueEvidence": {"Code"}, "ResponseAnswer": {"Value"},
}

var (
	measured = []fhir.Value{&fhir.Quantity{}, &fhir.CodeableConcept{}, fhir.String(""), fhir.Boolean(false), fhir.Integer(0)}
	timed    = []fhir.Value{fhir.DateTime(""), &fhir.Period{}}
	anyValue = append(append([]fhir.Value{&fhir.Coding{}, &fhir.Reference{}, fhir.Code(""), fhir.URI(""), fhir.Canonical(""), fhir.Date(""), fhir.Instant("")},
		measured...), timed...)
	answers = []fhir.Value{
		&fhir.Quantity{}, &fhir.Coding{}, &fhir.Reference{}, fhir.Boolean(false), fhir.Decimal(""), fhir.Integer(0), fhir.Date(""), fhir.DateTime(""),
		fhir.String(""), fhir.URI(""),
	}
)

// choices lists the types that a field of type fhir.Value may have.
var choices = map[string][]fhir.Value{
	"Observation.Value": append(slices.Clone(measured), timed...), "Component.Value": append(slices.Clone(measured), timed...),
	"Observation.Effective": append(slices.Clone(timed), fhir.Instant("")), "DiagnosticReport.Effective": timed, "Provenance.Occurred": timed,
	"Condition.Onset": append(slices.Clone(timed), fhir.String("")), "Procedure.Performed": append(slices.Clone(timed), fhir.String("")),
	"Annotation.Author":        {&fhir.Reference{}, fhir.String("")},
	"DetectedIssue.Identified": timed, "ResponseAnswer.Value": answers,
	"Target.Detail": measured, "Extension.Value": anyValue, "Parameter.Value": anyValue,
}

func (g generator) resource(depth int) fhir.Resource {
	r := rapid.SampledFrom(jsonSamples()).Draw(g.T, "type")
	if other, ok := r.(*fhir.Other); ok {
		return other
	}
	filled := reflect.New(reflect.TypeOf(r).Elem())
	g.fill(filled.Elem(), depth+1)
	return filled.Interface().(fhir.Resource)
}

// fill sets the required fields of a struct and some of the others.
func (g generator) fill(v reflect.Value, depth int) {
	for i := range v.NumField() {
		field := v.Type().Field(i)
		if field.Anonymous {
			g.fill(v.Field(i), depth)
			continue
		}
		isRequired := slices.Contains(required[v.Type().Name()], field.Name)
		if isRequired || depth < 5 && rapid.IntRange(0, 3).Draw(g.T, "set") == 0 {
			v.Field(i).Set(g.value(field.Type, v.Type().Name(), field.Name, depth))
		}
	}
	g.obey(v.Addr().Interface())
}

// obey clears what the resource must not have beside what it has.
func (g generator) obey(v any) {
	switch v := v.(type) {
	case *fhir.Parameter:
		if v.Value != nil {
			v.Resource, v.Part = nil, nil
		} else if v.Resource != nil {
			v.Part = nil
		}
	case *fhir.ActivityDetail:
		if v.ScheduledPeriod != nil {
			v.ScheduledString = ""
		}
	case *fhir.Provenance:
		v.Identifier = nil
	case *fhir.QuestionnaireResponse:
		v.Common.Identifier = nil
	case *fhir.OperationOutcome:
		v.Identifier = nil
	}
}

// value draws a value for a field. It is never zero, except for booleans.
func (g generator) value(t reflect.Type, structName, field string, depth int) reflect.Value {
	switch t {
	case reflect.TypeFor[fhir.Decimal]():
		return reflect.ValueOf(fhir.Decimal(g.matching(decimal)))
	case reflect.TypeFor[fhir.Resource]():
		return reflect.ValueOf(g.resource(depth))
	case reflect.TypeFor[fhir.Value]():
		like := rapid.SampledFrom(choices[structName+"."+field]).Draw(g.T, "choice")
		return g.value(reflect.TypeOf(like), "", reflect.TypeOf(like).Name(), depth)
	case reflect.TypeFor[[]byte]():
		return reflect.ValueOf(rapid.SliceOfN(rapid.Byte(), 1, 10).Draw(g.T, "data"))
	}
	drawn := reflect.New(t).Elem()
	switch t.Kind() {
	case reflect.String:
		drawn.SetString(g.matching(formOf(structName, field)))
	case reflect.Bool:
		drawn.SetBool(rapid.Bool().Draw(g.T, "bool"))
	case reflect.Uint32:
		drawn.SetUint(uint64(rapid.Uint32Range(1, math.MaxInt32).Draw(g.T, "count")))
	case reflect.Int32:
		drawn.SetInt(int64(rapid.Int32().Draw(g.T, "integer")))
	case reflect.Pointer:
		drawn.Set(reflect.New(t.Elem()))
		g.fill(drawn.Elem(), depth+1)
	case reflect.Slice:
		for range rapid.IntRange(1, 3).Draw(g.T, "length") {
			drawn = reflect.Append(drawn, g.value(t.Elem(), structName, field, depth+1))
		}
	case reflect.Struct:
		g.fill(drawn, depth+1)
	}
	return drawn
}

func formOf(structName, field string) string {
	if form, ok := forms[structName+"."+field]; ok {
		return form
	}
	if form, ok := forms[field]; ok {
		return form
	}
	switch field { // types of fhir.Value
	case "Code":
		return word
	case "URI", "Canonical":
		return uri
	case "Date":
		return date
	case "DateTime":
		return dateTime
	case "Instant":
		return instant
	}
	return text
}

func (g generator) matching(form string) string { return rapid.StringMatching(form).Draw(g.T, "text") }
