package intake

import (
	"slices"
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func by(performers ...fhir.Reference) option {
	return func(o *fhir.Observation) { o.Performer = performers }
}

// clinician is a performer whose statements count.
var clinician = fhir.Reference{Reference: "Practitioner/1"}

func undated() option { return func(o *fhir.Observation) { o.Effective = nil } }

// statedBy is a statement of a clinician, dated to a day.
func statedBy(id, c string, v fhir.Value, options ...option) *fhir.Observation {
	return observation(id, coding(fhir.SystemShoulder, c), v, append([]option{by(clinician), at("2026-11-21")}, options...)...)
}

func examinationOf(yes bool, options ...option) *fhir.Observation {
	return statedBy("x", fhir.CodeExaminedAndCleared, fhir.Boolean(yes), options...)
}

func permitOf(phase string, options ...option) *fhir.Observation {
	return statedBy("x", fhir.CodePermittedLoad, ownConcept(phase), options...)
}

const statedAt = " Bundle.entry[1].resource"

// A clearance and an examination are read alike.
func TestExamination(t *testing.T) {
	day := time.Date(2026, 11, 21, 0, 0, 0, 0, time.UTC)
	unknownModifier := []fhir.Extension{{URL: "http://example.org/negated", Value: fhir.Boolean(true)}}
	bothSides := func(o *fhir.Observation) {
		o.BodySite = concept(coding(fhir.SystemSNOMED, fhir.SNOMEDRight), coding(fhir.SystemSNOMED, fhir.SNOMEDLeft))
	}
	tests := []struct {
		name string
		o    *fhir.Observation
		want []shoulder.Statement
		bad  []string
	}{
		{"cleared", examinationOf(true), []shoulder.Statement{{When: day, IsDay: true, Cleared: true}}, nil},
		{"refused", examinationOf(false), []shoulder.Statement{{When: day, IsDay: true}}, nil},
		{"with a time", examinationOf(true, at("2026-11-21T08:30:00Z")), []shoulder.Statement{{When: day.Add(8*time.Hour + 30*time.Minute), Cleared: true}}, nil},
		{"of one side", examinationOf(true, onSide(fhir.SNOMEDLeftShoulder)), []shoulder.Statement{{When: day, IsDay: true, Side: shoulder.Left, Cleared: true}}, nil},

		{"cleared without a date", examinationOf(true, undated()), nil, []string{"warning date-missing" + statedAt}},
		{"cleared in a month", examinationOf(true, at("2026-11")), nil, []string{"warning date-missing" + statedAt + ".effectiveDateTime"}},
		{"cleared in the year 1", examinationOf(true, at("0001-01-01")), nil, []string{"warning date-missing" + statedAt + ".effectiveDateTime"}},
		{"cleared in the future", examinationOf(true, at("2027-01-01")), nil, []string{"warning date-future" + statedAt + ".effectiveDateTime"}},
		{"cleared by nobody", examinationOf(true, by()), nil, []string{"warning performer-missing" + statedAt + ".performer"}},
		{"cleared by nobody, on no day", examinationOf(true, by(), undated()), nil,
			[]string{"warning date-missing" + statedAt, "warning performer-missing" + statedAt + ".performer"}},
		{"cleared on two sides", examinationOf(true, bothSides), nil, []string{"warning side-conflict" + statedAt + ".bodySite"}},

		{"refused without a date", examinationOf(false, undated()), []shoulder.Statement{{}}, []string{"warning date-missing" + statedAt}},
		{"refused in the year 1", examinationOf(false, at("0001-01-01T00:00:00+01:00")), []shoulder.Statement{{}}, []string{"warning date-missing" + statedAt + ".effectiveDateTime"}},
		{"refused in the future", examinationOf(false, at("2027-01-01")), []shoulder.Statement{{}}, []string{"warning date-future" + statedAt + ".effectiveDateTime"}},
		{"refused by nobody", examinationOf(false, by()), []shoulder.Statement{{When: day, IsDay: true}}, []string{"information performer-missing" + statedAt + ".performer"}},
		{"refused by nobody, on no day", examinationOf(false, by(), undated()), []shoulder.Statement{{}},
			[]string{"warning date-missing" + statedAt, "information performer-missing" + statedAt + ".performer"}},
		{"refused on two sides", examinationOf(false, bothSides), []shoulder.Statement{{When: day, IsDay: true}}, []string{"warning side-conflict" + statedAt + ".bodySite"}},
		{"refused with an unknown component", examinationOf(false, with("speed", fhir.Integer(60))), []shoulder.Statement{{When: day, IsDay: true}},
			[]string{"warning code-unknown" + statedAt + ".component[0].code.coding[0]"}},

		{"neither", examinationOf(false, value(nil)), nil, []string{"information value-missing" + statedAt}},
		{"in words", examinationOf(false, value(fhir.String("no")), by(), undated()), nil,
			[]string{"warning date-missing" + statedAt, "warning performer-missing" + statedAt + ".performer", "warning value-kind" + statedAt + ".valueString"}},
		{"in error", examinationOf(false, func(o *fhir.Observation) { o.Status = "entered-in-error" }), nil, []string{"warning status-retracted" + statedAt + ".status"}},
		{"negated by an extension", examinationOf(false, func(o *fhir.Observation) { o.ModifierExtension = unknownModifier }), nil,
			[]string{"warning modifier-unknown" + statedAt + ".modifierExtension[0]"}},
		{"about the flagged measurement", examinationOf(true, focusedOn("Observation/s")), []shoulder.Statement{{When: day, IsDay: true, Cleared: true}}, nil},
		{"about another patient", examinationOf(true, focusedOn("Patient/p2")), nil, []string{"warning patient-other" + statedAt + ".focus[0]"}},
	}
	kinds := []struct {
		name, code string
		of         func(*Reading) []shoulder.Statement
	}{
		{"examination", fhir.CodeExaminedAndCleared, func(r *Reading) []shoulder.Statement { return r.Episode.Examinations }},
		{"clearance", fhir.CodeResistedClearance, func(r *Reading) []shoulder.Statement { return r.Episode.Clearances }},
	}
	for _, kind := range kinds {
		for _, tt := range tests {
			t.Run(kind.name+" "+tt.name, func(t *testing.T) {
				tt.o.Code = *concept(coding(fhir.SystemShoulder, kind.code))
				r := read(t, strengthOf("s"), tt.o)
				wantIssues(t, r.Issues, tt.bad...)
				got := slices.Clone(kind.of(r))
				for i, e := range got {
					if s := r.Sources[e.Source]; s.Reference.Reference != "Observation/x" || s.Kind != "Observation" {
						t.Errorf("source %+v, want the statement", s)
					}
					got[i].Source = 0
				}
				if !slices.Equal(got, tt.want) {
					t.Errorf("got %+v, want %+v", got, tt.want)
				}
			})
		}
	}
}

// Who is a clinician: FHIR R4, Observation.performer and Reference.type.
func TestClinician(t *testing.T) {
	person := func(typeName string) option {
		return func(o *fhir.Observation) { o.Contained = []fhir.Resource{&fhir.Other{TypeName: typeName, ID: "c"}} }
	}
	const urn = "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	license := &fhir.Identifier{System: "urn:oid:1.2.4", Value: "7"}
	tests := []struct {
		name string
		by   fhir.Reference
		also option
		ok   bool
	}{
		{"relative", fhir.Reference{Reference: "Practitioner/1"}, nil, true},
		{"role", fhir.Reference{Reference: "PractitionerRole/1"}, nil, true},
		{"absolute", fhir.Reference{Reference: "https://ehr.example/fhir/Practitioner/1"}, nil, true},
		{"of a version", fhir.Reference{Reference: "Practitioner/1/_history/2"}, nil, true},
		{"by type", fhir.Reference{Reference: "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11", TypeName: "Practitioner"}, nil, true},
		{"identifier and type", fhir.Reference{Identifier: license, TypeName: "Practitioner"}, nil, true},
		{"in the Bundle", fhir.Reference{Reference: urn}, nil, true},
		{"contained", fhir.Reference{Reference: "#c"}, person("Practitioner"), true},

		{"organization", fhir.Reference{Reference: "Organization/1"}, nil, false},
		{"team", fhir.Reference{Reference: "CareTeam/1"}, nil, false},
		{"patient", fhir.Reference{Reference: "Patient/p1"}, nil, false},
		{"relative of the patient", fhir.Reference{Reference: "RelatedPerson/1"}, nil, false},
		{"device", fhir.Reference{Reference: "Device/1"}, nil, false},
		{"patient who says to be a clinician", fhir.Reference{Reference: "Patient/p1", TypeName: "Practitioner"}, nil, false},
		{"contained team", fhir.Reference{Reference: "#c", TypeName: "Practitioner"}, person("CareTeam"), false},
		{"contained and not there", fhir.Reference{Reference: "#d", TypeName: "Practitioner"}, person("Practitioner"), false},
		{"unknown urn", fhir.Reference{Reference: "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"}, nil, false},
		{"identifier alone", fhir.Reference{Identifier: license}, nil, false},
		{"name alone", fhir.Reference{Display: "A. Surgeon"}, nil, false},
		{"type alone", fhir.Reference{TypeName: "Practitioner", Display: "A. Surgeon"}, nil, false},
		{"nothing", fhir.Reference{}, nil, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := examinationOf(true, by(tt.by))
			if tt.also != nil {
				tt.also(o)
			}
			b := bundle(strengthOf("s"), o)
			b.Entry = append(b.Entry, fhir.Entry{FullURL: urn, Resource: &fhir.Other{TypeName: "Practitioner", ID: "9"}})
			r := readInput(t, Input{Bundle: b, Involved: shoulder.Right, Received: received})
			if got := len(r.Episode.Examinations) == 1; got != tt.ok {
				t.Errorf("used = %v, want %v; issues %v", got, tt.ok, summary(r.Issues))
			}
		})
	}
	if r := read(t, strengthOf("s"), examinationOf(true, by(fhir.Reference{Reference: "Patient/p1"}, clinician))); len(r.Episode.Examinations) != 1 {
		t.Error("a clinician beside the patient is not one, want the statement used")
	}
}

