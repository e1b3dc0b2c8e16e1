package intake

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// sameReading compares two readings but for the paths in them.
var sameReading = []gocmp.Option{
	gocmp.Comparer(func(a, b exact.Number) bool { return a.Cmp(b) == 0 && a.String() == b.String() }),
	cmpopts.IgnoreFields(Source{}, "Path"),
	cmpopts.IgnoreFields(fault.Issue{}, "Path"),
	cmpopts.SortSlices(func(a, b fault.Issue) bool {
		return fmt.Sprint(a.Detail, a.Diagnostic, a.Subject) < fmt.Sprint(b.Detail, b.Diagnostic, b.Subject)
	}),
}

var ids = rapid.SampledFrom([]string{"", "", "1", "2", "3", "4", "5", "6", "7", "8", "9"})

// anObservation draws a mostly usable Observation.
func anObservation(t *rapid.T) *fhir.Observation {
	codes := []fhir.Coding{
		coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength),
		coding(fhir.SystemShoulder, fhir.CodeInternalRotationStrength),
		coding(fhir.SystemShoulder, fhir.CodeExternalRotationGrade),
		coding(fhir.SystemLOINC, fhir.LOINCFlexionActive),
		coding(fhir.SystemLOINC, fhir.LOINCLeftAbductionActive),
		coding(fhir.SystemLOINC, fhir.LOINCPainVerbalRating),
		coding(fhir.SystemLOINC, fhir.LOINCBodyWeight),
		coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness),
		coding(fhir.SystemShoulder, fhir.CodeResistedClearance),
		coding(fhir.SystemShoulder, fhir.CodeArmHeldSteady),
		coding(fhir.SystemShoulder, fhir.CodeExaminedAndCleared),
		coding(fhir.SystemShoulder, fhir.CodePermittedLoad),
		coding(fhir.SystemShoulder, fhir.CodeMeasurementConfirmed),
		coding(fhir.SystemShoulder, fhir.CodeMeasurementConfirmed),
		coding(fhir.SystemShoulder, "unheard-of"),
		coding(fhir.SystemLOINC, "2345-7"),
	}
	units := rapid.SampledFrom([]string{"N", "kgf", "kg", "N.m", "deg", "lbf", "{score}"})
	number := fhir.Decimal(strconv.Itoa(rapid.IntRange(-1, 12).Draw(t, "value")))
	values := []fhir.Value{
		ucum(number, units.Draw(t, "unit")), ucum(number, "N"), ucum(number, "N"), fhir.Integer(4), fhir.Boolean(true),
		fhir.String("4-"), snomedConcept(fhir.SNOMEDLeftHanded), nil, fhir.Boolean(false), ownConcept("load-none"), ownConcept("load-elevated"),
	}
	o := observation(ids.Draw(t, "id"), rapid.SampledFrom(codes).Draw(t, "code"), rapid.SampledFrom(values).Draw(t, "value kind"))
	o.Status = rapid.SampledFrom([]string{"final", "final", "final", "amended", "entered-in-error"}).Draw(t, "status")
	if site := rapid.SampledFrom([]string{"", fhir.SNOMEDRightShoulder, fhir.SNOMEDLeftShoulder, fhir.SNOMEDRight}).Draw(t, "site"); site != "" {
		o.BodySite = snomedConcept(site)
	}
	for _, p := range rapid.SliceOfN(rapid.SampledFrom([]string{"arm-at-side", "flexion-90", "abduction-90"}), 0, 1).Draw(t, "position") {
		with(fhir.CodeArmPosition, ownConcept(p))(o)
	}
	for _, v := range rapid.SliceOfN(rapid.IntRange(0, 9), 0, 3).Draw(t, "trials") {
		with(fhir.CodeTrial, ucum(fhir.Decimal(strconv.Itoa(v)), "kgf"))(o)
	}
	o.Effective = fhir.DateTime(fmt.Sprintf("2026-11-%02d%s", rapid.IntRange(18, 21).Draw(t, "day"),
		rapid.SampledFrom([]string{"", "T09:00:00Z", "T23:30:00-08:00", "T00:10:00+13:00"}).Draw(t, "time")))
	if e := rapid.SampledFrom([]string{"", "", "Encounter/1", "Encounter/2", "http://example.org/fhir/Encounter/1"}).Draw(t, "encounter"); e != "" {
		o.Encounter = &fhir.Reference{Reference: e}
	}
	if v := rapid.SampledFrom([]string{"", "", "1", "2"}).Draw(t, "version"); v != "" {
		o.Meta = &fhir.Meta{VersionID: v}
	}
	o.Subject.Reference = rapid.SampledFrom([]string{"Patient/p1", "http://example.org/fhir/Patient/p1", "Patient/p1/_history/2"}).Draw(t, "subject")
	for _, by := range rapid.SliceOfN(rapid.SampledFrom([]string{"Practitioner/1", "Practitioner/2", "Patient/p1"}), 0, 2).Draw(t, "performer") {
		o.Performer = append(o.Performer, fhir.Reference{Reference: by})
	}
	if o.Code.Coding[0].Code == fhir.CodeMeasurementConfirmed {
		for _, to := range rapid.SliceOfN(ids, 0, 3).Draw(t, "focus") {
			o.Focus = append(o.Focus, fhir.Reference{Reference: "Observation/" + to})
		}
		focusedOn("Observation/good")(o)
	}
	return o
}

