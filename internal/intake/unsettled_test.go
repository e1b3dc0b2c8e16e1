package intake

import (
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func status(s string) option {
	return func(o *fhir.Observation) { o.Status = s }
}

// What is not final, or dated after today, decides nothing; it counts as missing if it may be the latest measurement.
//
// Source of the expected values: "less is never more", a rule of ours.
func TestWhatIsNotFinalCountsAsMissing(t *testing.T) {
	const last, earlier = "2026-11-21", "2026-11-01"
	knee := func(o *fhir.Observation) { o.BodySite = snomedConcept("72696002") }
	pain := func(changes ...option) *fhir.Observation {
		return observation("p", coding(fhir.SystemLOINC, fhir.LOINCPainNumericRating), fhir.Integer(8), changes...)
	}
	tests := []struct {
		name       string
		o          *fhir.Observation
		incomplete bool
	}{
		{"preliminary", strengthOf("x", at(last), status("preliminary")), true},
		{"registered, with a value", strengthOf("x", at(last), status("registered")), true},
		{"unknown", strengthOf("x", at(last), status("unknown")), true},
		{"no status of R4", strengthOf("x", at(last), status("FINAL")), true},
		{"without a date", strengthOf("x", undated(), status("preliminary")), true},
		{"pain", pain(at(last), status("preliminary")), true},
		{"under a modifier that is not understood", pain(at(last), func(o *fhir.Observation) {
			o.ModifierExtension = []fhir.Extension{{URL: "https://site.example/x"}}
		}), true},
		{"of a day that has not come", strengthOf("x", at("2027-03-30")), true},
		{"of a year that nobody measured in", strengthOf("x", at("1026-11-21")), true},
		{"over a period to the last day", strengthOf("x", func(o *fhir.Observation) { o.Effective = &fhir.Period{Start: earlier, End: last} }), true},

		{"of an earlier day", strengthOf("x", at(earlier), status("preliminary")), false},
		{"registered, to be done", strengthOf("x", at(last), status("registered"), value(nil), func(o *fhir.Observation) { o.Component = o.Component[:1] }), false},
		{"cancelled", strengthOf("x", at(last), status("cancelled")), false},
		{"entered in error", strengthOf("x", at(last), status("entered-in-error")), false},
		{"of a device", strengthOf("x", at(last), status("preliminary"), about("Device/d1")), false},
		{"pain of the knee", pain(at(last), status("preliminary"), knee), false},
		{"glucose", observation("x", coding(fhir.SystemLOINC, "2345-7"), ucum("5", "mmol/L"), at(last), status("preliminary")), false},
		{"a body mass", observation("x", coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum("80", "kg"), at(last), status("preliminary")), false},
		{"a result of ours", observation("x", coding(fhir.SystemShoulder, fhir.CodeLimbSymmetryIndex), ucum("80", "%"), at(last), status("preliminary")), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := strengthOf("s")
			s.Effective = fhir.DateTime(last)
			r := read(t, s, tt.o)
			if r.Episode.Incomplete != tt.incomplete || r.Used != 1 || saysMissing(r.Issues) != tt.incomplete {
				t.Errorf("incomplete %t, %d used, want %t and 1, and to be told; issues %+v", r.Episode.Incomplete, r.Used, tt.incomplete, r.Issues)
			}
		})
	}
}

// Who looks back misses nothing of what came later; a date that the clock has not reached is a slip then too.
func TestLookingBackMissesNothing(t *testing.T) {
	for when, incomplete := range map[string]bool{"2026-11-23": false, "2027-03-30": true} {
		b := bundle(strengthOf("s", at("2026-11-20")), strengthOf("x", at(when)))
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right, AsOf: "2026-11-21", Received: received})
		if r.Episode.Incomplete != incomplete || count(r.Issues, fault.DateFuture) != 1 {
			t.Errorf("measured on %s, assessed on 2026-11-21, received on 2026-11-25: incomplete %t, want %t", when, r.Episode.Incomplete, incomplete)
		}
	}
}

// A statement that is not final forbids what it would forbid if it were, and allows nothing.
func TestAStatementThatIsNotFinalHoldsBack(t *testing.T) {
	const none, elevated, careful = shoulder.LoadNone, shoulder.LoadElevated, shoulder.LoadSubmaximalAtSide
	permit := func(phase string, changes ...option) *fhir.Observation {
		return statedBy("p", fhir.CodePermittedLoad, ownConcept(phase), append([]option{at("2026-11-10"), status("preliminary")}, changes...)...)
	}
	said := func(code string, v fhir.Value) *fhir.Observation {
		return statedBy("p", code, v, at("2026-11-10"), status("unknown"))
	}
	tests := []struct {
		name  string
		o     *fhir.Observation
		held  bool
		phase shoulder.LoadPhase
	}{
		{"no load", permit("load-none"), true, none},
		{"no load, of a day that has not come", permit("load-none", at("2027-11-10")), true, none},
		{"a phase", permit("load-elevated"), true, elevated},
		{"a text", statedBy("p", fhir.CodePermittedLoad, &fhir.CodeableConcept{Text: "none"}, at("2026-11-10"), status("preliminary")), true, careful},
		{"not cleared by an examination", said(fhir.CodeExaminedAndCleared, fhir.Boolean(false)), true, none},
		{"not cleared for resisted work", said(fhir.CodeResistedClearance, fhir.Boolean(false)), true, none},

		{"cleared by an examination", said(fhir.CodeExaminedAndCleared, fhir.Boolean(true)), false, none},
		{"cleared for resisted work", said(fhir.CodeResistedClearance, fhir.Boolean(true)), false, none},
		{"withdrawn", permit("load-none", status("entered-in-error")), false, none},
		{"of a device", permit("load-none", about("Device/d1")), false, none},
		{"not made yet", permit("load-none", value(nil)), false, none},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := read(t, strengthOf("s"), tt.o).Episode
			if len(e.Unread) > 0 != tt.held || tt.held && e.Unread[0].Phase != tt.phase {
				t.Errorf("held %+v, want %t, %v (source: ours)", e.Unread, tt.held, tt.phase)
			}
			if len(e.Permits)+len(e.Clearances)+len(e.Examinations) > 0 {
				t.Errorf("it counts as made: %+v", e)
			}
		})
	}
}

// A statement in an entry that is not FHIR R4 forbids as far as it can be read.
func TestAStatementThatIsMalformedHoldsBack(t *testing.T) {
	permit := func(v fhir.Value, s string) *fhir.Observation {
		return statedBy("p", fhir.CodePermittedLoad, v, at("2026-11-10"), status(s))
	}
	tests := []struct {
		name  string
		made  *fhir.Observation
		held  bool
		phase shoulder.LoadPhase
	}{
		{"no load, no status", permit(ownConcept("load-none"), ""), true, shoulder.LoadNone},
		{"no value", permit(nil, "final"), true, shoulder.LoadSubmaximalAtSide},
		{"withdrawn", permit(ownConcept("load-none"), "entered-in-error"), false, 0},
		{"a measurement", strengthOf("x"), false, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bundle(strengthOf("s"))
			b.Entry = append(b.Entry, malformedEntry(tt.made))
			e := readInput(t, Input{Bundle: b, Involved: shoulder.Right}).Episode
			if len(e.Unread) > 0 != tt.held || tt.held && e.Unread[0].Phase != tt.phase {
				t.Errorf("held %+v, want %t, %v (source: ours)", e.Unread, tt.held, tt.phase)
			}
		})
	}
}
