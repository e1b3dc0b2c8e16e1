// Package conformance holds what Evenreach publishes and answers against FHIR
// R4 by means that have nothing in common with it: the validating reader of
// github.com/google/fhir, several validators and a receiving record on Node, a
// foreign client, the official examples, and HL7's own validator on Java.
//
// Tests without a build tag need Go alone. Those tagged conformance need Node
// and what npm ci installs here (.ci/run conformance); the one tagged official
// needs Java and Maven (.ci/run official), and so does the one tagged record, which
// plays a patient's visits against a whole record server (.ci/run record). Those
// tagged clients need Python, Node, Java and Maven (.ci/run clients).
package conformance
