package record

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// sent is an invented record of a right shoulder, as a caller would send it.
type sent struct {
	bundle   *fhir.Bundle
	involved shoulder.Side
	asOf     string
}

func newSent() *sent {
	s := &sent{bundle: &fhir.Bundle{BundleType: "collection"}, involved: shoulder.Right}
	patient := &fhir.Patient{Common: fhir.Common{ID: "p1"}}
	s.bundle.Entry = append(s.bundle.Entry, fhir.Entry{FullURL: "https://record.example/fhir/Patient/p1", Resource: patient})
	return s
}

var bodySites = map[string]fhir.CodeableConcept{"right": rightShoulder, "left": leftShoulder}

func (s *sent) observation(code fhir.CodeableConcept, when, side string, value fhir.Value) *fhir.Observation {
	o := &fhir.Observation{Status: "final", Code: code, Effective: fhir.DateTime(when), Value: value}
	o.ID = "o" + strconv.Itoa(len(s.bundle.Entry))
	o.Subject = &fhir.Reference{Reference: "Patient/p1"}
	if site, ok := bodySites[side]; ok {
		o.BodySite = &site
	}
	s.bundle.Entry = append(s.bundle.Entry, fhir.Entry{FullURL: "https://record.example/fhir/Observation/" + o.ID, Resource: o})
	return o
}

func quantity(value, unit string) *fhir.Quantity {
	return &fhir.Quantity{Value: fhir.Decimal(value), Unit: unit, System: fhir.SystemUCUM, Code: unit}
}

func coded(code string) *fhir.CodeableConcept {
	return &fhir.CodeableConcept{Coding: []fhir.Coding{{System: fhir.SystemShoulder, Code: code}}}
}

// strength adds one Observation for each trial, in newtons, hand-held, make,
// supported.
func (s *sent) strength(when string, r shoulder.Motion, p shoulder.ArmPosition, side string, newtons ...string) *fhir.Observation {
	code := fhir.CodeExternalRotationStrength
	if r == shoulder.Internal {
		code = fhir.CodeInternalRotationStrength
	}
	var last *fhir.Observation
	for _, n := range newtons {
		last = s.observation(*coded(code), when, side, quantity(n, "N"))
		last.Method = coded("handheld-dynamometry")
		last.Component = []fhir.Component{
			{Code: *coded(fhir.CodeArmPosition), Value: coded(p.String())},
			{Code: *coded(fhir.CodeArmSupport), Value: coded("supported")},
			{Code: *coded(fhir.CodeContractionType), Value: coded("make")},
		}
	}
	return last
}

// both adds two trials of each side, the left one at 100 N.
func (s *sent) both(when string, r shoulder.Motion, p shoulder.ArmPosition, newtons string) {
	s.strength(when, r, p, "right", newtons, newtons)
	s.strength(when, r, p, "left", "100", "100")
}

// visit adds a complete re-check: the same per cent of the left side in each
// position, both elevations and pain during the test.
func (s *sent) visit(when, percent, degrees, pain string) {
	for _, r := range shoulder.Trained {
		for _, p := range shoulder.TrainedPositions {
			s.both(when, r, p, percent)
		}
	}
	s.elevation(when, degrees)
	s.pain(when, pain)
}

func (s *sent) elevation(when, degrees string) {
	s.observation(rangeConcept(shoulder.Flexion, true), when, "right", quantity(degrees, "deg"))
	s.observation(rangeConcept(shoulder.Abduction, true), when, "right", quantity(degrees, "deg"))
}

func (s *sent) pain(when, score string) {
	o := s.observation(painScore, when, "right", quantity(score, "{score}"))
	o.Component = []fhir.Component{{Code: *coded(fhir.CodePainContext), Value: coded("during-resisted-test")}}
}

// also adds a resource with an id.
func (s *sent) also(r fhir.Resource, id string) {
	s.bundle.Entry = append(s.bundle.Entry, fhir.Entry{FullURL: "https://record.example/fhir/" + r.Type() + "/" + id, Resource: r})
}

// encounter makes what was added so far part of one Encounter.
func (s *sent) encounter(reference string) {
	for _, e := range s.bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok {
			o.Encounter = &fhir.Reference{Reference: reference}
		}
	}
}