func TestPermit(t *testing.T) {
	day := time.Date(2026, 11, 21, 0, 0, 0, 0, time.UTC)
	const value = ".valueCodeableConcept"
	permit := func(p shoulder.LoadPhase) []shoulder.Permit { return []shoulder.Permit{{When: day, Phase: p}} }
	tests := []struct {
		name string
		o    *fhir.Observation
		want []shoulder.Permit
		bad  []string
	}{
		{"load-none", permitOf("load-none"), permit(shoulder.LoadNone), nil},
		{"load-submaximal-at-side", permitOf("load-submaximal-at-side"), permit(shoulder.LoadSubmaximalAtSide), nil},
		{"load-progressive-at-side", permitOf("load-progressive-at-side"), permit(shoulder.LoadProgressiveAtSide), nil},
		{"load-elevated", permitOf("load-elevated"), permit(shoulder.LoadElevated), nil},
		{"load-functional", permitOf("load-functional"), permit(shoulder.LoadFunctional), nil},
		{"load-sport", permitOf("load-sport"), permit(shoulder.LoadSport), nil},
		{"of one side", permitOf("load-sport", onSide(fhir.SNOMEDRightShoulder)), []shoulder.Permit{{When: day, Side: shoulder.Right, Phase: shoulder.LoadSport}}, nil},
		{"beside another system", permitOf("", func(o *fhir.Observation) {
			o.Value = concept(coding("urn:site", "P3"), coding(fhir.SystemShoulder, "load-elevated"))
		}),
			permit(shoulder.LoadElevated), nil},

		{"unknown phase", permitOf("load-all"), nil, []string{"warning code-unknown" + statedAt + value + ".coding[0]"}},
		{"a code of ours that is no phase", permitOf("arm-at-side"), nil, []string{"warning code-unknown" + statedAt + value + ".coding[0]"}},
		{"phase of another system", permitOf("", func(o *fhir.Observation) { o.Value = concept(coding("urn:site", "load-none")) }), nil,
			[]string{"warning code-unknown" + statedAt + value}},
		{"two phases", permitOf("", func(o *fhir.Observation) {
			o.Value = concept(coding(fhir.SystemShoulder, "load-sport"), coding(fhir.SystemShoulder, "load-none"))
		}), permit(shoulder.LoadNone), []string{"warning duplicate" + statedAt + value}},
		{"two phases, the careful one first", permitOf("", func(o *fhir.Observation) {
			o.Value = concept(coding(fhir.SystemShoulder, "load-none"), coding(fhir.SystemShoulder, "load-sport"))
		}), permit(shoulder.LoadNone), []string{"warning duplicate" + statedAt + value}},
		{"no coding", permitOf("", func(o *fhir.Observation) { o.Value = &fhir.CodeableConcept{Text: "load-none"} }), nil, []string{"warning code-unknown" + statedAt + value}},
		{"nil concept", permitOf("", func(o *fhir.Observation) { o.Value = (*fhir.CodeableConcept)(nil) }), nil, []string{"warning value-kind" + statedAt + value}},
		{"a boolean", permitOf("", func(o *fhir.Observation) { o.Value = fhir.Boolean(true) }), nil, []string{"warning value-kind" + statedAt + ".valueBoolean"}},
		{"no value", permitOf("", func(o *fhir.Observation) { o.Value = nil }), nil, []string{"information value-missing" + statedAt}},

		{"no date", permitOf("load-elevated", undated()), nil, []string{"warning date-missing" + statedAt}},
		{"no load, no date", permitOf("load-none", undated()), nil, []string{"warning date-missing" + statedAt}},
		{"future", permitOf("load-none", at("2027-01-01")), nil, []string{"warning date-future" + statedAt + ".effectiveDateTime"}},
		{"no performer", permitOf("load-submaximal-at-side", by()), nil, []string{"warning performer-missing" + statedAt + ".performer"}},
		{"by the patient", permitOf("load-elevated", by(fhir.Reference{Reference: "Patient/p1"})), nil, []string{"warning performer-missing" + statedAt + ".performer"}},
		{"no load, no performer", permitOf("load-none", by()), permit(shoulder.LoadNone), []string{"information performer-missing" + statedAt + ".performer"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("s"), tt.o)
			wantIssues(t, r.Issues, tt.bad...)
			got := slices.Clone(r.Episode.Permits)
			for i := range got {
				got[i].Source = 0
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("permits %+v, want %+v", got, tt.want)
			}
		})
	}
}

