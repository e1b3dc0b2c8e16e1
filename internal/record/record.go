// Package record turns an assessment into FHIR resources: Observations,
// DetectedIssues, Goals, a CarePlan, a DiagnosticReport, their Provenance, and an OperationOutcome
// about the input.
package record

import (
	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/slab"
	"evenreach.example/internal/wording"
)

// Output is the kind of an answer.
type Output uint8

// The outputs.
const (
	// Transaction can be posted to a FHIR server. Posting it twice stores once. Earlier
	// results in the input with the same content are kept; others are updated or closed if
	// the record still has the version that was read and nobody else changed them.
	Transaction Output = iota
	// Collection is for reading.
	Collection
	// Check is a collection with one OperationOutcome: what was understood, dropped or
	// missing in the input. It has no results.
	Check
	// LivingTransaction is a transaction in which the CarePlan and the Goals of the
	// input are updated in place too, one of each kind for a shoulder, instead of being
	// created for each assessment.
	LivingTransaction
)

// String is the output's name in the operation's parameters.
func (o Output) String() string {
	return [...]string{"transaction", "collection", "check", "living-transaction"}[o]
}

// posted reports whether the answer is for posting to a FHIR server.
func (o Output) posted() bool { return o == Transaction || o == LivingTransaction }

// Options says how to answer.
type Options struct {
	Output  Output
	Issues  []fault.Issue      // those of Issues, where they are at hand; computed if nil
	Words   *wording.Catalogue // nil for English
	Version string             // of the software; empty for a development build
}

// Build writes the answer. The same assessment, reading and options always give the same
// Bundle, with the resources in the same order.
//
// Entries have no id, but for updates of what the record has. They refer to each other by
// urn:uuid, and to the caller's resources by the caller's references. Identifiers and
// urn:uuids are digests of the patient, the side, the day and what is said: a replay gives
// the same ones, and corrected input gives new ones where it changes what is said.
//
// The Bundle shares values with the reading and between its resources, so it must not be
// changed.
func Build(a *assess.Assessment, reading *intake.Reading, o Options) *fhir.Bundle {
	b := newBuilder(a, reading, o)
	if o.Output == Check {
		b.addOutcome(b.checkOutcome())
		return b.bundle()
	}
	b.report = report.New(a, b.issues, b.w)
	b.addDevice()
	b.addFlags()
	b.addSymmetries()
	b.addRatios()
	b.addRanges()
	b.addChanges()
	b.addCourse()
	b.addReadiness()
	b.addDemands()
	b.addDetectedIssues()
	b.addGoals()
	b.addCarePlan()
	if o.Output == Collection {
		b.addOutcome(b.messages())
	}
	b.addReport()
	b.closeObsolete()
	b.addProvenance()
	return b.bundle()
}

// byPosition is a result for each arm position.
type byPosition [len(shoulder.Positions) + 1]fhir.Reference

// usualContent is a little more than the content of a result usually needs, in bytes.
const usualContent = 8 << 10

// builder is the state while one answer is written.
type builder struct {
	a      *assess.Assessment
	r      *intake.Reading
	o      Options
	w      *wording.Catalogue
	issues []fault.Issue
	report *report.Writer // nil for a check

	rewriter  referenceRewriter
	inputs    inputs
	subject   *fhir.Reference
	encounter *fhir.Reference
	device    *fhir.Reference
	bodySite  *fhir.CodeableConcept // the involved shoulder
	visit     int                   // index of the latest session of the shoulder, -1 if none

	thresholds []fhir.ReferenceRange // of an index: even, good enough

	settings     []setting                                        // those of the results so far
	motions      [len(shoulder.Motions) + 1]*fhir.CodeableConcept // by motion
	concepts     slab.Slab[ownConcept]
	given        slab.Slab[fhir.Identifier]
	observations slab.Slab[fhir.Observation]
	drafted      []fhir.Component // see draft
	quantities   slab.Slab[fhir.Quantity]
	requests     slab.Slab[fhir.Request]
	texts        slab.Texts
	scratch      []byte // for texts whose length is not known before

	bare    fhir.Observation // for a digest
	written []byte           // likewise

	strengthChanges []*measure.Change     // those that the answer says, of all settings
	courseInputs    [][]shoulder.SourceID // those that the courses of the rotations are derived from

	shoulder    string // see shoulderDigest
	stored      storedResults
	identifiers []resultID       // of all that the answer says
	goalIDs     []resultID       // those of the goals
	computed    []fhir.Reference // to all that the answer says or closes

	entries []fhir.Entry
	results []fhir.Reference                      // the Observations
	flags   []fhir.Reference                      // red flags, in the order of the readiness'
	holding []fhir.Reference                      // those of them that hold
	indices [len(shoulder.Motions) + 1]byPosition // by motion
	ranges  byPosition                            // range fractions
	motion  []fhir.Reference                      // the readiness of each trained motion
	course  fhir.Reference                        // of the shoulder, empty if there is none
	overall fhir.Reference
	goals   []fhir.Reference // in the order of the plan's goals
	outcome fhir.Reference   // of a collection
}

func newBuilder(a *assess.Assessment, reading *intake.Reading, o Options) *builder {
	b := &builder{a: a, r: reading, o: o, w: o.Words, issues: o.Issues}
	if b.issues == nil {
		b.issues = Issues(a, reading, o.Output)
	}
	if b.w == nil {
		b.w = wording.For("en")
	}
	b.w = b.w.With(&b.texts)
	b.rewriter = newReferenceRewriter(reading)
	b.inputs = newInputs(reading.Sources, b.rewriter)
	b.subject = b.rewriter.subject(reading.Subject)
	b.encounter = b.rewriter.encounter(reading.Encounter)
	b.bodySite = shoulderOf(a.Episode.Involved)
	b.visit = a.Episode.Latest()
	b.thresholds = append(b.thresholdRange(readiness.Even.String(), a.Protocol.Symmetry.Even),
		b.thresholdRange(readiness.GoodEnough.String(), a.Protocol.Symmetry.GoodEnough)...)
	b.shoulder = shoulderDigest(reading.Patient, a.Episode.Involved)
	b.stored = newStoredResults(reading.Stored)
	b.entries = make([]fhir.Entry, 0, 64)
	b.written = make([]byte, 0, usualContent)
	return b
}

func (b *builder) bundle() *fhir.Bundle {
	kind := "collection"
	if b.o.Output.posted() {
		kind = "transaction"
	}
	return &fhir.Bundle{BundleType: kind, Entry: b.entries}
}
