package fhir

// The wire model: the FHIR R4 elements that Evenreach reads or writes, as
// plain structs. A zero field is an absent element. Elements of R4 that are
// not here are accepted and passed over on input; names that R4 does not
// have are refused.

// Decimal is a FHIR decimal exactly as it stands in the text, so that 1.50
// stays 1.50. The empty string is an absent decimal.
type Decimal string

// A Resource is one of the resource types of this package. Types that
// Evenreach does not read arrive as *Other.
type Resource interface {
	// Type is the FHIR resource type, such as "Observation".
	Type() string
}

// Bundle is a FHIR Bundle.
type Bundle struct {
	ID         string
	Meta       *Meta
	BundleType string // Bundle.type
	Timestamp  string
	Entry      []Entry
}

// Entry is Bundle.entry.
type Entry struct {
	FullURL  string
	Resource Resource
	Request  *Request
}

// Request is Bundle.entry.request.
type Request struct {
	Method      string
	URL         string
	IfNoneExist string
}

// Meta is Resource.meta.
type Meta struct {
	VersionID   string
	LastUpdated string
	Source      string
	Profile     []string
	Tag         []Coding
}

// Narrative is DomainResource.text.
type Narrative struct {
	Status string
	Div    string // a whole XHTML div element
}

// Coding is a code in a code system.
type Coding struct {
	System  string
	Version string
	Code    string
	Display string
}

// CodeableConcept is a concept by codings, by text, or both.
type CodeableConcept struct {
	Extension []Extension
	Coding    []Coding
	Text      string
}

// Reference points to another resource.
type Reference struct {
	Reference  string
	TypeName   string // Reference.type
	Identifier *Identifier
	Display    string
}

// Identifier is a business identifier.
type Identifier struct {
	System string
	Value  string
}

// Quantity is a measured amount. Comparator is "", "<", "<=", ">=" or ">".
type Quantity struct {
	Value      Decimal
	Comparator string
	Unit       string
	System     string
	Code       string
}

// Period is a span of time between two FHIR dateTimes.
type Period struct {
	Start string
	End   string
}

// Annotation is a note.
type Annotation struct {
	Text string
}

// Extension is an additional element. Value is nil when the extension is
// made of nested extensions, or of a value type that Evenreach does not read.
type Extension struct {
	URL       string
	Value     Value
	Extension []Extension
}

// Value is the content of a choice element such as Observation.value[x]:
// *Quantity, *CodeableConcept, *Coding, *Reference, *Period, String, Code,
// URI, Canonical, DateTime, Date, Instant, Integer, Boolean, *Resource
// parameters aside, or OtherValue for a type that Evenreach does not read.
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

func (*Quantity) isValue()        {}
func (*CodeableConcept) isValue() {}
func (*Coding) isValue()          {}
func (*Reference) isValue()       {}
func (*Period) isValue()          {}
func (String) isValue()           {}
func (Code) isValue()             {}
func (URI) isValue()              {}
func (Canonical) isValue()        {}
func (DateTime) isValue()         {}
func (Date) isValue()             {}
func (Instant) isValue()          {}
func (Integer) isValue()          {}
func (Boolean) isValue()          {}
func (OtherValue) isValue()       {}

// Common holds what every DomainResource may carry.
type Common struct {
	ID                string
	Meta              *Meta
	Language          string
	ImplicitRules     string
	Text              *Narrative
	Contained         []Resource
	Extension         []Extension
	ModifierExtension []Extension
	Identifier        []Identifier
}

// Observation is a measurement, received or computed.
type Observation struct {
	Common
	Status           string
	Category         []CodeableConcept
	Code             CodeableConcept
	Subject          *Reference
	Focus            []Reference // what was observed, where that is not the subject itself
	Encounter        *Reference
	Effective        Value // DateTime, Instant or *Period
	Issued           string
	Performer        []Reference
	Value            Value
	DataAbsentReason *CodeableConcept
	Interpretation   []CodeableConcept
	Note             []Annotation
	BodySite         *CodeableConcept
	Method           *CodeableConcept
	Device           *Reference
	ReferenceRange   []ReferenceRange
	HasMember        []Reference
	DerivedFrom      []Reference
	Component        []Component
}

// Component is Observation.component.
type Component struct {
	ModifierExtension []Extension
	Code              CodeableConcept
	Value             Value
	DataAbsentReason  *CodeableConcept
	Interpretation    []CodeableConcept
	ReferenceRange    []ReferenceRange
}

// ReferenceRange is Observation.referenceRange.
type ReferenceRange struct {
	Low  *Quantity
	High *Quantity
	Kind *CodeableConcept // referenceRange.type
	Text string
}

// Patient is read for its identity only.
type Patient struct {
	Common
	BirthDate string
}

// Condition is read for the involved side and passed on as addressed.
type Condition struct {
	Common
	ClinicalStatus     *CodeableConcept
	VerificationStatus *CodeableConcept
	Code               *CodeableConcept
	BodySite           []CodeableConcept
	Subject            *Reference
	Onset              Value
}

