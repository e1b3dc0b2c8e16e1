package intake

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// received is the edge's clock in the tests.
var received = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func coding(system, c string) fhir.Coding { return fhir.Coding{System: system, Code: c} }

func concept(codings ...fhir.Coding) *fhir.CodeableConcept {
	return &fhir.CodeableConcept{Coding: codings}
}

func ownConcept(c string) *fhir.CodeableConcept { return concept(coding(fhir.SystemShoulder, c)) }

func snomedConcept(c string) *fhir.CodeableConcept { return concept(coding(fhir.SystemSNOMED, c)) }

func ucum(value fhir.Decimal, unit string) *fhir.Quantity {
	return &fhir.Quantity{Value: value, Unit: unit, System: fhir.SystemUCUM, Code: unit}
}

func component(c string, v fhir.Value) fhir.Component {
	return fhir.Component{Code: *ownConcept(c), Value: v}
}

// option changes a resource under test.
type option func(*fhir.Observation)

func observation(id string, c fhir.Coding, v fhir.Value, options ...option) *fhir.Observation {
	o := &fhir.Observation{
		Status:    "final",
		Code:      *concept(c),
		Subject:   &fhir.Reference{Reference: "Patient/p1"},
		Effective: fhir.DateTime("2026-11-20T10:00:00Z"),
		Value:     v,
	}
	o.ID = id
	for _, change := range options {
		change(o)
	}
	return o
}

// strengthOf is a usable strength: external rotation of the right side, arm at
// the side, 100 N.
func strengthOf(id string, options ...option) *fhir.Observation {
	return observation(id, coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength), ucum("100", "N"),
		append([]option{onSide(fhir.SNOMEDRightShoulder), with(fhir.CodeArmPosition, ownConcept("arm-at-side"))}, options...)...)
}

func flexionOf(id string, options ...option) *fhir.Observation {
	return observation(id, coding(fhir.SystemLOINC, fhir.LOINCFlexionActive), ucum("150", "deg"),
		append([]option{onSide(fhir.SNOMEDRightShoulder)}, options...)...)
}

func painOf(id string, v fhir.Value, options ...option) *fhir.Observation {
	return observation(id, coding(fhir.SystemLOINC, fhir.LOINCPainVerbalRating), v, options...)
}

func onSide(c string) option { return func(o *fhir.Observation) { o.BodySite = snomedConcept(c) } }

func with(c string, v fhir.Value) option {
	return func(o *fhir.Observation) { o.Component = append(o.Component, component(c, v)) }
}

func withoutPosition() option {
	return func(o *fhir.Observation) {
		o.Component = slices.DeleteFunc(o.Component, func(x fhir.Component) bool {
			return x.Code.Coding[0].Code == fhir.CodeArmPosition
		})
	}
}

func value(v fhir.Value) option { return func(o *fhir.Observation) { o.Value = v } }

func at(when string) option {
	return func(o *fhir.Observation) { o.Effective = fhir.DateTime(when) }
}

func about(reference string) option {
	return func(o *fhir.Observation) { o.Subject = &fhir.Reference{Reference: reference} }
}

func visitedIn(reference string) option {
	return func(o *fhir.Observation) { o.Encounter = &fhir.Reference{Reference: reference} }
}

func bundle(resources ...fhir.Resource) *fhir.Bundle {
	b := &fhir.Bundle{BundleType: "collection"}
	for _, r := range resources {
		b.Entry = append(b.Entry, fhir.Entry{Resource: r})
	}
	return b
}

// read reads resources with the right side as the involved one.
func read(t *testing.T, resources ...fhir.Resource) *Reading {
	t.Helper()
	return readInput(t, Input{Bundle: bundle(resources...), Involved: shoulder.Right, Received: received})
}

func readInput(t *testing.T, in Input) *Reading {
	t.Helper()
	reading, err := Read(in)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	return reading
}

// refused reads an input that must be refused.
func refused(t *testing.T, in Input) *fault.Errors {
	t.Helper()
	reading, err := Read(in)
	problems, ok := err.(*fault.Errors) //nolint:errorlint // the concrete type is what Read promises
	if !ok {
		t.Fatalf("Read = %+v, %v, want a refusal", reading, err)
	}
	return problems
}

// summary writes issues as "severity kind path".
func summary(issues []fault.Issue) []string {
	var lines []string
	for _, i := range issues {
		lines = append(lines, fmt.Sprintf("%v %v %s", i.Severity, i.Kind, i.Path))
	}
	return lines
}

func wantIssues(t *testing.T, issues []fault.Issue, want ...string) {
	t.Helper()
	if got := summary(issues); !slices.Equal(got, want) {
		t.Errorf("issues\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
	for _, i := range issues {
		if i.Detail == "" {
			t.Errorf("%v at %s has no detail", i.Kind, i.Path)
		}
	}
}

func wantNumber(t *testing.T, what string, got exact.Number, want string) {
	t.Helper()
	if got.Cmp(exact.MustParse(want)) != 0 {
		t.Errorf("%s = %v, want %s", what, got, want)
	}
}
