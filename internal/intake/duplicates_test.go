package intake

import (
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func version(id, updated string) option {
	return func(o *fhir.Observation) { o.Meta = &fhir.Meta{VersionID: id, LastUpdated: updated} }
}

func named(ids ...fhir.Identifier) option {
	return func(o *fhir.Observation) { o.Identifier = ids }
}

func TestDuplicates(t *testing.T) {
	const urn = "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	id := fhir.Identifier{System: "urn:site", Value: "1"}
	other := fhir.Identifier{System: "urn:site", Value: "2"}
	newton := func(v fhir.Decimal) option { return value(ucum(v, "N")) }
	entry := func(url string, o *fhir.Observation) fhir.Entry { return fhir.Entry{FullURL: url, Resource: o} }
	// onServers is a resource of the same id on two servers.
	onServers := func(first, second fhir.Decimal) []fhir.Entry {
		return []fhir.Entry{
			entry("http://a.example/Observation/a", strengthOf("a", newton(first), about("urn:oid:1.2.3"), version("1", ""))),
			entry("http://b.example/Observation/a", strengthOf("a", newton(second), about("urn:oid:1.2.3"), version("1", ""))),
		}
	}
	tests := []struct {
		name    string
		entries []fhir.Entry
		want    []string // values that stay
	}{
		{"same id, higher version", []fhir.Entry{entry("", strengthOf("a", newton("1"), version("2", ""))), entry("", strengthOf("a", newton("2"), version("10", "")))}, []string{"2"}},
		{"same id, later update", []fhir.Entry{
			entry("", strengthOf("a", newton("1"), version("", "2026-11-20T12:00:00Z"))),
			entry("", strengthOf("a", newton("2"), version("", "2026-11-20T12:00:00+02:00"))),
		}, []string{"1"}},
		{"the same content with and without a version", []fhir.Entry{entry("", strengthOf("a", version("1", ""))), entry("", strengthOf("a"))}, []string{"100"}},
		{"the same twice", []fhir.Entry{entry("", strengthOf("a")), entry("", strengthOf("a"))}, []string{"100"}},
		{"same fullUrl", []fhir.Entry{entry(urn, strengthOf("", newton("1"), version("1", ""))), entry(urn, strengthOf("", newton("2"), version("2", "")))}, []string{"2"}},
		{"same id under two urns", []fhir.Entry{entry(urn, strengthOf("a")), entry(urn+"x", strengthOf("a"))}, []string{"100"}},
		{"same id on two servers", []fhir.Entry{entry("http://a.example/Observation/a", strengthOf("a", newton("1"), about("urn:oid:1.2.3"))), entry("http://b.example/Observation/a", strengthOf("a", newton("2"), about("urn:oid:1.2.3")))}, []string{"1", "2"}},
		{"same id on two servers, beside something sent twice", append(onServers("1", "2"), entry("", strengthOf("c", newton("3"), about("urn:oid:1.2.3"))), entry("", strengthOf("c", newton("3"), about("urn:oid:1.2.3")))), []string{"1", "2", "3"}},
		{"same id on two servers and without an address", append(onServers("1", "2"), entry("", strengthOf("a", newton("3"), about("urn:oid:1.2.3")))), []string{"1", "2", "3"}},
		{"same id on a server and without an address", []fhir.Entry{entry("http://a.example/Observation/a", strengthOf("a", newton("1"), about("urn:oid:1.2.3"), version("1", ""))), entry("", strengthOf("a", newton("2"), about("urn:oid:1.2.3"), version("2", "")))}, []string{"2"}},
		{"two versions on one of two servers", append(onServers("1", "2"), entry("http://a.example/Observation/a", strengthOf("a", newton("3"), about("urn:oid:1.2.3"), version("2", "")))), []string{"2", "3"}},
		{"same identifier", []fhir.Entry{entry("", strengthOf("a", newton("1"), named(id), version("1", ""))), entry("", strengthOf("b", newton("2"), named(other, id), version("2", "")))}, []string{"2"}},
		{"identifier without a system names nothing", []fhir.Entry{entry("", strengthOf("a", newton("1"), named(fhir.Identifier{Value: "1"}))), entry("", strengthOf("b", newton("2"), named(fhir.Identifier{Value: "1"})))}, []string{"1", "2"}},
		{"identifier without a system names nothing, beside something sent twice", []fhir.Entry{
			entry("", strengthOf("a", newton("1"), named(fhir.Identifier{Value: "1"}))), entry("", strengthOf("b", newton("2"), named(fhir.Identifier{Value: "1"}))),
			entry("", strengthOf("c", newton("3"))), entry("", strengthOf("c", newton("3"))),
		}, []string{"1", "2", "3"}},
		{"identifier without a system before the same identifier", []fhir.Entry{
			entry("", strengthOf("a", newton("1"), named(fhir.Identifier{Value: "1"}, id), version("1", ""))), entry("", strengthOf("b", newton("2"), named(fhir.Identifier{Value: "2"}, id), version("2", ""))),
		}, []string{"2"}},
		{"same identifier behind something that is only counted", []fhir.Entry{
			{Resource: &fhir.Other{TypeName: "Device"}}, entry("", strengthOf("a", newton("1"), named(id), version("1", ""))), entry("", strengthOf("b", newton("2"), named(id), version("2", ""))),
		}, []string{"2"}},
		{"same identifier on two servers", []fhir.Entry{
			entry("http://a.example/Observation/a", strengthOf("a", newton("1"), named(id), about("urn:oid:1.2.3"), version("1", ""))),
			entry("http://b.example/Observation/b", strengthOf("b", newton("2"), named(id), about("urn:oid:1.2.3"), version("2", ""))),
		}, []string{"2"}},
		{"the same identifier twice in one", []fhir.Entry{entry("", strengthOf("a", newton("1"), named(id, id)))}, []string{"1"}},
		{"a chain of versions", []fhir.Entry{
			entry("", strengthOf("a", newton("1"), named(id), version("1", ""))),
			entry("", strengthOf("b", newton("2"), named(id, other), version("2", ""))),
			entry("", strengthOf("c", newton("3"), named(other), version("3", ""))),
		}, []string{"3"}},
		{"no name at all", []fhir.Entry{entry("", strengthOf("", newton("1"))), entry("", strengthOf("", newton("1")))}, []string{"1", "1"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, order := range [][]fhir.Entry{tt.entries, reversed(tt.entries)} {
				r := readInput(t, Input{Bundle: &fhir.Bundle{Entry: order}, Involved: shoulder.Right})
				var got []string
				for _, trial := range r.Episode.Sessions[0].Trials {
					got = append(got, trial.Value.String())
				}
				slices.Sort(got)
				if !slices.Equal(got, tt.want) {
					t.Errorf("values %v, want %v", got, tt.want)
				}
				if dropped := len(tt.entries) - len(tt.want); len(r.Issues) != dropped {
					t.Errorf("issues %v, want %d duplicates", summary(r.Issues), dropped)
				}
			}
		})
	}
}

func reversed(entries []fhir.Entry) []fhir.Entry {
	entries = slices.Clone(entries)
	slices.Reverse(entries)
	return entries
}

// A value that was retracted is not used in its older form.
func TestNewestVersionIsRetracted(t *testing.T) {
	r := read(t, painOf("p", fhir.Integer(1)),
		strengthOf("a", version("1", "")),
		strengthOf("a", version("2", ""), func(o *fhir.Observation) { o.Status = "entered-in-error" }))
	wantIssues(t, r.Issues,
		"warning duplicate Bundle.entry[1].resource",
		"warning status-retracted Bundle.entry[2].resource.status")
	if r.Used != 1 {
		t.Errorf("Used = %d, want the pain only", r.Used)
	}
}

func TestIdentity(t *testing.T) {
	id := fhir.Identifier{System: "urn:site", Value: "1"}
	of := func(url string, options ...option) string {
		b := &fhir.Bundle{Entry: []fhir.Entry{{FullURL: url, Resource: strengthOf("a", options...)}}}
		return readInput(t, Input{Bundle: b, Involved: shoulder.Right}).Sources[0].Identity
	}
	for _, tt := range []struct{ name, got, want string }{
		{"identifier and version", of("", named(id), version("3", "")), "urn:site|1/_history/3"},
		{"address and version", of("", version("3", "")), "Observation/a/_history/3"},
		{"absolute address", of("http://example.org/fhir/Observation/a", version("3", "")), "http://example.org/fhir/Observation/a/_history/3"},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: identity %q, want %q", tt.name, tt.got, tt.want)
		}
	}
	base := of("")
	if again := of(""); again != base {
		t.Errorf("identity %q, then %q, want the same", base, again)
	}
	for name, changed := range map[string]string{
		"value":    of("", value(ucum("101", "N"))),
		"unit":     of("", value(ucum("100", "[lbf_av]"))),
		"date":     of("", at("2026-11-19")),
		"position": of("", withoutPosition(), with(fhir.CodeArmPosition, ownConcept("flexion-90"))),
		"side":     of("", onSide(fhir.SNOMEDLeftShoulder)),
	} {
		if changed == base {
			t.Errorf("a corrected %s without a version keeps the identity %q, want another", name, base)
		}
	}
}

