package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/shoulder"
)

// batchResponse is what a record answers to a batch of searches: invented data
// in the shapes of US Core, of the vital signs profiles and of this project.
const batchResponse = `{
  "resourceType": "Bundle", "type": "batch-response",
  "entry": [
    {"response": {"status": "200"}, "resource": {"resourceType": "Patient", "id": "p1", "name": [{"family": "Invented"}]}},
    {"response": {"status": "200"}, "resource": {"resourceType": "Bundle", "type": "searchset", "total": 2, "entry": [
      {"fullUrl": "https://ehr.example/fhir/Observation/s1", "search": {"mode": "match"}, "resource": {
        "resourceType": "Observation", "id": "s1", "meta": {"versionId": "2"}, "status": "final",
        "category": [{"coding": [{"system": "http://terminology.hl7.org/CodeSystem/observation-category", "code": "exam"}]}],
        "code": {"coding": [{"system": "https://evenreach.example/fhir/CodeSystem/shoulder", "code": "isometric-external-rotation-strength"}]},
        "subject": {"reference": "Patient/p1"}, "effectiveDateTime": "2026-11-20T10:00:00-08:00",
        "bodySite": {"coding": [{"system": "http://snomed.info/sct", "code": "91774008"}]},
        "valueQuantity": {"value": 22.50, "unit": "lbf", "system": "http://unitsofmeasure.org", "code": "[lbf_av]"},
        "component": [
          {"code": {"coding": [{"system": "https://evenreach.example/fhir/CodeSystem/shoulder", "code": "arm-position"}]},
           "valueCodeableConcept": {"coding": [{"system": "https://evenreach.example/fhir/CodeSystem/shoulder", "code": "arm-at-side"}]}}]}},
      {"fullUrl": "https://ehr.example/fhir/Observation/f1", "search": {"mode": "match"}, "resource": {
        "resourceType": "Observation", "id": "f1", "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "41389-8"}], "text": "left shoulder"},
        "subject": {"reference": "https://ehr.example/fhir/Patient/p1"}, "effectivePeriod": {"start": "2026-11-20T10:05:00-08:00"},
        "bodySite": {
          "extension": [{"url": "http://hl7.org/fhir/us/mcode/StructureDefinition/mcode-laterality-qualifier",
            "valueCodeableConcept": {"coding": [{"system": "http://snomed.info/sct", "code": "24028007"}]}}],
          "coding": [{"system": "http://snomed.info/sct", "code": "16982005"}]},
        "valueQuantity": {"value": 141, "unit": "degrees", "system": "http://unitsofmeasure.org", "code": "deg"}}},
      {"search": {"mode": "outcome"}, "resource": {"resourceType": "OperationOutcome", "issue": [{"severity": "information", "code": "informational"}]}}
    ]}},
    {"response": {"status": "200"}, "resource": {
      "resourceType": "Observation", "id": "w1", "status": "final",
      "category": [{"coding": [{"system": "http://terminology.hl7.org/CodeSystem/observation-category", "code": "vital-signs"}]}],
      "code": {"coding": [{"system": "http://loinc.org", "code": "29463-7"}]},
      "subject": {"reference": "Patient/p1"}, "effectiveDateTime": "2026-11-20",
      "valueQuantity": {"value": 154.3, "unit": "lbs", "system": "http://unitsofmeasure.org", "code": "[lb_av]"}}},
    {"response": {"status": "200"}, "resource": {
      "resourceType": "Condition", "id": "c1",
      "clinicalStatus": {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/condition-clinical", "code": "active"}]},
      "code": {"coding": [{"system": "http://snomed.info/sct", "code": "414033006"}]},
      "bodySite": [{"coding": [{"system": "http://snomed.info/sct", "code": "91774008"}]}],
      "subject": {"reference": "Patient/p1"}}}
  ]
}`

func TestReadFromJSON(t *testing.T) {
	resource, err := fhirjson.Decode([]byte(batchResponse), fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	b, ok := resource.(*fhir.Bundle)
	if !ok {
		t.Fatalf("decoded a %T, want a Bundle", resource)
	}
	r := readInput(t, Input{Bundle: b, Received: received})
	wantIssues(t, r.Issues)
	if r.Episode.Involved != shoulder.Right || r.Patient != "Patient/p1" || r.Addresses[0].Reference != "Condition/c1" {
		t.Errorf("involved %v, patient %q, addresses %v", r.Episode.Involved, r.Patient, r.Addresses)
	}
	if len(r.Episode.Sessions) != 1 {
		t.Fatalf("%d sessions, want one day", len(r.Episode.Sessions))
	}
	s := r.Episode.Sessions[0]
	wantNumber(t, "strength", s.Trials[0].Value, "100.08498634336125") // by hand: 22.5 x 4.4482216152605
	wantNumber(t, "flexion", s.Ranges[0].Degrees, "141")
	wantNumber(t, "body mass", s.Mass.Value, "69.989302691") // by hand: 154.3 x 0.45359237
	if s.Ranges[0].Side != shoulder.Right {
		t.Errorf("side of flexion = %v, want right: text is not read", s.Ranges[0].Side)
	}
	source := r.Sources[s.Trials[0].Source]
	if source.Received != "22.50 [lbf_av]" || source.Identity != "https://ehr.example/fhir/Observation/s1/_history/2" ||
		source.Path != "Bundle.entry[1].resource.entry[0].resource" {
		t.Errorf("source %+v, want the number, version and place as sent", source)
	}
}
