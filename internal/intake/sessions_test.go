package intake

import (
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// visitContained contains the one Encounter under a local id.
func visitContained(local string) option {
	e := &fhir.Encounter{}
	e.ID, e.Identifier = local, []fhir.Identifier{{System: "urn:site:visits", Value: "77"}}
	return func(o *fhir.Observation) {
		o.Contained = append(o.Contained, e)
		o.Encounter = &fhir.Reference{Reference: "#" + local}
	}
}

func TestSessions(t *testing.T) {
	weight := func(v fhir.Decimal, options ...option) *fhir.Observation {
		return observation("w"+string(v), coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum(v, "kg"), options...)
	}
	tests := []struct {
		name      string
		resources []fhir.Resource
		want      string // the ids of each session's trials
	}{
		{"one day", []fhir.Resource{strengthOf("a", at("2026-11-20T09:00:00Z")), strengthOf("b", at("2026-11-20T17:00:00Z"))}, "a b"},
		{"two days", []fhir.Resource{strengthOf("a", at("2026-11-20T23:00:00Z")), strengthOf("b", at("2026-11-21T01:00:00Z"))}, "a | b"},
		{"the day in its own offset", []fhir.Resource{strengthOf("a", at("2026-11-20T08:00:00-08:00")), strengthOf("b", at("2026-11-20T20:00:00-08:00"))}, "a b"},
		{"a day without a time", []fhir.Resource{strengthOf("a", at("2026-11-20")), strengthOf("b", at("2026-11-20T20:00:00-08:00"))}, "a b"},
		{"one Encounter past midnight", []fhir.Resource{
			strengthOf("a", at("2026-11-20T23:30:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-11-21T00:10:00Z"), visitedIn("Encounter/1")),
		}, "a b"},
		{"two Encounters in one day", []fhir.Resource{
			strengthOf("a", at("2026-11-20T09:00:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-11-20T17:00:00Z"), visitedIn("Encounter/2")),
		}, "a | b"},
		{"without an Encounter joins that of the day", []fhir.Resource{
			strengthOf("a", at("2026-11-20T09:00:00Z")),
			strengthOf("b", at("2026-11-20T10:00:00Z"), visitedIn("Encounter/1")),
			strengthOf("c", at("2026-11-20T11:00:00Z"), visitedIn("Encounter/1")),
		}, "a b c"},
		{"joins the first Encounter of the day", []fhir.Resource{
			strengthOf("a", at("2026-11-20T09:00:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-11-20T17:00:00Z"), visitedIn("Encounter/2")),
			strengthOf("c", at("2026-11-20T18:00:00Z")),
		}, "a c | b"},
		{"an Encounter by two addresses", []fhir.Resource{
			strengthOf("a", at("2026-11-20T23:30:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-11-21T00:10:00Z"), visitedIn("http://example.org/fhir/Encounter/1/_history/2")),
		}, "a b"},
		{"a contained Encounter by its identifier", []fhir.Resource{
			strengthOf("a", at("2026-11-20T23:30:00Z"), visitContained("e")),
			strengthOf("b", at("2026-11-21T00:10:00Z"), visitContained("f")),
		}, "a b"},
		{"an Encounter that is not there", []fhir.Resource{
			strengthOf("a", at("2026-11-20T23:30:00Z"), visitedIn("#e")),
			strengthOf("b", at("2026-11-21T00:10:00Z"), visitedIn("#e")),
		}, "a | b"},
		{"an Encounter of many weeks is a series of visits", []fhir.Resource{
			strengthOf("a", at("2026-10-01T09:00:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-10-01T09:10:00Z"), visitedIn("Encounter/1")),
			strengthOf("c", at("2026-11-20T09:00:00Z"), visitedIn("Encounter/1")),
		}, "a b | c"},
		{"an Encounter of just a day", []fhir.Resource{
			strengthOf("a", at("2026-11-19T09:00:00Z"), visitedIn("Encounter/1")),
			strengthOf("b", at("2026-11-20T09:00:00Z"), visitedIn("Encounter/1")),
		}, "a b"},
		{"an Encounter that is the measurement itself", []fhir.Resource{
			strengthOf("a", at("2026-11-20T23:30:00Z"), visitedIn("#")),
			strengthOf("b", at("2026-11-21T00:10:00Z"), visitedIn("#")),
		}, "a | b"},
		{"the same day of two months", []fhir.Resource{strengthOf("a", at("2026-10-20")), strengthOf("b", at("2026-11-20"))}, "a | b"},
		{"oldest first", []fhir.Resource{strengthOf("b", at("2026-11-20")), strengthOf("a", at("2026-11-01"))}, "a | b"},
		{"a body mass of another day is a session of its own", []fhir.Resource{strengthOf("a", at("2026-11-20")), weight("70", at("2026-11-01"))}, " | a"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, tt.resources...)
			wantIssues(t, r.Issues)
			var sessions []string
			for _, s := range r.Episode.Sessions {
				var ids []string
				for _, trial := range s.Trials {
					ids = append(ids, strings.TrimPrefix(r.Sources[trial.Source].Reference.Reference, "Observation/"))
				}
				sessions = append(sessions, strings.Join(ids, " "))
			}
			if got := strings.Join(sessions, " | "); got != tt.want {
				t.Errorf("sessions %q, want %q", got, tt.want)
			}
		})
	}
}