func TestStatementsAreOldestFirst(t *testing.T) {
	examined := func(id, when string, yes bool) *fhir.Observation {
		return statedBy(id, fhir.CodeExaminedAndCleared, fhir.Boolean(yes), at(when))
	}
	permitted := func(id, when, phase string) *fhir.Observation {
		return statedBy(id, fhir.CodePermittedLoad, ownConcept(phase), at(when))
	}
	r := read(t, strengthOf("s"), examined("b", "2026-11-10", true), examined("c", "2026-11", false), examined("a", "2026-10-01", false),
		permitted("e", "2026-11-10", "load-none"), permitted("d", "2026-10-01", "load-sport"))
	examinations := r.Episode.Examinations
	if len(examinations) != 3 || !examinations[0].When.IsZero() || examinations[1].Cleared || !examinations[2].Cleared {
		t.Errorf("examinations %+v, want the undated refusal, the refusal and the clearance", examinations)
	}
	if p := r.Episode.Permits; len(p) != 2 || p[0].Phase != shoulder.LoadSport || p[1].Phase != shoulder.LoadNone {
		t.Errorf("permits %+v, want the older first", p)
	}
	if len(r.Episode.Sessions) != 1 || r.Used != 6 {
		t.Errorf("%d sessions, %d used, want the one of the strength, and 6", len(r.Episode.Sessions), r.Used)
	}
}

