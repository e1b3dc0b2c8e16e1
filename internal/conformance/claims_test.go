//go:build conformance || official

package conformance

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
)

// definitions are the artefacts that others are checked against, and bundles
// all that may hold Observations: the published examples, the answers, what
// is measured, and answers with an outcome measure and with demands of a clinic.
func definitions() []document {
	return slices.DeleteFunc(published(), isBundle)
}

func bundles(t *testing.T) []document {
	t.Helper()
	examples := slices.DeleteFunc(published(), func(d document) bool { return !isBundle(d) })
	return append(append(append(examples, answers(t)...), measured(t), scored(t)), demanded(t)...)
}

func isBundle(d document) bool { return strings.HasPrefix(d.name, "Bundle-") }

// claims are the profiles that an Observation with a code of ours, or of
// another system, is said to meet: by the code that a profile asks for.
func claims(t *testing.T) map[string]string {
	t.Helper()
	sets, profiles := map[string][]string{}, map[string]string{}
	for _, d := range published() {
		if strings.HasPrefix(d.name, "ValueSet-") {
			sets[d.name[len("ValueSet-"):]] = codesOf(t, d)
		}
	}
	for _, d := range published() {
		if !strings.HasPrefix(d.name, "StructureDefinition-") {
			continue
		}
		url, code, set := asked(t, d)
		for _, c := range append(sets[set], code) {
			profiles[c] = url
		}
	}
	delete(profiles, "")
	if len(profiles) == 0 {
		t.Fatal("no profile asks for a code")
	}
	return profiles
}

// codesOf are the codes that a value set lists.
func codesOf(t *testing.T, d document) (codes []string) {
	t.Helper()
	var set struct {
		Compose struct {
			Include []struct{ Concept []struct{ Code string } }
		}
	}
	if err := json.Unmarshal(d.body, &set); err != nil {
		t.Fatal(err)
	}
	for _, include := range set.Compose.Include {
		for _, c := range include.Concept {
			codes = append(codes, c.Code)
		}
	}
	return codes
}

// asked is a profile's URL and the code, or the id of the value set of codes,
// that it asks for.
func asked(t *testing.T, d document) (url, code, set string) {
	t.Helper()
	var profile struct {
		URL          string
		Differential struct {
			Element []struct {
				ID                     string
				PatternCodeableConcept struct{ Coding []struct{ Code string } }
				Binding                struct{ ValueSet string }
			}
		}
	}
	if err := json.Unmarshal(d.body, &profile); err != nil {
		t.Fatal(err)
	}
	for _, e := range profile.Differential.Element {
		if e.ID != "Observation.code" {
			continue
		}
		if codings := e.PatternCodeableConcept.Coding; len(codings) > 0 {
			code = codings[0].Code
		}
		set = e.Binding.ValueSet[strings.LastIndexByte(e.Binding.ValueSet, '/')+1:]
	}
	return profile.URL, code, set
}

// claimed are Bundles whose Observations claim their profiles, so that a
// validator checks them. It also returns how many claim each profile.
func claimed(t *testing.T, bundles []document) (all []document, times map[string]int) {
	t.Helper()
	profiles, times := claims(t), map[string]int{}
	for _, d := range bundles {
		all = append(all, claiming(t, d, func(code string) string {
			url := profiles[code]
			times[url]++
			return url
		}))
	}
	return all, times
}

// allClaimed is claimed for Bundles in which no profile may be missing.
func allClaimed(t *testing.T, bundles []document) []document {
	t.Helper()
	all, times := claimed(t, bundles)
	for _, url := range claims(t) {
		if times[url] == 0 {
			t.Errorf("no Observation has the code of %s", url)
		}
	}
	t.Logf("Observations by profile: %v", times)
	return all
}

// claiming writes into each Observation of a Bundle the profile for its code.
func claiming(t *testing.T, d document, profile func(code string) string) document {
	t.Helper()
	decoder := json.NewDecoder(bytes.NewReader(d.body))
	decoder.UseNumber()
	var resource map[string]any
	if err := decoder.Decode(&resource); err != nil {
		t.Fatalf("%s: %v", d.name, err)
	}
	entries, _ := resource["entry"].([]any)
	for _, e := range entries {
		observation, _ := e.(map[string]any)["resource"].(map[string]any)
		if code := firstCode(observation); code != "" {
			if url := profile(code); url != "" {
				observation["meta"] = map[string]any{"profile": []any{url}}
			}
		}
	}
	var body bytes.Buffer
	encoder := json.NewEncoder(&body)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(resource); err != nil {
		t.Fatal(err)
	}
	return document{d.name, body.Bytes()}
}

// firstCode is the first code of an Observation, empty for another resource.
func firstCode(resource map[string]any) string {
	if resource["resourceType"] != "Observation" {
		return ""
	}
	concept, _ := resource["code"].(map[string]any)
	codings, _ := concept["coding"].([]any)
	if len(codings) == 0 {
		return ""
	}
	code, _ := codings[0].(map[string]any)["code"].(string)
	return code
}
