package conformance

import (
	"bytes"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// reader is the validating reader of the google library.
func reader(t *testing.T) *jsonformat.Unmarshaller {
	t.Helper()
	r, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestGoogleAcceptsWhatWeWrite(t *testing.T) {
	r := reader(t)
	for _, d := range append(answers(t), published()...) {
		if _, err := r.UnmarshalR4(d.body); err != nil {
			t.Errorf("%s: %v", d.name, err)
		}
	}
}

// The google library keeps the last of two members with one name, silently.
func TestNoNameIsGivenTwice(t *testing.T) {
	for _, d := range append(answers(t), published()...) {
		if err := wellFormed(d.body); err != nil {
			t.Errorf("%s: %v", d.name, err)
		}
	}
	if err := wellFormed([]byte(`{"id":"a","id":"b"}`)); err == nil {
		t.Error("a name given twice was not found")
	}
}

// wellFormed reports bad UTF-8, and a name given twice in one object.
func wellFormed(body []byte) error {
	decoder := jsontext.NewDecoder(bytes.NewReader(body))
	return decoder.SkipValue()
}

// What we write we read back as it was, byte for byte.
func TestAnswersAreReadBack(t *testing.T) {
	for _, d := range answers(t) {
		decoded, err := fhirjson.Decode(d.body, fhir.DefaultLimits)
		if err != nil {
			t.Errorf("%s: %v", d.name, err)
			continue
		}
		if !bytes.Equal(fhirjson.Encode(decoded), d.body) {
			t.Errorf("%s: reading and writing changes it", d.name)
		}
	}
}