// A statement is nothing to assess.
func TestOnlyStatements(t *testing.T) {
	problems := refused(t, Input{Bundle: bundle(examinationOf(true), permitOf("load-none")), Involved: shoulder.Right, Received: received})
	if got := summary(problems.Issues)[0]; got != "error nothing-to-assess Bundle" {
		t.Errorf("refused with %s, want nothing to assess", got)
	}
}

func TestIdentityOfStatements(t *testing.T) {
	of := func(o fhir.Resource) string {
		r := read(t, strengthOf("s"), o)
		i := slices.IndexFunc(r.Sources, func(s Source) bool { return s.Path == "Bundle.entry[1].resource" })
		return r.Sources[i].Identity
	}
	kind := func(c string) *fhir.Procedure {
		p := repairOf("x", "2026-06-01", rightShoulder)
		p.Code = snomedConcept(c)
		return p
	}
	localPhase := func(phase string) *fhir.Observation {
		return permitOf("", func(o *fhir.Observation) {
			o.Value = concept(coding("urn:site", "P"), coding(fhir.SystemShoulder, phase))
		})
	}
	confirmed := func(options ...option) *fhir.Observation {
		return statedBy("x", fhir.CodeMeasurementConfirmed, fhir.Boolean(true), append([]option{focusedOn("Observation/s")}, options...)...)
	}
	tests := []struct {
		name string
		a, b fhir.Resource
	}{
		{"examination", examinationOf(true), examinationOf(false)},
		{"day of the examination", examinationOf(true), examinationOf(true, at("2026-11-22"))},
		{"side of the examination", examinationOf(true), examinationOf(true, onSide(fhir.SNOMEDLeftShoulder))},
		{"clearance and examination", statedBy("x", fhir.CodeResistedClearance, fhir.Boolean(true)), examinationOf(true)},
		{"permitted load", permitOf("load-none"), permitOf("load-sport")},
		{"permitted load behind a code of the site", localPhase("load-none"), localPhase("load-sport")},
		{"confirmation", confirmed(), confirmed(value(fhir.Boolean(false)))},
		{"kind of the repair", kind(fhir.SNOMEDCuffRepair), kind(fhir.SNOMEDCuffAvulsionRepair)},
	}
	for _, tt := range tests {
		if a, b := of(tt.a), of(tt.b); a == b {
			t.Errorf("%s: a changed statement keeps the identity %q, want another", tt.name, a)
		}
	}
}

// What a site's own code says is read as well.
func TestSiteCodesOfStatements(t *testing.T) {
	codes, err := ReadCodeMap([]byte(element(`{"code":"EX","target":[{"code":"examined-and-cleared-to-load","equivalence":"equal"}]},
		{"code":"PL","target":[{"code":"permitted-load","equivalence":"equal"}]},
		{"code":"P3","target":[{"code":"load-elevated","equivalence":"wider"}]}`)))
	if err != nil {
		t.Fatal(err)
	}
	examined, permitted := examinationOf(true), permitOf("")
	permitted.ID = "y"
	examined.Code, permitted.Code, permitted.Value = *concept(coding("urn:site", "EX")), *concept(coding("urn:site", "PL")), concept(coding("urn:site", "P3"))
	r := readInput(t, Input{Bundle: bundle(strengthOf("s"), examined, permitted), Involved: shoulder.Right, Received: received, Codes: codes})
	wantIssues(t, r.Issues)
	if len(r.Episode.Examinations) != 1 || len(r.Episode.Permits) != 1 || r.Episode.Permits[0].Phase != shoulder.LoadElevated {
		t.Errorf("examinations %v, permits %v, want one each, elevated", r.Episode.Examinations, r.Episode.Permits)
	}
}
