package fhir

// What only computed resources use: where results and software have their
// identifiers, our own codes of computed values, and the codes of HL7's
// systems that an answer is written with.

// The systems of our own identifiers.
const (
	SystemResult   = CanonicalBase + "/sid/result"   // of a result: a digest of what it was computed from
	SystemSoftware = CanonicalBase + "/sid/software" // of the software: its version
)

// The code systems that only computed resources use.
const (
	SystemParticipant   = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"
	SystemDataOperation = "http://terminology.hl7.org/CodeSystem/v3-DataOperation"
	SystemURI           = "urn:ietf:rfc:3986" // of an identifier that is a URI
)

// CanonicalPlanDefinition is the canonical URL of a protocol, up to its id.
const CanonicalPlanDefinition = CanonicalBase + "/PlanDefinition/"

// ExtensionMessages points from a resource to the OperationOutcome about the
// input that it was made from.
const ExtensionMessages = "http://hl7.org/fhir/StructureDefinition/cqf-messages"

// Our own codes of SystemShoulder for further computed Observations.
const (
	CodeRangeChange   = "range-change"           // deg, against the previous session
	CodePainChange    = "pain-change"            // {score}, against the previous session
	CodeOutcomeChange = "outcome-measure-change" // against the previous session
	CodeRedFlag       = "red-flag"               // code: what calls for an examination before any load
)

// Our own codes of SystemShoulder for the components of computed Observations.
// The codes of criteria, steps, verdicts, directions and so on are those of the
// enumerations of the core.
const (
	CodeProbabilityGoodEnough = "probability-good-enough"
	CodeInvolvedStrength      = "involved-strength"
	CodeComparisonStrength    = "comparison-strength"
	CodeInvolvedByMass        = "involved-strength-by-mass"
	CodeComparisonByMass      = "comparison-strength-by-mass"
	CodeInvolvedError         = "involved-standard-error"
	CodeComparisonError       = "comparison-standard-error"
	CodeRangeNeeded           = "range-needed"

	CodeDoubt                 = "doubt"
	CodeWasEven               = "was-even"
	CodeWasEvenDate           = "was-even-date"
	CodeUsualIndex            = "usual-index"
	CodeEarlierBestIndex      = "earlier-best-index"
	CodeEarlierBestDate       = "earlier-best-date"
	CodeDominantSide          = "dominant-side"
	CodeDominantAdjustedIndex = "dominant-adjusted-index"

	CodeFlagHolds       = "red-flag-holds"
	CodeExaminationDate = "examination-date"
	CodeFlagMeasure     = "red-flag-measure"
	CodeFlagAgainst     = "red-flag-against"
	CodeCurrentDate     = "current-date"
	CodeAgainstValue    = "against-value"
	CodeAgainstDate     = "against-date"
	CodeFlagValue       = "red-flag-value"
	CodeTests           = "tests"

	CodeNextLoad     = "next-load"
	CodeNextLoadDate = "next-load-date"

	CodeCurrentValue  = "current-value"
	CodePreviousValue = "previous-value"

	CodeChangePrevious     = "change-since-previous"
	CodeDetectablePrevious = "detectable-since-previous"
	CodeChangeBaseline     = "change-since-baseline"
	CodeDetectableBaseline = "detectable-since-baseline"

	CodeImportantPrevious = "important-since-previous"
	CodeImportantBaseline = "important-since-baseline"

	CodeOutlook          = "outlook"
	CodeForecastDate     = "forecast-date"
	CodeForecastEarliest = "forecast-earliest"
	CodeForecastLatest   = "forecast-latest"

	CodeNextStep       = "next-step"
	CodeHeldBy         = "held-by"
	CodeSupportedBy    = "supported-by"
	CodeContinueBeside = "continue-beside"
	CodeSteppedBack    = "stepped-back-from"
	CodeProvisional    = "provisional"
	CodeIrritability   = "irritability"
)

// SuffixValue makes of the code of a criterion, such as even-abduction-90, the
// code of the value that was held against its threshold.
const SuffixValue = "-value"

