package fault

// Kind is what is wrong. The zero Kind is a defect of ours.
type Kind uint8

// The kinds, in the order in which they decide an answer that has several.
const (
	Internal             Kind = iota // a defect of ours
	Unavailable                      // overloaded, or shutting down
	Timeout                          // the caller's deadline passed
	Unauthenticated                  // no valid credentials
	Forbidden                        // credentials do not cover the operation
	Throttled                        // the client takes more than its share
	UnknownPath                      // no such address
	WrongMethod                      // the address exists, the method does not
	MediaTypeUnwanted                // Accept asks for a format that is not written
	MediaTypeUnknown                 // Content-Type is a format that is not read
	TooLong                          // body, depth or number of entries over the limit
	Syntax                           // not JSON, or not UTF-8
	DuplicateName                    // a JSON object has a name twice
	Structure                        // JSON of another shape than FHIR's
	UnknownElement                   // a name that R4 does not have
	RequiredMissing                  // a required element is absent
	BadValue                         // a primitive outside its FHIR domain
	WrongResource                    // another resource type than expected
	BadParameter                     // an operation parameter outside its domain
	UnknownProtocol                  // no such protocol is loaded
	SeveralPatients                  // the Bundle holds more than one patient
	NoInvolvedSide                   // the involved side cannot be derived
	NothingToAssess                  // no usable shoulder measurement
	TooManyTrials                    // over the limit of measurements
	SideMissing                      // a measurement without a side
	SideConflict                     // a measurement with two different sides
	UnitUnknown                      // the unit cannot be converted
	UnitAlias                        // a mass unit read as a force
	ValueMissing                     // no value, or a reason for its absence
	ValueKind                        // a value of another type than expected
	ValueRange                       // a value that cannot be measured
	Comparator                       // "<5" is not a number
	StatusRetracted                  // entered in error, cancelled, or not yet final
	ModifierUnknown                  // a modifier extension that is not understood
	DateMissing                      // no usable date
	DateFuture                       // dated after the assessment
	PatientOther                     // belongs to another patient
	Duplicate                        // the same measurement twice
	PositionMissing                  // a strength without an arm position
	CodeUnknown                      // a code of ours that does not exist
	NotRead                          // a resource or code outside the scope
	NotComparable                    // the two sides were measured differently
	NotMeasured                      // a measurement that a decision needs is absent
	SingleTrial                      // one trial only
	TrialsScattered                  // trials vary more than the protocol allows
	TrialOutlier                     // one trial stands apart from the others
	Stale                            // too old to decide with
	ComparisonAffected               // the other side is not unaffected
	ClearanceMissing                 // a repair without date or clearance
	PerformerMissing                 // a clinician's statement without the clinician
	ReferenceUnresolved              // points at something that is not there
	ImplausibleValue                 // a strength that nobody has
	TrialsDisagree                   // the trials of one test cannot all be right
	SidesMayBeSwapped                // the two sides look exchanged
	UnitMayBeWrong                   // the values look like those of another unit
	ComparisonDeclined               // the comparison side lost strength
	NotPossible                      // a test of strength that may have been tried in vain
	PermitTooEarly                   // a load permitted far before its usual week
	VersionUndecided                 // versions of one resource that nothing orders
	InputIncomplete                  // what was sent says that some of it is missing
	TemporaryAddress                 // an address by which no record finds anything
	StoredKept                       // a plan or goal that is not ours alone any more
	StoredVersionMissing             // a stored result that cannot be updated safely
	PlanNotSent                      // a plan is to live on that was not sent
	NotHandedOn                      // the configured target refused the answer
	PrefetchMissing                  // a call without what it needs, which could not be fetched
	PatientUnknown                   // the configured record has no such patient
	RecordRefused                    // the configured record does not take what it is asked or sent
	RecordChanged                    // the configured record was changed in the meantime, again and again
	kinds                            // their number
)

// row is what a kind is called and how FHIR classifies it.
type row struct {
	slug  string // metric label and code of our own code system
	issue string // OperationOutcome.issue.code, most specific that applies
	text  string // display
}

