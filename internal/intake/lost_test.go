package intake

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// lostSubjects are what the issues of an input name.
func lostSubjects(r *Reading) (kinds []fault.SubjectKind) {
	for _, i := range r.Issues {
		if i.Subject.Kind != fault.OfAnything {
			kinds = append(kinds, i.Subject.Kind)
		}
	}
	return kinds
}

// saysMissing reports whether an issue says that something counts as missing.
func saysMissing(issues []fault.Issue) bool {
	return slices.ContainsFunc(issues, func(i fault.Issue) bool { return strings.Contains(i.Detail, "counts as missing") })
}

// A measurement that was dropped because something of it cannot be read counts as missing
// if it may be the latest one, and is named.
func TestAMeasurementThatCannotBeReadCountsAsMissing(t *testing.T) {
	const last = "2026-11-21"
	scored := func(v fhir.Value, occasion, when string) *fhir.Observation {
		o := observation("p", coding(fhir.SystemLOINC, fhir.LOINCPainNumericRating), v, at(when))
		o.Component = []fhir.Component{{Code: *ownConcept(fhir.CodePainContext), Value: ownConcept(occasion)}}
		return o
	}
	absent := func(reason *fhir.CodeableConcept) *fhir.Observation {
		o := strengthOf("x")
		o.Value, o.Component, o.DataAbsentReason, o.Effective = nil, o.Component[:1], reason, fhir.DateTime(last)
		return o
	}
	reason := func(code string) *fhir.CodeableConcept {
		return concept(coding("http://terminology.hl7.org/CodeSystem/data-absent-reason", code))
	}
	noSide := absent(&fhir.CodeableConcept{Text: "too painful"})
	noSide.BodySite = nil
	tests := []struct {
		name       string
		o          *fhir.Observation
		incomplete bool
		names      fault.SubjectKind
	}{
		{"worst pain as a text", scored(fhir.String("9"), "worst-24h", last), true, fault.OfPain},
		{"pain of an unknown occasion", scored(fhir.Integer(9), "at-night", last), true, fault.OfPain},
		{"strength that nobody has", observation("p", coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength), ucum("900", "N"), at(last), func(o *fhir.Observation) {
			o.BodySite, o.Component = strengthOf("x").BodySite, strengthOf("x").Component[:1]
		}), false, fault.OfStrength},
		{"pain of 12", scored(fhir.Integer(12), "worst-24h", last), true, fault.OfPain},
		{"as a text, earlier", scored(fhir.String("9"), "worst-24h", "2026-01-01"), false, fault.OfPain},
		{"as a text, of a day that has not come", scored(fhir.String("9"), "worst-24h", "2027-01-01"), true, fault.OfPain},
		{"a pain", scored(fhir.Integer(9), "worst-24h", last), false, fault.OfAnything},
		{"no value", scored(nil, "worst-24h", last), false, fault.OfAnything},

		{"strength, too painful", absent(&fhir.CodeableConcept{Text: "too painful"}), true, fault.OfStrength},
		{"strength, a reason of the site's own", absent(concept(coding("https://site.example/reasons", "unable"))), true, fault.OfStrength},
		{"strength, an error", absent(reason("error")), true, fault.OfStrength},
		{"strength, too painful, of no side", noSide, true, fault.OfStrength},
		{"a grade, too painful", observation("x", coding(fhir.SystemShoulder, fhir.CodeExternalRotationGrade), nil, onSide(fhir.SNOMEDRightShoulder), at(last),
			with(fhir.CodeArmPosition, ownConcept("arm-at-side")), func(o *fhir.Observation) { o.DataAbsentReason = &fhir.CodeableConcept{Text: "too painful"} }), true, fault.OfGrade},
		{"a range, too painful", flexionOf("x", value(nil), at(last), func(o *fhir.Observation) { o.DataAbsentReason = &fhir.CodeableConcept{Text: "too painful"} }), false, fault.OfAnything},
		{"strength, not performed", absent(reason("not-performed")), false, fault.OfAnything},
		{"strength, declined", absent(reason("asked-declined")), false, fault.OfAnything},
		{"strength, no reason", absent(nil), false, fault.OfAnything},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := strengthOf("s")
			s.Effective = fhir.DateTime(last)
			r := read(t, s, tt.o)
			if r.Episode.Incomplete != tt.incomplete {
				t.Errorf("incomplete %t, want %t (source: ours); issues %v", r.Episode.Incomplete, tt.incomplete, summary(r.Issues))
			}
			if said := saysMissing(r.Issues); said != tt.incomplete {
				t.Errorf("an issue says that it counts as missing: %t, want %t; issues %+v", said, tt.incomplete, r.Issues)
			}
			names := lostSubjects(r)
			if (len(names) > 0) != (tt.names != fault.OfAnything) || len(names) > 0 && names[0] != tt.names {
				t.Errorf("named %v, want %v", names, tt.names)
			}
		})
	}
}

