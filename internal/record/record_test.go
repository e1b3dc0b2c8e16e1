package record

import (
	"bytes"
	"encoding/json"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// lowerUUID is R4's pattern of a uuid.
var lowerUUID = regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$`)

func TestTransactionEntriesCanBePostedTwice(t *testing.T) {
	for name, input := range everyInput(t) {
		t.Run(name, func(t *testing.T) {
			conditions := map[string]bool{}
			for i, e := range input.answer(t, Transaction).Entry {
				typeName := e.Resource.Type()
				if !lowerUUID.MatchString(e.FullURL) {
					t.Errorf("entry %d: fullUrl %q, want a lower-case urn:uuid (R4 uuid)", i, e.FullURL)
				}
				if e.Request == nil || e.Request.Method != http.MethodPost || e.Request.URL != typeName {
					t.Fatalf("entry %d: request %+v, want POST %s", i, e.Request, typeName)
				}
				condition := typeName + "?" + e.Request.IfNoneExist
				if e.Request.IfNoneExist == "" || strings.ContainsAny(e.Request.IfNoneExist, "? ") || conditions[condition] {
					t.Errorf("entry %d: ifNoneExist %q, want a search of its own without question mark (R4 Bundle.entry.request)", i, e.Request.IfNoneExist)
				}
				conditions[condition] = true
			}
		})
	}
}

// The condition must find what was stored: it names the identifier, and the
// tag of the Provenance, which has no identifier in R4.
func TestConditionNamesTheResource(t *testing.T) {
	for _, e := range twoVisits().answer(t, Transaction).Entry {
		parameter, token, _ := strings.Cut(e.Request.IfNoneExist, "=")
		var id fhir.Identifier
		switch r := e.Resource.(type) {
		case *fhir.Provenance:
			if parameter != "_tag" {
				t.Errorf("Provenance: condition %q, want a _tag", e.Request.IfNoneExist)
			}
			id = fhir.Identifier{System: r.Meta.Tag[0].System, Value: r.Meta.Tag[0].Code}
		default:
			if parameter != "identifier" {
				t.Errorf("%s: condition %q, want an identifier", e.Resource.Type(), e.Request.IfNoneExist)
			}
			id = identifierOf(t, e.Resource)
		}
		if want := id.System + "|" + id.Value; token != want {
			t.Errorf("%s: condition on %q, want %q", e.Resource.Type(), token, want)
		}
	}
}

func identifierOf(t *testing.T, r fhir.Resource) fhir.Identifier {
	t.Helper()
	var ids []fhir.Identifier
	switch r := r.(type) {
	case *fhir.Observation:
		ids = r.Identifier
	case *fhir.Goal:
		ids = r.Identifier
	case *fhir.CarePlan:
		ids = r.Identifier
	case *fhir.DiagnosticReport:
		ids = r.Identifier
	case *fhir.Device:
		ids = r.Identifier
	}
	if len(ids) != 1 {
		t.Fatalf("%s has %d identifiers, want 1", r.Type(), len(ids))
	}
	return ids[0]
}

func TestCollectionIsForReading(t *testing.T) {
	b := twoVisits().answer(t, Collection)
	if b.BundleType != "collection" {
		t.Errorf("type %q, want collection", b.BundleType)
	}
	for i, e := range b.Entry {
		if e.Request != nil {
			t.Errorf("entry %d has a request, want none (R4 bdl-3)", i)
		}
	}
	if n := len(of[*fhir.OperationOutcome](b)); n != 1 {
		t.Errorf("%d OperationOutcomes, want 1: dropped inputs are visible in every answer", n)
	}
	if n := len(of[*fhir.OperationOutcome](twoVisits().answer(t, Transaction))); n != 0 {
		t.Errorf("a transaction has %d OperationOutcome entries, want none: no server stores one", n)
	}
}

// The order of the entries is part of the contract: it makes answers
// comparable.
func TestOrderOfEntries(t *testing.T) {
	var kinds []string
	for _, e := range threeVisits().answer(t, Collection).Entry {
		kind := e.Resource.Type()
		if o, ok := e.Resource.(*fhir.Observation); ok {
			kind = o.Code.Coding[0].Code
		}
		if len(kinds) == 0 || kinds[len(kinds)-1] != kind {
			kinds = append(kinds, kind)
		}
	}
	want := []string{
		"Device", "limb-symmetry-index", "er-ir-ratio", "range-fraction", "strength-change", "range-change", "pain-change",
		"rotation-course", "strength-course", "rotation-readiness", "overall-readiness", "Goal", "CarePlan", "OperationOutcome", "DiagnosticReport", "Provenance",
	}
	if !slices.Equal(kinds, want) {
		t.Errorf("order %v,\nwant %v", kinds, want)
	}
}

func TestSameInputSameBytes(t *testing.T) {
	for name, input := range everyInput(t) {
		for _, o := range []Output{Transaction, Collection, Check} {
			first, second := fhirjson.Encode(input.answer(t, o)), fhirjson.Encode(input.answer(t, o))
			if !bytes.Equal(first, second) {
				t.Errorf("%s, %s: two answers to the same input differ", name, o)
			}
		}
	}
}

// Only the FHIRPaths of issues follow the order of the entries, because they
// count them; this input has no issue.
func TestOrderOfInputDoesNotMatter(t *testing.T) {
	input := threeVisits()
	want := fhirjson.Encode(input.answer(t, Transaction))
	slices.Reverse(input.bundle.Entry)
	if got := fhirjson.Encode(input.answer(t, Transaction)); !bytes.Equal(got, want) {
		t.Error("the answer depends on the order of the entries")
	}
}

// An identifier changes where what is said changes, and nowhere else: neither with the
// version of an input, nor with a note, nor with the software.
func TestIdentifiersFollowWhatIsSaid(t *testing.T) {
	original := identifiersByKind(onePosition("80").answer(t, Transaction))
	answered := func(change func(*sent)) func() *fhir.Bundle {
		return func() *fhir.Bundle {
			s := onePosition("80")
			change(s)
			return s.answer(t, Transaction)
		}
	}
	first := func(s *sent) *fhir.Observation { return s.bundle.Entry[1].Resource.(*fhir.Observation) }
	const index, report, plan = fhir.CodeLimbSymmetryIndex, "DiagnosticReport", "CarePlan"
	all := slices.Sorted(maps.Keys(original))
	tests := []struct {
		name    string
		answer  func() *fhir.Bundle
		changed []string // of index, rotation, report and plan
	}{
		{"the same again", answered(func(*sent) {}), nil},
		{"as a collection", func() *fhir.Bundle { return onePosition("80").answer(t, Collection) }, nil},
		{"a plan that lives on", func() *fhir.Bundle { return onePosition("80").answer(t, LivingTransaction) }, nil},
		{"other software", func() *fhir.Bundle {
			a, reading := onePosition("80").assessed(t, protocol.Default())
			return Build(a, reading, Options{Version: "2.0.0"})
		}, nil},
		{"a new version of a source", answered(func(s *sent) { first(s).Meta = &fhir.Meta{VersionID: "2"} }), nil},
		{"a note at a source", answered(func(s *sent) { first(s).Note = notes("measured twice") }), nil},
		{"another address of a source", answered(func(s *sent) {
			s.bundle.Entry[1].FullURL, first(s).ID = "https://record.example/fhir/Observation/other", "other"
		}), []string{"Provenance"}},
		{"another order", answered(func(s *sent) { slices.Reverse(s.bundle.Entry) }), nil},
		{"a corrected value", func() *fhir.Bundle { return onePosition("81").answer(t, Transaction) }, []string{index, report, "Provenance"}},
		{"one more source", answered(func(s *sent) { s.pain(firstVisit, "1") }), []string{report, plan, "Provenance"}},
		{"the other side involved", answered(func(s *sent) { s.involved = shoulder.Left }), all},
		{"a later evaluation", answered(func(s *sent) { s.asOf = "2026-03-05" }), []string{report, plan, "Provenance"}},
		{"another protocol", func() *fhir.Bundle {
			a, reading := onePosition("80").assessed(t, loaded(t, `{"id": "clinic", "goal": {"near": {"value": 28, "unit": "d", "source": "test"}}}`))
			return Build(a, reading, Options{Version: "1.2.3"})
		}, []string{report, plan, "Goal", "Provenance"}},
		{"a mended rule", func() *fhir.Bundle {
			a, reading := onePosition("80").assessed(t, protocol.Default())
			a.Readiness.Motions[0].Step = readiness.StepFlexion90Supported
			return Build(a, reading, Options{Version: "1.2.4"})
		}, []string{fhir.CodeRotationReadiness, report, "Provenance"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := identifiersByKind(tt.answer())
			for _, kind := range all {
				changed := slices.Contains(tt.changed, kind)
				if looked := changed || len(tt.changed) == 0 || kind == index; looked && slices.Equal(got[kind], original[kind]) == changed {
					t.Errorf("%s: %v, before %v; want it changed: %t", kind, got[kind], original[kind], changed)
				}
			}
		})
	}
}

// identifiersByKind are the fullUrls of what was computed, which follow the identifiers,
// by the type, or of an Observation the code.
func identifiersByKind(b *fhir.Bundle) map[string][]string {
	urls := map[string][]string{}
	for _, e := range b.Entry {
		kind := e.Resource.Type()
		switch r := e.Resource.(type) {
		case *fhir.Device, *fhir.OperationOutcome:
			continue
		case *fhir.Observation:
			kind = r.Code.Coding[0].Code
		}
		urls[kind] = append(urls[kind], e.FullURL)
	}
	return urls
}

// Two clinics may give their protocols the same name and version.
func TestIdentifiersFollowTheProtocolsContent(t *testing.T) {
	with := func(days string) map[string][]string {
		a, reading := onePosition("80").assessed(t, loaded(t, `{"id": "clinic", "goal": {"near": {"value": `+days+`, "unit": "d", "source": "test"}}}`))
		return identifiersByKind(Build(a, reading, Options{}))
	}
	first, second := with("28"), with("35")
	for _, kind := range []string{"Goal", "CarePlan", "DiagnosticReport", "Provenance"} {
		if slices.Equal(first[kind], second[kind]) {
			t.Errorf("%s: %v under both protocols, want two: the goals are due on other days", kind, first[kind])
		}
	}
}

func TestIdentifiersFollowThePatient(t *testing.T) {
	other := onePosition("80")
	other.bundle.Entry[0].FullURL = "https://record.example/fhir/Patient/p2"
	other.bundle.Entry[0].Resource.(*fhir.Patient).ID = "p2"
	for _, e := range other.bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok {
			o.Subject = &fhir.Reference{Reference: "Patient/p2"}
		}
	}
	first, second := identifiersByKind(onePosition("80").answer(t, Transaction)), identifiersByKind(other.answer(t, Transaction))
	for kind, urls := range first {
		if slices.Equal(urls, second[kind]) {
			t.Errorf("%s: %v for both patients, want two", kind, urls)
		}
	}
}

// A result belongs to the visit at which it was measured.
func TestEncounter(t *testing.T) {
	s := onePosition("80")
	s.encounter("Encounter/first")
	s.elevation(secondVisit, "150")
	for _, e := range s.bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && o.Encounter == nil {
			o.Encounter = &fhir.Reference{Reference: "Encounter/second"}
		}
	}
	b := s.answer(t, Transaction)
	tests := []struct{ code, want string }{
		{fhir.CodeLimbSymmetryIndex, ""},
		{fhir.CodeRangeFraction, "Encounter/second"},
		{fhir.CodeRotationReadiness, "Encounter/second"},
	}
	for _, tt := range tests {
		got := ""
		if e := results(b, tt.code)[0].Encounter; e != nil {
			got = e.Reference
		}
		if got != tt.want {
			t.Errorf("%s in %q, want %q: only the latest session's Encounter is known", tt.code, got, tt.want)
		}
	}
}

func TestIndexBelongsToItsVisit(t *testing.T) {
	s := onePosition("80")
	s.encounter("Encounter/first")
	if e := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0].Encounter; e == nil || e.Reference != "Encounter/first" {
		t.Errorf("encounter %v, want that of its trials", e)
	}
}

func TestIdentifiersAreDigests(t *testing.T) {
	hex := regexp.MustCompile(`^[0-9a-f]{16}-[0-9a-f]{12}-[0-9a-f]{16}$`)
	for _, o := range of[*fhir.Observation](onePosition("80").answer(t, Transaction)) {
		if id := o.Identifier[0]; id.System != fhir.SystemResult || !hex.MatchString(id.Value) {
			t.Errorf("identifier %+v, want the digests of shoulder, question and content in hexadecimal", id)
		}
	}
}

func loaded(t *testing.T, file string) *protocol.Protocol {
	t.Helper()
	p, err := protocol.Load([]byte(file))
	if err != nil {
		t.Fatalf("protocol: %v", err)
	}
	return p
}

// Nothing that FHIR forbids: empty strings, arrays and objects, ids of entries,
// nulls.
func TestEncodedAnswerHasNothingEmpty(t *testing.T) {
	for name, input := range everyInput(t) {
		for _, o := range []Output{Transaction, Collection, Check} {
			b := input.answer(t, o)
			var v any
			if err := json.Unmarshal(fhirjson.Encode(b), &v); err != nil {
				t.Fatalf("%s, %s: %v", name, o, err)
			}
			reportEmpty(t, name+", "+o.String()+": Bundle", v)
			for i, e := range b.Entry {
				if strings.Contains(string(fhirjson.Encode(e.Resource)[:60]), `"id"`) {
					t.Errorf("%s: entry %d has an id: what is not stored has none", name, i)
				}
			}
		}
	}
}

func reportEmpty(t *testing.T, path string, v any) {
	t.Helper()
	switch v := v.(type) {
	case nil:
		t.Errorf("%s is null", path)
	case string:
		if strings.TrimSpace(v) == "" {
			t.Errorf("%s is an empty string", path)
		}
	case []any:
		if len(v) == 0 {
			t.Errorf("%s is an empty array", path)
		}
		for _, element := range v {
			reportEmpty(t, path+"[]", element)
		}
	case map[string]any:
		if len(v) == 0 {
			t.Errorf("%s is an empty object", path)
		}
		for name, element := range v {
			reportEmpty(t, path+"."+name, element)
		}
	}
}

// Every reference leads somewhere: to an entry, to a contained resource, or to
// what the caller sent.
func TestReferencesResolve(t *testing.T) {
	for name, input := range everyInput(t) {
		sent := map[string]bool{}
		for _, e := range input.bundle.Entry {
			sent[e.FullURL] = true
			if base := baseOf(e.FullURL); base != "" {
				sent[strings.TrimPrefix(e.FullURL, base)] = true
			}
		}
		for _, o := range []Output{Transaction, Collection} {
			b := input.answer(t, o)
			known := map[string]bool{}
			for _, e := range b.Entry {
				known[e.FullURL] = true
			}
			var v any
			if err := json.Unmarshal(fhirjson.Encode(b), &v); err != nil {
				t.Fatal(err)
			}
			count := 0
			eachReference(v, func(reference string) {
				count++
				if !known[reference] && !sent[reference] && reference != "#"+idMessages {
					t.Errorf("%s, %s: %q resolves nowhere", name, o, reference)
				}
			})
			if count == 0 {
				t.Errorf("%s, %s: no reference was checked", name, o)
			}
		}
	}
}

func eachReference(v any, found func(string)) {
	switch v := v.(type) {
	case []any:
		for _, element := range v {
			eachReference(element, found)
		}
	case map[string]any:
		for name, element := range v {
			if text, ok := element.(string); ok && name == "reference" {
				found(text)
			}
			eachReference(element, found)
		}
	}
}
