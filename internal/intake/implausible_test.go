package intake

import (
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func massOf(id string, kilograms fhir.Decimal, when string) *fhir.Observation {
	return observation(id, coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum(kilograms, "kg"), at(when))
}

// The limits are stated, not published: 700 N, 300 N.m.
func TestImplausibleForAnybody(t *testing.T) {
	const whole = "warning implausible-value Bundle.entry[1].resource.valueQuantity.value"
	tests := []struct {
		name   string
		o      *fhir.Observation
		trials int
		want   []string
	}{
		{"700 N", strengthOf("x", value(ucum("700", "N"))), 1, nil},
		{"more", strengthOf("x", value(ucum("700.1", "N"))), 0, []string{whole}},
		{"the old limit", strengthOf("x", value(ucum("2000", "N"))), 0, []string{whole}},
		{"beyond the old limit", strengthOf("x", value(ucum("2000.1", "N"))), 0, []string{whole}},
		{"in another unit", strengthOf("x", value(ucum("0.7001", "kN"))), 0, []string{whole}},
		{"300 N.m", strengthOf("x", value(ucum("300", "N.m"))), 1, nil},
		{"a larger torque", strengthOf("x", value(ucum("300.1", "N.m"))), 0, []string{whole}},
		{"one trial of three", strengthOf("x", value(nil), with(fhir.CodeTrial, ucum("90", "N")), with(fhir.CodeTrial, ucum("900", "N")), with(fhir.CodeTrial, ucum("95", "N"))), 2,
			[]string{"warning implausible-value Bundle.entry[1].resource.component[2].valueQuantity.value"}},
		{"below nothing", strengthOf("x", value(ucum("-0.1", "N"))), 0, []string{"warning value-range Bundle.entry[1].resource.valueQuantity.value"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, painOf("good", fhir.Integer(1)), tt.o)
			wantIssues(t, r.Issues, tt.want...)
			if got := len(r.Episode.Sessions[0].Trials); got != tt.trials || r.Used != 1+tt.trials {
				t.Errorf("%d trials, %d used, want %d and %d", got, r.Used, tt.trials, 1+tt.trials)
			}
		})
	}
}

// By hand: 5 N/kg are 350 N at 70 kg and 300 N at 60 kg.
func TestImplausibleForTheBodyMass(t *testing.T) {
	newton := func(v fhir.Decimal) option { return value(ucum(v, "N")) }
	const before, day, after = "2026-11-01", "2026-11-20", "2026-11-21"
	dropped := []string{"warning implausible-value Bundle.entry[1].resource.valueQuantity.value"}
	tests := []struct {
		name      string
		strength  *fhir.Observation
		resources []fhir.Resource
		want      []string
	}{
		{"no mass", strengthOf("s", newton("700")), nil, nil},
		{"at the limit", strengthOf("s", newton("350")), []fhir.Resource{massOf("m", "70", day)}, nil},
		{"over it", strengthOf("s", newton("350.01")), []fhir.Resource{massOf("m", "70", day)}, dropped},
		{"over it in another unit", strengthOf("s", value(ucum("36", "kgf"))), []fhir.Resource{massOf("m", "70", day)}, dropped},
		{"nothing", strengthOf("s", newton("0")), []fhir.Resource{massOf("m", "70", day)}, nil},
		{"weak", strengthOf("s", newton("12")), []fhir.Resource{massOf("m", "70", day)}, nil},
		{"mass of an earlier session", strengthOf("s", newton("351")), []fhir.Resource{massOf("m", "70", before)}, dropped},
		{"mass of a later session", strengthOf("s", newton("351")), []fhir.Resource{massOf("m", "70", after)}, nil},
		{"later in the same session", strengthOf("s", newton("351")), []fhir.Resource{massOf("m", "70", day+"T17:00:00Z")}, dropped},
		{"the latest mass counts", strengthOf("s", newton("320")), []fhir.Resource{massOf("m", "70", before), massOf("n", "60", day)}, dropped},
		{"the latest mass allows it", strengthOf("s", newton("320")), []fhir.Resource{massOf("m", "60", before), massOf("n", "70", day)}, nil},
		{"a mass that is not read", strengthOf("s", newton("351")), []fhir.Resource{massOf("m", "0.5", before)},
			[]string{"warning value-range Bundle.entry[2].resource.valueQuantity.value"}},
		{"a torque", strengthOf("s", value(ucum("300", "N.m"))), []fhir.Resource{massOf("m", "10", day)}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, append([]fhir.Resource{painOf("good", fhir.Integer(1)), tt.strength}, tt.resources...)...)
			wantIssues(t, r.Issues, tt.want...)
			kept := 0
			for _, s := range r.Episode.Sessions {
				kept += len(s.Trials)
			}
			if isDropped := slices.Equal(tt.want, dropped); isDropped == (kept > 0) {
				t.Errorf("%d trials kept, want it dropped: %v", kept, isDropped)
			}
		})
	}
}

// Nothing else is lost, and the Observation is another input without the trial.
func TestOneTrialIsImplausibleForTheBodyMass(t *testing.T) {
	s := strengthOf("s", value(nil), with(fhir.CodeTrial, ucum("90", "N")), with(fhir.CodeTrial, ucum("351", "N")), with(fhir.CodeTrial, ucum("95", "N")))
	source := func(r *Reading) Source {
		return r.Sources[slices.IndexFunc(r.Sources, func(s Source) bool { return s.Reference.Reference == "Observation/s" })]
	}
	all, some := read(t, s, massOf("m", "71", "2026-11-20")), read(t, s, massOf("m", "70", "2026-11-20"))
	wantIssues(t, all.Issues)
	wantIssues(t, some.Issues, "warning implausible-value Bundle.entry[0].resource.component[2].valueQuantity.value")
	if got, want := some.Issues[0].Diagnostic, `found "351.00 N at 70.00 kg"`; got != want {
		t.Errorf("Diagnostic = %s, want %s", got, want)
	}
	if got := some.Issues[0].Subject; got.Kind != fault.OfStrength || got.Motion != shoulder.External {
		t.Errorf("the issue is about %+v, want a strength of external rotation, which a page can name", got)
	}
	if got, want := source(some).Received, "90 N; 95 N"; got != want || some.Used != 3 {
		t.Errorf("Received = %q, %d used, want %q and 3", got, some.Used, want)
	}
	if source(some).Identity == source(all).Identity {
		t.Errorf("identity %q with and without the trial, want two", source(some).Identity)
	}
	if trials := some.Episode.Sessions[0].Trials; len(trials) != 2 || some.Sources[trials[0].Source] != source(some) {
		t.Errorf("trials %+v, want two of the Observation", trials)
	}
}

// A session that loses its only measurement is none.
func TestSessionOfAnImplausibleValueIsGone(t *testing.T) {
	r := read(t, massOf("m", "60", "2026-11-01"), strengthOf("s", value(ucum("301", "N")), at("2026-11-10")), strengthOf("t"))
	if len(r.Episode.Sessions) != 2 || len(r.Sources) != 2 {
		t.Errorf("%d sessions, %d sources, want 2 and 2", len(r.Episode.Sessions), len(r.Sources))
	}
	problems := refused(t, Input{Bundle: bundle(massOf("m", "60", "2026-11-01"), strengthOf("s", value(ucum("301", "N")))), Involved: shoulder.Right})
	wantIssues(t, problems.Issues, "error nothing-to-assess Bundle", "warning implausible-value Bundle.entry[1].resource.valueQuantity.value")
}