var table = [kinds]row{
	Internal:           {"internal", "exception", "Defect of the service"},
	Unavailable:        {"unavailable", "transient", "Service busy or shutting down"},
	Timeout:            {"timeout", "timeout", "Deadline passed"},
	Unauthenticated:    {"unauthenticated", "login", "No valid credentials"},
	Forbidden:          {"forbidden", "forbidden", "Credentials do not cover the operation"},
	Throttled:          {"throttled", "throttled", "Client takes more than its share"},
	UnknownPath:        {"unknown-path", "not-found", "No such address"},
	WrongMethod:        {"wrong-method", "not-supported", "Method not supported here"},
	MediaTypeUnwanted:  {"media-type-unwanted", "not-supported", "Requested format is not written"},
	MediaTypeUnknown:   {"media-type-unknown", "not-supported", "Sent format is not read"},
	TooLong:            {"too-long", "too-long", "Larger than the limit"},
	Syntax:             {"syntax", "structure", "Not well-formed"},
	DuplicateName:      {"duplicate-name", "structure", "Name given twice"},
	Structure:          {"structure", "structure", "Not the FHIR shape"},
	UnknownElement:     {"unknown-element", "structure", "Element unknown in FHIR R4"},
	RequiredMissing:    {"required-missing", "required", "Required element missing"},
	BadValue:           {"bad-value", "value", "Value outside its FHIR domain"},
	WrongResource:      {"wrong-resource", "invalid", "Unexpected resource type"},
	BadParameter:       {"bad-parameter", "value", "Parameter outside its domain"},
	UnknownProtocol:    {"unknown-protocol", "not-found", "Protocol not loaded"},
	SeveralPatients:    {"several-patients", "business-rule", "More than one patient"},
	NoInvolvedSide:     {"no-involved-side", "required", "Involved side unknown"},
	NothingToAssess:    {"nothing-to-assess", "required", "No usable shoulder measurement"},
	TooManyTrials:      {"too-many-trials", "too-costly", "More measurements than the limit"},
	SideMissing:        {"side-missing", "required", "Side missing"},
	SideConflict:       {"side-conflict", "business-rule", "Two different sides"},
	UnitUnknown:        {"unit-unknown", "code-invalid", "Unit cannot be converted"},
	UnitAlias:          {"unit-alias", "code-invalid", "Mass unit read as a force"},
	ValueMissing:       {"value-missing", "required", "Value missing"},
	ValueKind:          {"value-kind", "value", "Value of another type"},
	ValueRange:         {"value-range", "value", "Value cannot be measured"},
	Comparator:         {"comparator", "value", "Comparator instead of a number"},
	StatusRetracted:    {"status-retracted", "business-rule", "Status does not allow use"},
	ModifierUnknown:    {"modifier-unknown", "extension", "Modifier extension not understood"},
	DateMissing:        {"date-missing", "required", "Date missing"},
	DateFuture:         {"date-future", "business-rule", "Dated after the assessment"},
	PatientOther:       {"patient-other", "business-rule", "Belongs to another patient"},
	Duplicate:          {"duplicate", "duplicate", "Same measurement twice"},
	PositionMissing:    {"position-missing", "required", "Arm position missing"},
	CodeUnknown:        {"code-unknown", "code-invalid", "Code unknown"},
	NotRead:            {"not-read", "informational", "Outside the scope of the assessment"},
	NotComparable:      {"not-comparable", "business-rule", "Sides measured differently"},
	NotMeasured:        {"not-measured", "incomplete", "Measurement missing"},
	SingleTrial:        {"single-trial", "incomplete", "Single trial"},
	TrialsScattered:    {"trials-scattered", "business-rule", "Trials vary"},
	TrialOutlier:       {"trial-outlier", "business-rule", "Trial stands apart"},
	Stale:              {"stale", "business-rule", "Too old to decide with"},
	ComparisonAffected: {"comparison-affected", "business-rule", "Comparison side affected"},
	ClearanceMissing:   {"clearance-missing", "incomplete", "Repair date or clearance missing"},

	PerformerMissing:    {"performer-missing", "required", "Clinician missing"},
	ReferenceUnresolved: {"reference-unresolved", "not-found", "Points at something that is not there"},
	ImplausibleValue:    {"implausible-value", "value", "Strength that nobody has"},
	TrialsDisagree:      {"trials-disagree", "business-rule", "Trials disagree: repeat the test or confirm it"},
	SidesMayBeSwapped:   {"sides-may-be-swapped", "business-rule", "Sides may be exchanged: check and confirm"},
	UnitMayBeWrong:      {"unit-may-be-wrong", "business-rule", "Unit may be wrong: check and confirm"},
	ComparisonDeclined:  {"comparison-side-declined", "business-rule", "Comparison side lost strength"},
	NotPossible:         {"test-not-possible", "incomplete", "Test perhaps not possible: ask why"},
	PermitTooEarly:      {"permit-too-early", "business-rule", "Load permitted far before its usual week: check"},
	VersionUndecided:    {"version-undecided", "conflict", "Versions that nothing orders"},
	InputIncomplete:     {"input-incomplete", "incomplete", "Part of the record is missing"},
	TemporaryAddress:    {"temporary-address", "not-found", "Address that no record finds"},

	StoredKept:           {"stored-kept", "informational", "Kept as a clinician left it"},
	StoredVersionMissing: {"stored-version-missing", "required", "Stored result without its version"},
	PlanNotSent:          {"plan-not-sent", "informational", "Earlier plan was not sent"},
	NotHandedOn:          {"not-handed-on", "processing", "Answer refused by its target"},
	PrefetchMissing:      {"prefetch-missing", "required", "Prefetch missing"},
	PatientUnknown:       {"patient-unknown", "not-found", "Patient unknown to the record"},
	RecordRefused:        {"record-refused", "processing", "Refused by the configured record"},
	RecordChanged:        {"record-changed", "conflict", "Record changed in the meantime"},
}

// String is the kind's code in our code system of input issues, fit for a
// metric label.
func (k Kind) String() string { return k.row().slug }

// IssueType is the FHIR issue type of the kind.
//
// Source: FHIR R4 4.0.1, value set issue-type (required binding).
func (k Kind) IssueType() string { return k.row().issue }

// Display is the kind in a few words.
func (k Kind) Display() string { return k.row().text }

func (k Kind) row() row {
	if k >= kinds {
		return table[Internal]
	}
	return table[k]
}

// Kinds returns every kind, in order.
func Kinds() []Kind {
	all := make([]Kind, kinds)
	for i := range all {
		all[i] = Kind(i)
	}
	return all
}