// assessed reads and assesses what was sent.
func (s *sent) assessed(t testing.TB, p *protocol.Protocol) (*assess.Assessment, *intake.Reading) {
	t.Helper()
	reading, err := intake.Read(intake.Input{Bundle: s.bundle, Involved: s.involved, AsOf: s.asOf})
	if err != nil {
		t.Fatalf("intake.Read: %v", err)
	}
	return assess.Assess(&reading.Episode, p, reading.AsOf), reading
}

func (s *sent) answer(t testing.TB, o Output) *fhir.Bundle {
	t.Helper()
	a, reading := s.assessed(t, protocol.Default())
	return Build(a, reading, Options{Output: o, Words: wording.For("en"), Version: "1.2.3"})
}

const (
	firstVisit  = "2026-03-02T09:30:00+01:00"
	secondVisit = "2026-03-23T09:30:00+01:00"
	thirdVisit  = "2026-04-13T09:30:00+02:00"
)

// twoVisits is a patient who got stronger, good enough everywhere.
func twoVisits() *sent {
	s := newSent()
	s.visit(firstVisit, "60", "150", "4")
	s.visit(secondVisit, "80", "160", "2")
	return s
}

// threeVisits is the same patient, even at last.
func threeVisits() *sent {
	s := twoVisits()
	s.visit(thirdVisit, "93", "170", "1")
	return s
}

// onePosition is external rotation at the side only, in per cent of the left.
func onePosition(percent string) *sent {
	s := newSent()
	s.both(firstVisit, shoulder.External, shoulder.AtSide, percent)
	return s
}

// of returns the resources of a type, in order.
func of[T fhir.Resource](b *fhir.Bundle) (all []T) {
	for _, e := range b.Entry {
		if r, ok := e.Resource.(T); ok {
			all = append(all, r)
		}
	}
	return all
}

// coding reports whether a concept has one of our codes.
func hasCode(c *fhir.CodeableConcept, code string) bool {
	for _, coding := range c.Coding {
		if coding.Code == code {
			return true
		}
	}
	return false
}

// results returns the Observations with one of our codes, in order.
func results(b *fhir.Bundle, code string) (all []*fhir.Observation) {
	for _, o := range of[*fhir.Observation](b) {
		if hasCode(&o.Code, code) {
			all = append(all, o)
		}
	}
	return all
}

// componentOf returns the component with a code, nil if there is none.
func componentOf(o *fhir.Observation, code string) *fhir.Component {
	for i := range o.Component {
		if hasCode(&o.Component[i].Code, code) {
			return &o.Component[i]
		}
	}
	return nil
}

// componentValue writes the value of a component, "" if there is none.
func componentValue(o *fhir.Observation, code string) string {
	if c := componentOf(o, code); c != nil {
		return valueOf(c.Value)
	}
	return ""
}

// valueOf writes a value for comparison.
func valueOf(v fhir.Value) string {
	switch v := v.(type) {
	case *fhir.Quantity:
		return string(v.Value) + " " + v.Code
	case *fhir.CodeableConcept:
		return v.Coding[0].Code
	case fhir.DateTime:
		return string(v)
	case fhir.String:
		return string(v)
	case fhir.Boolean:
		return strconv.FormatBool(bool(v))
	case fhir.Integer:
		return strconv.Itoa(int(v))
	}
	return ""
}

func codesOf(concepts []fhir.CodeableConcept) (codes []string) {
	for _, c := range concepts {
		codes = append(codes, c.Coding[0].Code)
	}
	return codes
}

// scenarios are the inputs of the shipped scenarios.
func scenarios(t testing.TB) map[string]*sent {
	t.Helper()
	files, err := filepath.Glob("../../testdata/scenarios/*/input.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenario found: %v", err)
	}
	all := map[string]*sent{}
	for _, file := range files {
		body, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		all[filepath.Base(filepath.Dir(file))] = asSent(t, resource)
	}
	return all
}

// asSent takes a Bundle, or Parameters with one, as the operation does.
func asSent(t testing.TB, resource fhir.Resource) *sent {
	t.Helper()
	s := &sent{}
	switch resource := resource.(type) {
	case *fhir.Bundle:
		s.bundle = resource
	case *fhir.Parameters:
		for _, p := range resource.Parameter {
			switch p.Name {
			case "involvedSide":
				s.involved = map[string]shoulder.Side{"right": shoulder.Right, "left": shoulder.Left}[textOf(p.Value)]
			case "asOf":
				s.asOf = textOf(p.Value)
			}
			if bundle, ok := p.Resource.(*fhir.Bundle); ok {
				s.bundle = bundle
			}
		}
	}
	if s.bundle == nil {
		t.Fatalf("a %s without a Bundle", resource.Type())
	}
	return s
}

