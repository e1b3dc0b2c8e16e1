// Package fhirtest writes FHIR Bundles, and spoils them, for tests and
// benchmarks. All data is invented. It writes JSON by itself, so that it can
// test the codec.
package fhirtest

import (
	"fmt"
	"strings"
	"time"
)

// Bundle60 is Bundle(60), the Bundle that speeds are quoted for.
func Bundle60() []byte { return Bundle(60) }

// Bundle is the record of a shoulder after a cuff repair: a Patient, two
// Conditions, a Procedure and n isometric strength Observations in weekly
// sessions of twelve (two rotations, three arm positions, two sides), the last
// of them on 5 October 2026. Every third Observation has a note; every second
// has an arm support besides its arm position, and a reference range. The same n
// gives the same bytes, about 1.5 kB an Observation.
func Bundle(n int) []byte {
	var b strings.Builder
	b.WriteString(`{"resourceType":"Bundle","type":"collection","timestamp":"2026-10-05T12:00:00Z","entry":[`)
	b.WriteString(history)
	for i := range n {
		b.WriteByte(',')
		writeObservation(&b, i, n)
	}
	b.WriteString(`]}`)
	return []byte(b.String())
}

// perSession is the number of Observations of one visit.
const perSession = 2 * 3 * 2

// lastSession is the morning of the last visit.
var lastSession = time.Date(2026, time.October, 5, 9, 30, 0, 0, time.UTC)

var (
	motions   = []string{"external", "internal"}
	positions = []string{"arm-at-side", "flexion-90", "abduction-90"}
	sides     = []side{
		{"91774008", 58.25}, // right, involved
		{"91775009", 92.5},  // left
	}
)

type side struct {
	code    string  // SNOMED CT body structure
	newtons float64 // at the first session, external rotation, arm at the side
}

func writeObservation(b *strings.Builder, i, n int) {
	session, within := i/perSession, i%perSession
	sessions := (n + perSession - 1) / perSession
	when := lastSession.AddDate(0, 0, -7*(sessions-1-session))
	motion, position, at := motions[within/3%2], positions[within%3], sides[within/6]
	newtons := at.newtons + float64(12*(within/3%2)-4*(within%3)) + float64(session%8)*1.75

	fmt.Fprintf(b, `{"fullUrl":"https://record.example/fhir/Observation/strength-%d","resource":{"resourceType":"Observation","id":"strength-%d",`, i, i)
	b.WriteString(`"meta":{"profile":["https://evenreach.example/fhir/StructureDefinition/isometric-strength"]},"status":"final",`)
	b.WriteString(`"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"therapy"}]}],`)
	fmt.Fprintf(b, `"code":{"coding":[{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":"isometric-%s-rotation-strength"}]},`, motion)
	fmt.Fprintf(b, `"subject":{"reference":"Patient/example"},"effectiveDateTime":%q,"issued":%q,`,
		when.Add(time.Duration(within)*time.Minute).Format("2006-01-02T15:04:05-07:00"), when.Add(time.Hour).Format("2006-01-02T15:04:05.000Z07:00"))
	b.WriteString(`"performer":[{"reference":"Practitioner/therapist"}],`)
	fmt.Fprintf(b, `"valueQuantity":{"value":%.2f,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},`, newtons)
	b.WriteString(`"interpretation":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation","code":"N"}]}],`)
	if i%3 == 0 {
		b.WriteString(`"note":[{"text":"Invented data: seated, towel roll under the arm, make test of five seconds."}],`)
	}
	fmt.Fprintf(b, `"bodySite":{"coding":[{"system":"http://snomed.info/sct","code":%q}]},`, at.code)
	b.WriteString(`"method":{"coding":[{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":"handheld-dynamometry"}]},`)
	if i%2 == 0 {
		b.WriteString(`"referenceRange":[{"low":{"value":70.0,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},"high":{"value":160.0,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},"text":"70 to 160 N (invented)"}],`)
	}
	b.WriteString(`"component":[`)
	writeComponent(b, "arm-position", position)
	if i%2 == 0 {
		b.WriteByte(',')
		writeComponent(b, "arm-support", "supported")
	}
	b.WriteString(`]}}`)
}

func writeComponent(b *strings.Builder, code, value string) {
	fmt.Fprintf(b, `{"code":{"coding":[{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":%q}]},"valueCodeableConcept":{"coding":[{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":%q}]}}`, code, value)
}

// history is who the patient is and why they come.
const history = `{"fullUrl":"https://record.example/fhir/Patient/example","resource":{"resourceType":"Patient","id":"example",` +
	`"identifier":[{"system":"https://record.example/patients","value":"invented-1"}],` +
	`"name":[{"family":"Invented","given":["Example"]}],"gender":"female","birthDate":"1971-04-12"}},` +
	`{"fullUrl":"https://record.example/fhir/Condition/tear","resource":{"resourceType":"Condition","id":"tear",` +
	`"clinicalStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}]},` +
	`"verificationStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-ver-status","code":"confirmed"}]},` +
	`"code":{"coding":[{"system":"http://snomed.info/sct","code":"202843000","display":"Full thickness rotator cuff tear"}]},` +
	`"bodySite":[{"coding":[{"system":"http://snomed.info/sct","code":"91774008","display":"Structure of right shoulder region"}]}],` +
	`"subject":{"reference":"Patient/example"},"onsetDateTime":"2025-11-03"}},` +
	`{"fullUrl":"https://record.example/fhir/Condition/diabetes","resource":{"resourceType":"Condition","id":"diabetes",` +
	`"clinicalStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}]},` +
	`"code":{"text":"Type 2 diabetes mellitus"},"subject":{"reference":"Patient/example"}}},` +
	`{"fullUrl":"https://record.example/fhir/Procedure/repair","resource":{"resourceType":"Procedure","id":"repair","status":"completed",` +
	`"code":{"coding":[{"system":"http://snomed.info/sct","code":"61774002","display":"Repair of rotator cuff by suture"}]},` +
	`"subject":{"reference":"Patient/example"},"performedDateTime":"2026-01-19",` +
	`"bodySite":[{"coding":[{"system":"http://snomed.info/sct","code":"91774008","display":"Structure of right shoulder region"}]}]}}`
