package intake

import (
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/fhir"
)

// A cache returns what was put last for a text, however many texts there are, and it holds
// the latest ones.
func TestCacheReturnsWhatWasPut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m textCache[string, int]
		var kept []string
		for _, n := range rapid.SliceOf(rapid.IntRange(0, 3*cacheSize)).Draw(t, "texts") {
			text := strconv.Itoa(n)
			if found, ok := m.get(text); !ok {
				m.put(text, n)
				kept = append(kept, text)
			} else if found != n {
				t.Fatalf("get(%q) = %d", text, found)
			}
		}
		for _, text := range kept[max(0, len(kept)-cacheSize):] {
			if _, ok := m.get(text); !ok {
				t.Fatalf("%q is gone, want the latest %d to be there", text, cacheSize)
			}
		}
	})
}

// Where every fullUrl ends in the id, indexing the ids as well changes nothing.
func TestNoIndexOfIDsWhereURLsEndInThem(t *testing.T) {
	bases := rapid.SampledFrom([]string{"http://a.example/", "https://b.example/fhir/"})
	id := rapid.SampledFrom([]string{"1", "2", "3"})
	rapid.Check(t, func(t *rapid.T) {
		b := &fhir.Bundle{}
		for range rapid.IntRange(1, 6).Draw(t, "entries") {
			e := &fhir.Encounter{}
			e.ID = id.Draw(t, "id")
			b.Entry = append(b.Entry, fhir.Entry{FullURL: bases.Draw(t, "base") + "Encounter/" + e.ID, Resource: e})
		}
		entries := (&reader{root: "Bundle"}).flatten(b)
		d := newDirectory(entries)
		if d.byID != nil {
			t.Fatal("the ids are listed, want them left out")
		}
		withIDs := newDirectory(append(entries, entry{fullURL: "urn:x", resource: &fhir.Other{TypeName: "Basic", ID: "x"}}))
		if d.repeats != withIDs.repeats {
			t.Errorf("repeats = %v, with the ids %v", d.repeats, withIDs.repeats)
		}
		for _, reference := range []string{"Encounter/1", "Encounter/2/_history/4", "http://a.example/Encounter/3", "http://c.example/Encounter/1", "urn:y"} {
			base := bases.Draw(t, "from")
			if got, want := d.resolve(reference, base), withIDs.resolve(reference, base); got != want {
				t.Errorf("resolve(%q, %q) = %+v, with the ids %+v", reference, base, got, want)
			}
		}
	})
}