// Computed lists our own codes of computed Observations and their components,
// with their displays.
var Computed = [...]Coding{
	own(CodeLimbSymmetryIndex, "Limb symmetry index"),
	own(CodeRotationRatio, "External to internal rotation strength ratio"),
	own(CodeRangeFraction, "Active range as a share of full range"),
	own(CodeStrengthChange, "Change of strength"),
	own(CodeRangeChange, "Change of range"),
	own(CodePainChange, "Change of pain"),
	own(CodeOutcomeChange, "Change of an outcome measure"),
	own(CodeStrengthCourse, "Course of strength of the shoulder"),
	own(CodeRotationCourse, "Course of strength of a rotation"),
	own(CodeRotationReadiness, "Open step of a rotation"),
	own(CodeOverallReadiness, "Overall status of the shoulder"),
	own(CodeRedFlag, "Red flag"),
	own(CodeDemand, "Demand of work or sport"),

	own(CodeRotation, "Rotation"),
	own(CodeMotion, "Motion"),
	own(CodeArmPosition, "Arm position"),
	own(CodeArmSupport, "Arm support"),
	own(CodeContractionType, "Contraction type"),
	own(CodePainContext, "Pain context"),
	own(CodeIntervalLow, "Lower end of the confidence interval"),
	own(CodeIntervalHigh, "Upper end of the confidence interval"),
	own(CodeProbabilityAtThreshold, "Probability that the true index is at least even"),
	own(CodeProbabilityGoodEnough, "Probability that the true index is at least good enough"),
	own(CodeInvolvedStrength, "Strength of the involved side"),
	own(CodeComparisonStrength, "Strength of the comparison side"),
	own(CodeInvolvedByMass, "Strength of the involved side by body mass"),
	own(CodeComparisonByMass, "Strength of the comparison side by body mass"),
	own(CodeInvolvedError, "Standard error of measurement of the involved side"),
	own(CodeComparisonError, "Standard error of measurement of the comparison side"),
	own(CodeRangeNeeded, "Active range that opens the position"),
	own(CodeDoubt, "Doubt about the measurement"),
	own(CodeWasEven, "Index that was even before"),
	own(CodeWasEvenDate, "Date of the index that was even"),
	own(CodeUsualIndex, "Index against the comparison side's usual strength"),
	own(CodeEarlierBestIndex, "Index against the comparison side's earlier best"),
	own(CodeEarlierBestDate, "Date of the comparison side's earlier best"),
	own(CodeDominantSide, "Dominant side"),
	own(CodeDominantAdjustedIndex, "Index after the published difference between the sides"),

	own(CodeFlagHolds, "Whether the red flag holds"),
	own(CodeExaminationDate, "Date of the examination"),
	own(CodeFlagMeasure, "Measure that shows the red flag"),
	own(CodeFlagAgainst, "Measure that it is read against"),
	own(CodeCurrentDate, "Date of the current value"),
	own(CodeAgainstValue, "Value that it is read against"),
	own(CodeAgainstDate, "Date of the value that it is read against"),
	own(CodeFlagValue, "Value that was held against the threshold of the red flag"),
	own(CodeTests, "Number of tests that show it"),

	own(CodePermittedLoad, "Permitted load"),
	own(CodeNextLoad, "Load that is permitted next"),
	own(CodeNextLoadDate, "Date from which the next load is permitted"),

	own(CodeCurrentValue, "Current value"),
	own(CodePreviousValue, "Value of the previous session"),
	own(CodeChangePrevious, "Change since the previous session"),
	own(CodeDetectablePrevious, "Smallest detectable change since the previous session"),
	own(CodeChangeBaseline, "Change since the first session"),
	own(CodeDetectableBaseline, "Smallest detectable change since the first session"),
	own(CodeImportantPrevious, "Whether the change since the previous session is important"),
	own(CodeImportantBaseline, "Whether the change since the first session is important"),

	own(CodeOutlook, "Outlook on evenness"),
	own(CodeForecastDate, "Date of evenness, if the course goes on"),
	own(CodeForecastEarliest, "Earliest date of evenness, if the course goes on"),
	own(CodeForecastLatest, "Latest date of evenness, if the course goes on"),

	own(CodeDemandID, "Id of the demand"),
	own(CodeDemandHeldBy, "What the demand waits for"),
	own(CodeDemandIndex, "Index that the demand asks for"),
	own(CodeDemandRange, "Active range that the demand asks for"),
	own(CodeDemandPain, "Pain that the demand allows"),
	own(CodeDemandMeasure, "Outcome measure that the demand asks for"),
	own(CodeDemandWeeks, "Weeks since the repair that the demand asks for"),

	own(CodeNextStep, "Next step"),
	own(CodeHeldBy, "Criterion that holds the next step"),
	own(CodeSupportedBy, "Criterion that keeps the arm supported"),
	own(CodeContinueBeside, "Lower position whose training goes on beside"),
	own(CodeSteppedBack, "Position that is no longer good enough"),
	own(CodeProvisional, "Open without a measurement in this position"),
	own(CodeIrritability, "Irritability of the shoulder"),
}

func own(code, display string) Coding {
	return Coding{System: SystemShoulder, Code: code, Display: display}
}
