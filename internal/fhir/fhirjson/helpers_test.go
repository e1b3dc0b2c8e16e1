package fhirjson_test

import (
	"bytes"
	"encoding/json"
	"testing"
)

// typeLast moves the resourceType of every resource to its end.
func typeLast(t testing.TB, body []byte) []byte {
	t.Helper()
	decoder := json.NewDecoder(bytes.NewReader(body))
	decoder.UseNumber()
	var value any
	if err := decoder.Decode(&value); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(renameType(value))
	if err != nil {
		t.Fatal(err)
	}
	return bytes.ReplaceAll(text, []byte(lastName), []byte("resourceType"))
}

// lastName sorts after every element name; encoding/json sorts by name.
const lastName = "~resourceType"

func renameType(value any) any {
	switch v := value.(type) {
	case []any:
		for i := range v {
			v[i] = renameType(v[i])
		}
	case map[string]any:
		for name, member := range v {
			v[name] = renameType(member)
		}
		if name, ok := v["resourceType"]; ok {
			delete(v, "resourceType")
			v[lastName] = name
		}
	}
	return value
}
