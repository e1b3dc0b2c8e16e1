package intake

import (
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// What a transaction with temporary addresses comes to, without the record's answer and
// with it. Source: FHIR R4 4.0.1, RESTful API, transaction response: the entries stand in
// the same order, and location holds the address and the version.
func TestTemporaryAddresses(t *testing.T) {
	const person, test = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11", "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	at := func(status, location string) fhir.Entry {
		return fhir.Entry{Response: &fhir.Response{Status: status, Location: location}}
	}
	answer := func(entries ...fhir.Entry) *fhir.Bundle {
		return &fhir.Bundle{BundleType: "transaction-response", Entry: entries}
	}
	tests := []struct {
		name            string
		identifiers     []fhir.Identifier
		response        *fhir.Bundle
		subject, source string
		warned          bool
	}{
		{"no answer", nil, nil, person, test, true},
		{"no answer, but an identifier", []fhir.Identifier{mrn}, nil, person, test, false},
		{"stored", nil, answer(at("201 Created", "Patient/17/_history/1"), at("201", "Observation/18/_history/1")), "Patient/17", "Observation/18", false},
		{"stored, absolute", nil, answer(at("201 Created", "https://record.example/fhir/Patient/17/_history/1"), at("201", "https://record.example/fhir/Observation/18")), "https://record.example/fhir/Patient/17", "https://record.example/fhir/Observation/18", false},
		{"the patient was not stored", nil, answer(at("422", "Patient/17"), at("201", "Observation/18")), person, "Observation/18", true},
		{"a location that is none", nil, answer(at("201", "somewhere"), at("201", "Observation/18")), person, "Observation/18", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := &fhir.Bundle{BundleType: "transaction", Entry: []fhir.Entry{
				{FullURL: person, Resource: patientOf("", tt.identifiers...)},
				{FullURL: test, Resource: strengthOf("", about(person))},
			}}
			r := readInput(t, Input{Bundle: b, Involved: shoulder.Right, Response: tt.response})
			if r.Subject.Reference != tt.subject || r.Sources[0].Reference.Reference != tt.source {
				t.Errorf("subject %q, source %q; want %q and %q", r.Subject.Reference, r.Sources[0].Reference.Reference, tt.subject, tt.source)
			}
			if warned := count(r.Issues, fault.TemporaryAddress) == 1; warned != tt.warned {
				t.Errorf("warned: %t, want %t: %v", warned, tt.warned, summary(r.Issues))
			}
		})
	}
}

// An answer to another transaction would give addresses to the wrong resources.
func TestResponseOfAnotherTransaction(t *testing.T) {
	in := Input{Bundle: bundle(strengthOf("a")), Involved: shoulder.Right, Response: &fhir.Bundle{}, ResponseRoot: "Parameters.parameter[1].resource"}
	wantIssues(t, refused(t, in).Issues, "error bad-parameter Parameters.parameter[1].resource")
}

// The entries of a Bundle within the transaction have no answer of their own, and what has no temporary address is
// found by none.
func TestAddressesOfEntries(t *testing.T) {
	stored := func(location string) fhir.Entry {
		return fhir.Entry{Response: &fhir.Response{Status: "201 Created", Location: location}}
	}
	b := bundle(bundle(strengthOf("inner", identified(mrn))), strengthOf("outer", identified(mrn)))
	r := readInput(t, Input{Bundle: b, Involved: shoulder.Right, Response: &fhir.Bundle{Entry: []fhir.Entry{stored("Bundle/1"), stored("Observation/18")}}})
	addresses := []string{r.Sources[0].Reference.Reference, r.Sources[1].Reference.Reference}
	slices.Sort(addresses)
	if !slices.Equal(addresses, []string{"Observation/18", "Observation/inner"}) {
		t.Errorf("addresses %q, want the stored one for the entry of the transaction alone", addresses)
	}
	if r.Subject.Reference != "" || r.Subject.Identifier == nil || *r.Subject.Identifier != mrn {
		t.Errorf("subject %+v, want the identifier alone", r.Subject)
	}
}

// The warning counts the measurements that have a temporary address themselves.
func TestTemporaryAddressesAreCounted(t *testing.T) {
	const person, test = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11", "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	for _, tt := range []struct{ address, want string }{{test, "found 1 measurements and statements with such an address, too"}, {"", ""}} {
		b := &fhir.Bundle{Entry: []fhir.Entry{{FullURL: tt.address, Resource: strengthOf("a", about(person))}}}
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
		if len(r.Issues) != 1 || r.Issues[0].Kind != fault.TemporaryAddress || r.Issues[0].Diagnostic != tt.want {
			t.Errorf("address %q: issues %+v, want one with %q", tt.address, r.Issues, tt.want)
		}
	}
}