// Procedure is read for a cuff repair: its date and side.
type Procedure struct {
	Common
	Status    string
	Code      *CodeableConcept
	Subject   *Reference
	Performed Value // DateTime, *Period or another type
	BodySite  []CodeableConcept
}

// Encounter groups the Observations of one visit.
type Encounter struct {
	Common
	Status  string
	Class   Coding // required by R4, passed on only
	Subject *Reference
	Period  *Period
}

// Goal is a target, received from an earlier answer or computed.
type Goal struct {
	Common
	LifecycleStatus   string
	AchievementStatus *CodeableConcept
	Category          []CodeableConcept
	Description       CodeableConcept
	Subject           *Reference
	StartDate         string
	Target            []Target
	Addresses         []Reference
	Note              []Annotation
	OutcomeReference  []Reference
}

// Target is Goal.target.
type Target struct {
	Measure *CodeableConcept
	Detail  Value
	DueDate string
}

// CarePlan is a proposal of what to do next.
type CarePlan struct {
	Common
	InstantiatesCanonical []string
	Replaces              []Reference
	Status                string
	Intent                string
	Category              []CodeableConcept
	Title                 string
	Description           string
	Subject               *Reference
	Encounter             *Reference
	Period                *Period
	Created               string
	Author                *Reference
	Addresses             []Reference
	SupportingInfo        []Reference
	Goal                  []Reference
	Activity              []Activity
	Note                  []Annotation
}

// Activity is CarePlan.activity with its detail.
type Activity struct {
	Detail *ActivityDetail
}

// ActivityDetail is CarePlan.activity.detail.
type ActivityDetail struct {
	Kind                  string
	InstantiatesCanonical []string
	Code                  *CodeableConcept
	ReasonCode            []CodeableConcept
	ReasonReference       []Reference
	Goal                  []Reference
	Status                string
	StatusReason          *CodeableConcept
	DoNotPerform          bool
	ScheduledPeriod       *Period
	ScheduledString       string
	Description           string
}

// DiagnosticReport gathers the results of one assessment.
type DiagnosticReport struct {
	Common
	Status         string
	Category       []CodeableConcept
	Code           CodeableConcept
	Subject        *Reference
	Encounter      *Reference
	Effective      Value
	Issued         string
	Performer      []Reference
	Result         []Reference
	Conclusion     string
	ConclusionCode []CodeableConcept
	PresentedForm  []Attachment
}

// Attachment is a document beside the structured data.
type Attachment struct {
	ContentType string
	Language    string
	Data        []byte // base64 on the wire
	Title       string
	Creation    string
}

// Provenance says what an answer was made from, and by what.
type Provenance struct {
	Common   // R4 has no Provenance.identifier: leave Common.Identifier empty
	Target   []Reference
	Occurred Value // DateTime or *Period
	Recorded string
	Policy   []string
	Activity *CodeableConcept
	Agent    []Agent
	Entity   []ProvenanceEntity
}

// Agent is Provenance.agent.
type Agent struct {
	Kind *CodeableConcept // agent.type
	Who  Reference
}

// ProvenanceEntity is Provenance.entity.
type ProvenanceEntity struct {
	Role string
	What Reference
}

// Device is the software that computed an answer.
type Device struct {
	Common
	Status       string
	Manufacturer string
	DeviceName   []DeviceName
	Kind         *CodeableConcept // Device.type
	Version      []DeviceVersion
}

// DeviceName is Device.deviceName.
type DeviceName struct {
	Name string
	Kind string // deviceName.type
}

// DeviceVersion is Device.version.
type DeviceVersion struct {
	Value string
}

// OperationOutcome lists what was wrong with, or noteworthy about, an input.
type OperationOutcome struct {
	Common // R4 has no OperationOutcome.identifier: leave Common.Identifier empty
	Issue  []OutcomeIssue
}

// OutcomeIssue is OperationOutcome.issue.
type OutcomeIssue struct {
	Severity    string
	Code        string
	Details     *CodeableConcept
	Diagnostics string
	Expression  []string
}

// Parameters is the input of an operation.
type Parameters struct {
	ID        string
	Parameter []Parameter
}

// Parameter is Parameters.parameter. Resource and Value exclude each other.
type Parameter struct {
	Name     string
	Value    Value
	Resource Resource
	Part     []Parameter
}

// Other is a resource of a type that Evenreach does not read, or one inside
// an entry that it only counts.
type Other struct {
	TypeName string
	ID       string
}

// Type implements Resource.
func (*Bundle) Type() string           { return "Bundle" }
func (*Observation) Type() string      { return "Observation" }
func (*Patient) Type() string          { return "Patient" }
func (*Condition) Type() string        { return "Condition" }
func (*Procedure) Type() string        { return "Procedure" }
func (*Encounter) Type() string        { return "Encounter" }
func (*Goal) Type() string             { return "Goal" }
func (*CarePlan) Type() string         { return "CarePlan" }
func (*DiagnosticReport) Type() string { return "DiagnosticReport" }
func (*Provenance) Type() string       { return "Provenance" }
func (*Device) Type() string           { return "Device" }
func (*OperationOutcome) Type() string { return "OperationOutcome" }
func (*Parameters) Type() string       { return "Parameters" }
func (o *Other) Type() string          { return o.TypeName }