// aBundle draws a Bundle with Conditions and repairs among the Observations.
func aBundle(t *rapid.T) *fhir.Bundle {
	b := bundle(strengthOf("good", value(ucum("5", "N")))) // plausible for any body mass
	for _, o := range rapid.SliceOfN(rapid.Custom(anObservation), 0, 12).Draw(t, "observations") {
		b.Entry = append(b.Entry, fhir.Entry{Resource: o})
	}
	sites := rapid.SampledFrom([]*fhir.CodeableConcept{rightShoulder, leftShoulder, bothShoulders})
	for i, s := range rapid.SliceOfN(sites, 0, 2).Draw(t, "conditions") {
		b.Entry = append(b.Entry, fhir.Entry{Resource: conditionOf(strconv.Itoa(i), fhir.SNOMEDFullThicknessTear, s)})
	}
	for i, s := range rapid.SliceOfN(sites, 0, 2).Draw(t, "repairs") {
		b.Entry = append(b.Entry, fhir.Entry{Resource: repairOf(strconv.Itoa(i), rapid.SampledFrom([]string{"", "2026-06-01"}).Draw(t, "repaired"), s)})
	}
	return b
}

func TestOrderOfEntriesPlaysNoPart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := aBundle(t)
		in := Input{Bundle: b, Involved: shoulder.Right, Received: received}
		want, wantErr := Read(in)
		if wantErr != nil {
			t.Fatalf("Read: %v", wantErr)
		}
		shuffled := &fhir.Bundle{Entry: rapid.Permutation(b.Entry).Draw(t, "order")}
		in.Bundle = shuffled
		got, err := Read(in)
		if err != nil {
			t.Fatalf("Read of the same entries in another order: %v", err)
		}
		if diff := gocmp.Diff(want, got, sameReading...); diff != "" {
			t.Fatalf("another order of the entries (-want +got)\n%s", diff)
		}
	})
}

func TestUnrelatedObservationChangesOnlyIssues(t *testing.T) {
	unrelated := []*fhir.Observation{
		observation("glucose", coding(fhir.SystemLOINC, "2345-7"), ucum("5", "mmol/L"), visitedIn("Encounter/99"), at("2026-11-24T10:00:00Z")),
		observation("grip", coding(fhir.SystemLOINC, "83174-3"), ucum("40", "[lbf_av]"), onSide(fhir.SNOMEDLeftShoulder)),
		painOf("back", fhir.Integer(9), onSide("123961009"), at("2026-11-24T10:00:00Z")),
		observation("index", coding(fhir.SystemShoulder, fhir.CodeLimbSymmetryIndex), ucum("80", "%"), about("http://example.org/fhir/Patient/p1")),
	}
	rapid.Check(t, func(t *rapid.T) {
		b := aBundle(t)
		in := Input{Bundle: b, Involved: shoulder.Right, Received: received}
		want, err := Read(in)
		if err != nil {
			t.Fatalf("Read: %v", err)
		}
		more := append(append([]fhir.Entry{}, b.Entry...), fhir.Entry{Resource: rapid.SampledFrom(unrelated).Draw(t, "unrelated")})
		in.Bundle = &fhir.Bundle{Entry: more}
		got, err := Read(in)
		if err != nil {
			t.Fatalf("Read with an unrelated Observation: %v", err)
		}
		// Of one code there is one issue, which counts.
		if n := len(got.Issues) - len(want.Issues); n < 0 || n > 1 || slices.Equal(got.Issues, want.Issues) {
			t.Fatalf("issues %v, want one more than %v, or a higher count", got.Issues, want.Issues)
		}
		options := append([]gocmp.Option{cmpopts.IgnoreFields(Reading{}, "Issues")}, sameReading...)
		if diff := gocmp.Diff(want, got, options...); diff != "" {
			t.Fatalf("an unrelated Observation (-want +got)\n%s", diff)
		}
	})
}

