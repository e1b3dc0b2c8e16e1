package fhir

import (
	"slices"

	"evenreach.example/internal/fault"
)

// Decimal is a FHIR decimal exactly as it stands in the text, so that 1.50
// stays 1.50. The empty string is an absent decimal.
type Decimal string

// A Resource is one of the resource types of this package. Types that
// Evenreach does not read arrive as *Other.
type Resource interface {
	// Type is the FHIR resource type, such as "Observation".
	Type() string
}

// Value is the content of a choice element such as Observation.value[x]:
// *Quantity, *CodeableConcept, *Coding, *Reference, *Period, String, Code,
// URI, Canonical, DateTime, Date, Instant, Integer, Boolean or Decimal, or
// OtherValue for a type that Evenreach does not read.
type Value interface{ isValue() }

type (
	// String is a FHIR string.
	String string
	// Code is a FHIR code.
	Code string
	// URI is a FHIR uri.
	URI string
	// Canonical is a FHIR canonical reference.
	Canonical string
	// DateTime is a FHIR dateTime, as received.
	DateTime string
	// Date is a FHIR date, as received.
	Date string
	// Instant is a FHIR instant, as received.
	Instant string
	// Integer is a FHIR integer.
	Integer int32
	// Boolean is a FHIR boolean.
	Boolean bool
	// OtherValue is a value of a type that Evenreach does not read, by the
	// FHIR name of the type, such as "SampledData".
	OtherValue string
)

func (String) isValue()     {}
func (Code) isValue()       {}
func (URI) isValue()        {}
func (Canonical) isValue()  {}
func (DateTime) isValue()   {}
func (Date) isValue()       {}
func (Instant) isValue()    {}
func (Integer) isValue()    {}
func (Boolean) isValue()    {}
func (Decimal) isValue()    {}
func (OtherValue) isValue() {}

// Other is a resource of a type that Evenreach does not read, or one inside
// an entry that it only counts.
type Other struct {
	TypeName string
	ID       string
}

// Type implements Resource.
func (o *Other) Type() string { return o.TypeName }

// Untyped is a resource of which nobody can tell the type, with whom it is about, as far as that
// stands where resources say it. It is what was made out of a Malformed entry, and nothing else.
type Untyped struct {
	Subject *Reference
}

// Type implements Resource. It is empty.
func (*Untyped) Type() string { return "" }

// Malformed is what an entry of a Bundle holds that is not FHIR R4. It is read from
// an input, and never written.
type Malformed struct {
	// Read is what could be made out, for telling what may be missing and for
	// nothing else; nil if it is no resource.
	Read Resource
	// Issues are what is wrong, the first few.
	Issues []fault.Issue
}

// Type implements Resource. It is empty if the type could not be made out.
func (m *Malformed) Type() string {
	if m.Read == nil {
		return ""
	}
	return m.Read.Type()
}

// CommonOf is what a resource of a patient may carry whatever its type; nil for a type that is only counted, and for
// what holds others.
func CommonOf(resource Resource) *Common {
	switch resource := resource.(type) {
	case *Observation:
		return &resource.Common
	case *Patient:
		return &resource.Common
	case *Condition:
		return &resource.Common
	case *Procedure:
		return &resource.Common
	case *Encounter:
		return &resource.Common
	case *Goal:
		return &resource.Common
	case *CarePlan:
		return &resource.Common
	case *DiagnosticReport:
		return &resource.Common
	case *DetectedIssue:
		return &resource.Common
	}
	return nil
}

// SubjectOf returns the subject of a resource of a type that is read.
func SubjectOf(resource Resource) *Reference {
	switch resource := resource.(type) {
	case *Observation:
		return resource.Subject
	case *Condition:
		return resource.Subject
	case *Procedure:
		return resource.Subject
	case *Encounter:
		return resource.Subject
	case *Goal:
		return resource.Subject
	case *CarePlan:
		return resource.Subject
	case *DiagnosticReport:
		return resource.Subject
	case *DetectedIssue:
		return resource.Patient
	case *Untyped:
		return resource.Subject
	}
	return nil
}

// MaxEntryIssues is how many problems of one malformed entry are kept: the first
// says what to mend, and a hostile input stays cheap.
const MaxEntryIssues = 5

// IsEmpty reports whether c says nothing.
func (c *Coding) IsEmpty() bool { return c == nil || *c == Coding{} }

// IsEmpty reports whether c says nothing.
func (c *CodeableConcept) IsEmpty() bool {
	return c == nil || c.Text == "" && len(c.Extension) == 0 &&
		!slices.ContainsFunc(c.Coding, func(c Coding) bool { return !c.IsEmpty() })
}

// IsEmpty reports whether r points nowhere and says nothing.
func (r *Reference) IsEmpty() bool {
	return r == nil || r.Reference == "" && r.TypeName == "" && r.Display == "" &&
		(r.Identifier == nil || *r.Identifier == Identifier{})
}

// IsFilled is the opposite of IsEmpty, as a function for lists.
func IsFilled(r Reference) bool { return !r.IsEmpty() }