// An operation on the shoulder in a code system that is not read may be a repair.
func TestAnUnknownOperationOnTheShoulderHoldsBack(t *testing.T) {
	done := func(code *fhir.CodeableConcept, when string, sites ...*fhir.CodeableConcept) *fhir.Procedure {
		p := repairOf("p", when, sites...)
		p.Code = code
		return p
	}
	text := func(s string) *fhir.CodeableConcept { return &fhir.CodeableConcept{Text: s} }
	cpt := concept(coding("http://www.ama-assn.org/go/cpt", "29827"))
	ops := concept(coding("http://fhir.de/CodeSystem/bfarm/ops", "5-470.1"))
	system := func(s, c string) *fhir.CodeableConcept { return concept(coding(s, c)) }
	named := concept(coding(fhir.SystemSNOMED, "313209004"))
	named.Text = "Arthroscopic rotator cuff repair"
	right, knee := snomedConcept(fhir.SNOMEDRightShoulder), snomedConcept("72696002")
	withdrawn := done(cpt, "2026-10-01", right)
	withdrawn.Status = "entered-in-error"
	tests := []struct {
		name       string
		p          *fhir.Procedure
		incomplete bool
	}{
		{"CPT on the shoulder", done(cpt, "2026-10-01", right), true},
		{"an unknown code with a text", done(named, "2026-10-01"), true},
		{"a text in English", done(text("Arthroscopic rotator cuff repair"), "2026-10-01"), true},
		{"a text in German", done(text("Naht der Rotatorenmanschette"), "2026-10-01"), true},
		{"a text in French", done(text("Réparation de la coiffe"), "2026-10-01"), true},
		{"without a date", done(cpt, "", right), true},

		{"more than a year ago", done(cpt, "2025-01-01", right), false},
		{"of a day that has not come", done(cpt, "2027-06-01", right), true},
		{"CPT, no site", done(cpt, "2026-10-01"), true},
		{"ICD-10-PCS, no site", done(system("http://www.cms.gov/Medicare/Coding/ICD10", "0LQ14ZZ"), "2026-10-01"), true},
		{"OPS of the shoulder, no site", done(system("http://fhir.de/CodeSystem/bfarm/ops", "5-814.3"), "2026-10-01"), true},
		{"CPT of the knee, no site", done(system("http://www.ama-assn.org/go/cpt", "29881"), "2026-10-01"), false},
		{"CPT that is too short", done(system("http://www.ama-assn.org/go/cpt", "23"), "2026-10-01"), false},
		{"entered in error", withdrawn, false},
		{"of the knee", done(system("http://www.ama-assn.org/go/cpt", "29881"), "2026-10-01", knee), false},
		{"OPS, no site", done(ops, "2026-10-01"), false},
		{"an appendix", done(text("Appendectomy"), "2026-10-01"), false},
		{"physical therapy of the shoulder", done(snomedConcept("91251008"), "2026-11-01", right), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: bundle(strengthOf("s"), tt.p), Involved: shoulder.Right, Received: received})
			possible := len(r.Episode.Repairs) == 1 && r.Episode.Repairs[0].Kind == shoulder.RepairPossible
			if r.Episode.Incomplete != tt.incomplete || possible != tt.incomplete {
				t.Errorf("incomplete %t, want %t (source: ours); issues %v", r.Episode.Incomplete, tt.incomplete, summary(r.Issues))
			}
			if tt.name == "OPS, no site" && (len(r.Issues) != 2 || r.Issues[0].Subject.CodeSystem+r.Issues[1].Subject.CodeSystem != "OPS") {
				t.Errorf("issues %+v, want OPS to be named", r.Issues)
			}
		})
	}
}