func textOf(v fhir.Value) string {
	switch v := v.(type) {
	case fhir.Code:
		return string(v)
	case fhir.Date:
		return string(v)
	case fhir.DateTime:
		return string(v)
	case fhir.String:
		return string(v)
	}
	return ""
}

// everyInput is the scenarios and the records that the tests here build.
func everyInput(t testing.TB) map[string]*sent {
	t.Helper()
	all := scenarios(t)
	all["built: two visits"] = twoVisits()
	all["built: three visits"] = threeVisits()
	all["built: a single position"] = onePosition("89.96")
	all["built: weakened"] = weakened()
	all["built: examined"] = weakened()
	all["built: examined"].statement(fhir.CodeExaminedAndCleared, fhir.Boolean(true))
	confirmed := all["built: examined"].statement(fhir.CodeMeasurementConfirmed, fhir.Boolean(true))
	confirmed.BodySite, confirmed.Focus = nil, []fhir.Reference{{Reference: "Observation/o5"}, {Reference: "Observation/o6"}}
	all["built: a permit"] = weakened()
	all["built: a permit"].repaired("2026-01-05")
	all["built: a permit"].statement(fhir.CodePermittedLoad, coded("load-progressive-at-side"))
	all["built: another unit"], all["built: weaker other side"] = newSent(), newSent()
	inAnotherUnit(all["built: another unit"])
	weakerOtherSide(all["built: weaker other side"])
	all["built: no good side"] = bothAffected()
	return all
}

// inAnotherUnit is two tests in kilograms of force written as newtons, then in
// newtons: 9.8 times as much on both sides.
func inAnotherUnit(s *sent) {
	for _, r := range shoulder.Trained {
		s.strength(firstVisit, r, shoulder.AtSide, "right", "8", "8")
		s.strength(firstVisit, r, shoulder.AtSide, "left", "10", "10")
	}
	for _, r := range shoulder.Trained {
		s.strength(secondVisit, r, shoulder.AtSide, "right", "78.4", "78.4")
		s.strength(secondVisit, r, shoulder.AtSide, "left", "98", "98")
	}
}

// weakerOtherSide is a left side that lost half of its strength, so that the right
// one seems even.
func weakerOtherSide(s *sent) {
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "50")
	s.strength(secondVisit, shoulder.External, shoulder.AtSide, "right", "48", "48")
	s.strength(secondVisit, shoulder.External, shoulder.AtSide, "left", "50", "50")
}

// weakened is a right side that lost two thirds of its strength.
func weakened() *sent {
	s := onePosition("90")
	s.both(secondVisit, shoulder.External, shoulder.AtSide, "30")
	return s
}

// statement adds what a clinician states about the right shoulder the day after the
// second visit.
func (s *sent) statement(code string, value fhir.Value) *fhir.Observation {
	o := s.observation(*coded(code), "2026-03-24", "right", value)
	o.Performer = []fhir.Reference{{Reference: "Practitioner/1"}}
	return o
}

// repaired adds a repair of the right cuff.
func (s *sent) repaired(day string) {
	procedure := &fhir.Procedure{Status: "completed", Subject: &fhir.Reference{Reference: "Patient/p1"}, Performed: fhir.DateTime(day)}
	procedure.ID = "repair"
	code := standard(fhir.SystemSNOMED, fhir.SNOMEDCuffRepair, "")
	procedure.Code, procedure.BodySite = &code, []fhir.CodeableConcept{rightShoulder}
	s.also(procedure, "repair")
}

// bothAffected is two visits of a patient without a good side, treated on the right.
func bothAffected() *sent {
	s := newSent()
	for _, site := range []fhir.CodeableConcept{rightShoulder, leftShoulder} {
		condition := &fhir.Condition{Subject: &fhir.Reference{Reference: "Patient/p1"}, BodySite: []fhir.CodeableConcept{site}}
		condition.ID = "c" + strconv.Itoa(len(s.bundle.Entry))
		code := standard(fhir.SystemSNOMED, fhir.SNOMEDRotatorCuffSyndrome, "")
		condition.Code = &code
		s.also(condition, condition.ID)
	}
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "60")
	s.strength(secondVisit, shoulder.External, shoulder.AtSide, "right", "90", "90")
	s.strength(secondVisit, shoulder.External, shoulder.AtSide, "left", "110", "110")
	return s
}
