//go:build conformance

package conformance

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/fhir/go/jsonformat"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
)

// typesRead are the resource types that are read. The official examples have
// none of Parameters.
var typesRead = []string{
	"Bundle", "CarePlan", "Condition", "Device", "DiagnosticReport", "Encounter", "Goal",
	"Observation", "OperationOutcome", "Patient", "Procedure", "Provenance",
}

// excluded are official examples that the two readers do not agree on, and why.
var excluded = map[string]string{
	"Bundle-dataelements":         tooLong,
	"Bundle-resources":            tooLong,
	"Bundle-valueset-expansions":  tooLong,
	"Bundle-valuesets":            tooLong,
	"Bundle-bundle-response":      parametersWithin,
	"Bundle-bundle-transaction":   parametersWithin,
	"Observation-clinical-gender": "its performer is an Encounter, which R4 forbids: the google library refuses it, we do not look at the type",
	"Observation-decimal":         "its exponents of ten reach 245: we refuse decimals that no instrument shows, to stay cheap",
}

const (
	tooLong          = "definitions of R4 itself, over the limit on the length of a body"
	parametersWithin = "holds Parameters: in protocol buffers these are not read, because there the operation's parameters are fields of the request"
)

// The official examples of the types that are read are read by us and by the
// google library, and mean the same to both.
//
// Source: package hl7.fhir.r4.examples 4.0.1, the examples of FHIR R4.
func TestOfficialExamples(t *testing.T) {
	files, err := filepath.Glob("node_modules/hl7.fhir.r4.examples/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples found: %v; run npm ci in internal/conformance", err)
	}
	google := reader(t)
	read, seen := map[string]int{}, map[string]bool{}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		typeName, _, _ := strings.Cut(name, "-")
		if !slices.Contains(typesRead, typeName) {
			continue
		}
		body, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		err = agree(google, typeName, body)
		reason, isExcluded := excluded[name]
		seen[name] = true
		switch {
		case err != nil && !isExcluded:
			t.Errorf("%s: %v", name, err)
		case err == nil && isExcluded:
			t.Errorf("%s is excluded (%s) and passes: take it off the list", name, reason)
		case err == nil:
			read[typeName]++
		}
	}
	for name := range excluded {
		if !seen[name] {
			t.Errorf("%s is excluded and is no example", name)
		}
	}
	for _, typeName := range typesRead {
		if read[typeName] == 0 {
			t.Errorf("no example of a %s was read", typeName)
		}
	}
	t.Logf("read alike: %v; excluded: %d", read, len(excluded))
}

// agree reads a resource with both readers. Because protocol buffers are read
// as Bundles, another resource is put into one.
func agree(google *jsonformat.Unmarshaller, typeName string, body []byte) error {
	if typeName != "Bundle" {
		body = fmt.Appendf(nil, `{"resourceType":"Bundle","type":"collection","entry":[{"resource":%s}]}`, body)
	}
	ours, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		return fmt.Errorf("we refuse it: %w", err)
	}
	message, err := google.UnmarshalR4(body)
	if err != nil {
		return fmt.Errorf("the google library refuses it: %w", err)
	}
	written, err := proto.Marshal(message.GetBundle())
	if err != nil {
		return err
	}
	theirs, err := fhirproto.Read(written)
	if err != nil {
		return fmt.Errorf("we refuse what the google library read: %w", err)
	}
	if diff := cmp.Diff(ours, fhir.Resource(theirs)); diff != "" {
		return errors.New("read differently (-ours +the google library's):\n" + diff)
	}
	return nil
}