// Of copies with the same content the one counts whose version is the latest, or where nothing tells, the one whose
// version is written last; in any order of the entries.
//
// Source: FHIR R4 4.0.1, Meta.versionId, which need not be a number; the rest is ours.
func TestVersionOfTheSameContent(t *testing.T) {
	for _, tt := range [][2]string{{"9", "10"}, {"a", "b"}, {"0", "1"}} {
		entries := []fhir.Entry{{Resource: strengthOf("s", version(tt[0], ""))}, {Resource: strengthOf("s", version(tt[1], ""))}}
		for _, order := range [][]fhir.Entry{entries, reversed(entries)} {
			r := readInput(t, Input{Bundle: &fhir.Bundle{Entry: order}, Involved: shoulder.Right})
			if got, want := r.Sources[0].Identity, "Observation/s/_history/"+tt[1]; got != want {
				t.Errorf("versions %q: identity %q, want %q", tt, got, want)
			}
		}
	}
}

// A Condition that was withdrawn since is not used in its older form, and names no side.
func TestConditionIsWithdrawnInANewerVersion(t *testing.T) {
	site := snomedConcept(fhir.SNOMEDRightShoulder)
	stands := conditionOf("c", fhir.SNOMEDFullThicknessTear, site)
	withdrawn := withStatus(conditionOf("c", fhir.SNOMEDFullThicknessTear, site), "active", "entered-in-error")
	pain := painOf("p", fhir.Integer(1))
	for _, b := range []*fhir.Bundle{bundle(pain, stands, withdrawn), bundle(pain, withdrawn, stands)} {
		problems := refused(t, Input{Bundle: b})
		if count(problems.Issues, fault.Duplicate) != 1 || count(problems.Issues, fault.VersionUndecided) != 0 {
			t.Errorf("issues %v, want the older form to be dropped alone", summary(problems.Issues))
		}
	}
	if r := readInput(t, Input{Bundle: bundle(pain, stands)}); r.Episode.Involved != shoulder.Right {
		t.Errorf("involved: %v, want right by the Condition that stands", r.Episode.Involved)
	}
}

// Sources of one time stand in the order of their identities, whatever their addresses. Of several identifiers the first
// in alphabetical order counts, and one without a value is none.
func TestOrderOfSources(t *testing.T) {
	id := func(system, value string) fhir.Identifier { return fhir.Identifier{System: system, Value: value} }
	r := read(t, strengthOf("a", named(id("urn:site", "2")), version("1", "")), strengthOf("b", named(id("urn:z", "9"), id("urn:site", "1"), id("urn:a", "")), version("1", "")))
	if got := []string{r.Sources[0].Identity, r.Sources[1].Identity}; !slices.Equal(got, []string{"urn:site|1/_history/1", "urn:site|2/_history/1"}) {
		t.Errorf("identities %q, want urn:site|1 before urn:site|2", got)
	}
}