// Whatever the unit, the strength is the same.
func TestUnitCancels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kilograms := rapid.IntRange(1, 71).Draw(t, "kgf") // 71 kgf are 696 N
		amount := fhir.Decimal(strconv.Itoa(kilograms))
		r, err := Read(Input{Involved: shoulder.Right, Bundle: bundle(
			strengthOf("a", value(ucum(amount, "kgf"))),
			strengthOf("b", value(ucum(amount+"000", "gf"))),
			strengthOf("c", value(ucum(amount, "kg"))),
			strengthOf("d", value(ucum(fhir.Decimal(exact.Int(int64(kilograms)).Mul(exact.MustParse("9.80665")).String()), "N"))))})
		if err != nil {
			t.Fatal(err)
		}
		trials := r.Episode.Sessions[0].Trials
		for _, trial := range trials[1:] {
			if trial.Value.Cmp(trials[0].Value) != 0 {
				t.Fatalf("%v and %v N, want the same", trial.Value, trials[0].Value)
			}
		}
	})
}

// Absent elements are no reason to fail, whichever they are.
func TestAbsentElementsDoNoHarm(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	seldom := func() bool { return random.IntN(4) == 0 }
	for range 2000 {
		o := strengthOf("a", with(fhir.CodeTrial, ucum("1", "N")), with(fhir.CodePainDuringTest, nil))
		for _, drop := range []func(){
			func() { o.Code = fhir.CodeableConcept{} },
			func() { o.Subject = nil },
			func() { o.Subject = &fhir.Reference{} },
			func() { o.Subject = &fhir.Reference{Identifier: &fhir.Identifier{}} },
			func() { o.Encounter = &fhir.Reference{} },
			func() { o.Encounter = &fhir.Reference{Reference: "#"} },
			func() { o.Effective = (*fhir.Period)(nil) },
			func() { o.Value = (*fhir.Quantity)(nil) },
			func() { o.Value = (*fhir.CodeableConcept)(nil) },
			func() { o.BodySite = &fhir.CodeableConcept{Extension: make([]fhir.Extension, 1)} },
			func() { o.BodySite = nil },
			func() { o.Method = &fhir.CodeableConcept{} },
			func() { o.Performer = make([]fhir.Reference, 1) },
			func() { o.Code = *ownConcept(fhir.CodeExaminedAndCleared) },
			func() { o.Code = *ownConcept(fhir.CodePermittedLoad) },
			func() { o.Code = *ownConcept(fhir.CodeMeasurementConfirmed) },
			func() { o.Value = fhir.Boolean(false) },
			func() { o.Focus = make([]fhir.Reference, 1) },
			func() { o.DerivedFrom = []fhir.Reference{{Reference: "#"}, {Identifier: &fhir.Identifier{}}} },
			func() { o.Effective = nil },
			func() { o.Component = make([]fhir.Component, 2) },
			func() { o.Component[0].Value = (*fhir.CodeableConcept)(nil) },
			func() { o.Component[0].Value = &fhir.CodeableConcept{} },
			func() { o.Identifier = make([]fhir.Identifier, 1) },
			func() { o.Meta = &fhir.Meta{} },
			func() { o.Contained = make([]fhir.Resource, 1) },
			func() { o.ID = "" },
		} {
			if seldom() {
				drop()
			}
		}
		_, _ = Read(Input{Bundle: bundle(o, &fhir.Condition{}, &fhir.Procedure{}, &fhir.Encounter{}, &fhir.Goal{}, &fhir.CarePlan{},
			&fhir.DiagnosticReport{}, &fhir.Provenance{}, &fhir.Device{}, &fhir.Other{}, &fhir.Parameters{}, &fhir.Bundle{})})
	}
}
