package protocol

import (
	"errors"
	"testing"
)

// FuzzLoad tries protocol files: each is refused with problems, or what it
// loads as prints as a file that loads as the same.
func FuzzLoad(f *testing.F) {
	f.Add(DefaultText())
	for _, text := range []string{
		"", "{}", "id: own\nsymmetry:\n  even: {value: 85, comparison: at-least, unit: '%', source: here}\n", "id: [", "a: &a [*a]", "? {}\n: 1",
		string(clinicWithDemands(overhead)), `{"id":"own","trials":{"score":"maximum"}}`, "id: own\nid: own\n", "--- 1\n--- 2\n", "\xff", "symmetry: 1e999\n",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		p, err := Load(file)
		if err != nil {
			if problems, ok := errors.AsType[Problems](err); !ok || len(problems) == 0 {
				t.Fatalf("error %T with %v, want Problems", err, err)
			}
			return
		}
		text, err := p.Text()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Load(text)
		if err != nil {
			t.Fatalf("%q loads, and not what it prints as: %v\n%s", file, err, text)
		}
		if again.Digest() != p.Digest() {
			t.Fatalf("%q prints as another protocol:\n%s", file, text)
		}
	})
}
