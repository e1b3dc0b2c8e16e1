package fhir

// Our own codes of SystemShoulder for the verdict on a demand of work or sport, and for
// its components. The components of criteria may be there several times; the text of their
// code says what each is about.
const (
	CodeDemand        = "demand"         // code: how sure it is that the demand is met
	CodeDemandID      = "demand-id"      // string: the demand's id in the protocol
	CodeDemandHeldBy  = "demand-held-by" // code
	CodeDemandIndex   = "demand-index"   // %
	CodeDemandRange   = "demand-range"   // deg
	CodeDemandPain    = "demand-pain"    // {score}
	CodeDemandMeasure = "demand-measure" // in the unit of the outcome measure
	CodeDemandWeeks   = "demand-weeks"   // wk
)