func TestLatestBodyMassOfASession(t *testing.T) {
	weight := func(v fhir.Decimal, when string) *fhir.Observation {
		return observation("w"+string(v), coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum(v, "kg"), at(when))
	}
	r := read(t, weight("71", "2026-11-20T11:00:00Z"), weight("70", "2026-11-20T09:00:00Z"), strengthOf("a"))
	wantNumber(t, "body mass", r.Episode.Sessions[0].Mass.Value, "71")
}

func TestEncounterOfTheLatestSession(t *testing.T) {
	weightLater := observation("w", coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum("70", "kg"), at("2026-11-24"), visitedIn("Encounter/9"))
	tests := []struct {
		name      string
		resources []fhir.Resource
		want      string
	}{
		{"none", []fhir.Resource{strengthOf("a")}, ""},
		{"of the latest session", []fhir.Resource{strengthOf("a", at("2026-11-01"), visitedIn("Encounter/1")), strengthOf("b", visitedIn("Encounter/2"))}, "Encounter/2"},
		{"the latest session has none", []fhir.Resource{strengthOf("a", at("2026-11-01"), visitedIn("Encounter/1")), strengthOf("b")}, ""},
		{"a later body mass does not count", []fhir.Resource{strengthOf("a", visitedIn("Encounter/1")), weightLater}, "Encounter/1"},
		{"a body mass of the day does not count", []fhir.Resource{strengthOf("a"), observation("w", coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), ucum("70", "kg"), visitedIn("Encounter/9"))}, ""},
		{"by two addresses", []fhir.Resource{strengthOf("a", visitedIn("http://example.org/fhir/Encounter/1")), strengthOf("b", visitedIn("Encounter/1"))}, "Encounter/1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, tt.resources...)
			got := ""
			if r.Encounter != nil {
				got = r.Encounter.Reference
			}
			if got != tt.want {
				t.Errorf("Encounter = %q, want %q", got, tt.want)
			}
		})
	}
}

// Where the visit has an identifier alone, results name it by that.
func TestEncounterByIdentifier(t *testing.T) {
	visit := fhir.Identifier{System: "urn:site:visits", Value: "77"}
	r := read(t, strengthOf("a", func(o *fhir.Observation) { o.Encounter = &fhir.Reference{Identifier: &visit} }))
	if r.Encounter == nil || r.Encounter.Identifier == nil || *r.Encounter.Identifier != visit {
		t.Errorf("Encounter %+v, want the identifier %v", r.Encounter, visit)
	}
	if r := read(t, strengthOf("a", visitedIn("#e"))); r.Encounter != nil {
		t.Errorf("Encounter %+v, want none for a contained one that is not there", r.Encounter)
	}
}

// Who measured is known by an identifier too; a local id within a resource says nothing outside of it.
//
// Source: FHIR R4 4.0.1, references to contained resources.
func TestExaminersByIdentifier(t *testing.T) {
	number := fhir.Identifier{System: "urn:site:staff", Value: "4"}
	local, numbered := fhir.Reference{Reference: "#t"}, fhir.Reference{Identifier: &number}
	both := fhir.Reference{Reference: "#t", Identifier: &number}
	for _, tt := range []struct {
		name        string
		first, next fhir.Reference
		want        [2]shoulder.ExaminerID
	}{
		{"by identifier", numbered, numbered, [2]shoulder.ExaminerID{1, 1}},
		{"contained", local, local, [2]shoulder.ExaminerID{}},
		{"contained, with an identifier", both, numbered, [2]shoulder.ExaminerID{1, 1}},
	} {
		s := read(t, flexionOf("a", at("2026-11-19"), by(tt.first)), flexionOf("b", by(tt.next))).Episode.Sessions
		if got := [2]shoulder.ExaminerID{s[0].Ranges[0].Examiner, s[1].Ranges[0].Examiner}; got != tt.want {
			t.Errorf("%s: examiners %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestClearancesAreOldestFirst(t *testing.T) {
	cleared := func(id, when string, yes bool) *fhir.Observation {
		return observation(id, coding(fhir.SystemShoulder, fhir.CodeResistedClearance), fhir.Boolean(yes), at(when), by(clinician))
	}
	r := read(t, strengthOf("s"), cleared("b", "2026-11-10", true), cleared("a", "2026-10-01", false))
	c := r.Episode.Clearances
	if len(c) != 2 || c[0].Cleared || !c[1].Cleared {
		t.Errorf("clearances %+v, want refused, then given", c)
	}
	if got := len(r.Episode.Sessions); got != 1 {
		t.Errorf("%d sessions, want only that of the strength", got)
	}
}
