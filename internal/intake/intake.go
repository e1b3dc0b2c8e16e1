// Package intake turns the FHIR resources of one request into an episode of one shoulder:
// it interprets the codes, sides, units and visits, and lists everything that it dropped
// or corrected.
package intake

import (
	"context"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/slab"
)

// Input is what one assessment is asked for.
type Input struct {
	Bundle *fhir.Bundle
	// Root is the FHIRPath of the Bundle in what was sent: "Bundle", or
	// "Parameters.parameter[0].resource". Empty stands for "Bundle".
	Root string
	// Response is the answer of a record to the Bundle, a transaction, which tells where
	// its entries were stored; nil if there is none.
	Response *fhir.Bundle
	// ResponseRoot is the FHIRPath of the Response in what was sent.
	ResponseRoot string
	// Involved is the side as stated by the caller; unknown if it is to be
	// derived from the record.
	Involved shoulder.Side
	// AsOf is the evaluation time as a FHIR date or dateTime. Empty stands for
	// the time of the latest accepted measurement.
	AsOf string
	// Received is the time at which the server received the request. It serves only to
	// recognise future dates when AsOf is empty; if it is zero, none is recognised.
	Received time.Time
	// Codes are the site's own codes; nil for none.
	Codes *CodeMap
	// Outcomes are the outcome measures of the protocol, which are read in addition to the
	// built-in measurements.
	Outcomes []protocol.OutcomeMeasure
}

// Reading is what was understood of an Input.
type Reading struct {
	Episode shoulder.Episode
	// AsOf is the evaluation time. A stated day without a time stands for its
	// end, so that no accepted measurement lies after it.
	AsOf time.Time
	// Subject is how results refer to the patient: as the measurements did.
	Subject fhir.Reference
	// Patient is a stable identity of the patient, for digests: the address with the
	// base of the server, as far as it is known, and an identifier of the Patient.
	Patient string
	// Encounter is that of the latest session, nil unless its measurements
	// name one and the same.
	Encounter *fhir.Reference
	// Sources is indexed by shoulder.SourceID and ordered by time, then
	// identity, never by the order of the entries.
	Sources []Source
	// Addresses are the active Conditions of the involved shoulder.
	Addresses []fhir.Reference
	// Stored are the results of earlier answers of ours, the newest of a type first.
	Stored []Stored
	// Issues is everything dropped, corrected or noteworthy, in the order of
	// the input, up to maxIssues.
	Issues []fault.Issue
	// Used is the number of accepted measurements; each trial counts.
	Used int
}

// Source is one input that the episode was made from.
type Source struct {
	Path string // FHIRPath in what was sent
	// Reference is how to point at it: its fullUrl, else Type/id, else its
	// identifier.
	Reference fhir.Reference
	// Identity names the input and its version, for digests. It changes when
	// the content changes, even if the sender gives no versions.
	Identity string
	When     time.Time // zero for a repair, a handedness or a refusal without a date
	// Received is value and unit exactly as received, such as "21.5 [lbf_av]";
	// trials are separated by "; ".
	Received string
	Kind     string // resource type
}

// maxMeasurements bounds the work of one assessment. A hundred visits with two
// hundred trials each stay below it.
const maxMeasurements = 20_000

// Read reads an input. The error is always *fault.Errors and lists every problem found:
// the whole input is refused when it is not about exactly one patient, has no usable
// measurement of the shoulder, or does not tell which side is involved. A bad Observation
// drops only itself and is listed in Issues.
//
// The Bundle may be of any type: only the resources of its entries count. It
// is not changed. The Reading does not depend on the order of the entries, but
// for the paths in it.
func Read(in Input) (*Reading, error) { return ReadContext(context.Background(), in) }

// ReadContext is Read with a context: it returns the context's error when that ends.
func ReadContext(ctx context.Context, in Input) (*Reading, error) {
	r := &reader{root: in.Root, codes: in.Codes, outcomes: outcomeTerms(in.Outcomes), scratch: make([]byte, 0, 256)}
	if r.root == "" {
		r.root = "Bundle"
	}
	if in.Bundle == nil {
		return nil, fault.Refuse(fault.RequiredMissing, "", "no Bundle was sent; expected one")
	}
	asOf, ok := r.parseAsOf(in.AsOf)
	if !ok {
		return nil, r.refusal()
	}
	r.latest, r.clock = latestAllowed(asOf, in.Received), latestAllowed(dateTime{}, in.Received)

	entries := r.flatten(in.Bundle)
	if !r.locate(in, entries) {
		return nil, r.refusal()
	}
	r.directory = newDirectory(entries)
	if r.directory.repeats {
		entries = r.newest(entries)
		r.directory = newDirectory(entries)
	}
	entries = r.withoutReplaced(entries)
	if !r.identifyPatient(entries) {
		return nil, r.refusal()
	}
	if err := r.readAll(ctx, entries); err != nil {
		return nil, err
	}
	return r.conclude(in.Involved, asOf)
}

// reader is the state while one Input is read.
type reader struct {
	root      string
	codes     *CodeMap
	outcomes  map[code]*term // of the outcome measures
	latest    dateTime       // a measurement after it lies in the future
	clock     dateTime       // nobody can have measured after it yet; zero if that is not known
	caches    textCaches
	directory directory
	patient   patient

	findings         []*finding
	confirmations    []*finding // whose references are not resolved yet
	conditions       []condition
	earlierResults   []Stored
	skippedTypes     map[string]int // number of resources outside the scope, by type
	leftOut          []leftOut      // Observations outside the scope, by code
	leftOutAt        map[leftOutKey]int
	procedureSystems []string // of the procedures that were left out
	operations       []*entry // procedures on the shoulder whose codes are not known
	used             int
	issues           []fault.Issue
	unlisted         int           // issues over maxIssues
	missing          []fault.Issue // issues that report parts of the record as missing
	lostEntries      []*entry      // dropped before it was known what they are
	lostMeasurements []lostMeasurement
	refused          []*finding        // tests of strength of which no shoulder exerts any reading
	locations        map[string]string // addresses in the record by the temporary urn:uuid of the entry
	incomplete       bool              // one of the lost entries may have forbidden load

	findingSlab    slab.Slab[finding]
	trialValueSlab slab.Slab[trialValue]
	texts          slab.Texts

	// Buffers, reused to save allocations.
	scratch      []byte // for a text before it is copied into texts
	received     []byte // the values of an Observation as received
	trialIndices []int
}

// contextCheckInterval is how many entries are read between two checks of the context: a
// fraction of a millisecond, unless an entry is large.
const contextCheckInterval = 64

// readAll reads each resource according to its type. The error is the context's.
func (r *reader) readAll(ctx context.Context, entries []entry) error {
	r.findings = make([]*finding, 0, len(entries))
	for i := range entries {
		if i%contextCheckInterval == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		e := &entries[i]
		switch resource := e.resource.(type) {
		case *fhir.Observation:
			r.observation(e, resource)
		case *fhir.Condition:
			r.condition(e, resource)
		case *fhir.Procedure:
			r.procedure(e, resource)
		case *fhir.CarePlan:
			r.carePlan(e, resource)
		case *fhir.Goal, *fhir.DiagnosticReport, *fhir.DetectedIssue:
			if !r.takeEarlierResult(e) {
				r.skipType(resource.Type())
			}
		case *fhir.Patient, *fhir.Encounter, *fhir.OperationOutcome:
			// Read where they are referred to; an OperationOutcome of a search
			// is about the search.
		default:
			r.skipType(resource.Type())
		}
	}
	r.holdLostStatements()
	r.reportSkippedTypes()
	r.reportLeftOut()
	return nil
}

// arrange puts the findings in order and starts the sessions. Implausible forces
// are dropped first, because a session may hold nothing else. Confirmations are
// resolved last, because only a measurement that is used can be confirmed.
func (r *reader) arrange() []shoulder.Session {
	r.sortFindings()
	sessions := r.startSessions()
	if r.dropImplausible(len(sessions)) {
		r.sortFindings()
		sessions = r.startSessions()
	}
	if r.confirm() {
		r.sortFindings()
	}
	return sessions
}

// conclude puts the findings together, or refuses.
func (r *reader) conclude(stated shoulder.Side, asOf dateTime) (*Reading, error) {
	r.spareForOperations()
	sessions := r.arrange()
	r.reportLostEntries()
	involved := r.involvedSide(stated)
	if !r.anythingToAssess() {
		r.refuse(fault.NothingToAssess, r.root, "no usable measurement of a shoulder; expected Observations of strength, range, pain or a steady arm")
	}
	if r.used > maxMeasurements {
		r.refuse(fault.TooManyTrials, r.root, "more than 20,000 measurements; expected the ones of this episode only")
	}
	reading := &Reading{AsOf: r.evaluationTime(asOf), Used: r.used}
	reading.Episode = r.episode(involved, sessions)
	reading.Episode.Born = r.born()
	reading.Sources = r.sources()
	reading.Subject, reading.Patient = r.subject()
	reading.Episode.Person = r.person(&reading.Subject)
	reading.Encounter = r.lastEncounter()
	r.warnTemporary(&reading.Subject)
	reading.Addresses = r.addressed(involved)
	reading.Stored = r.sortedStored()

	r.reportUnlisted()
	if err := r.refusal(); err != nil {
		return nil, err
	}
	reading.Episode.Incomplete = r.incomplete || len(r.missing) > 0
	reading.Issues = append(r.missing, r.issues...)
	fault.Sort(reading.Issues)
	return reading, nil
}

// refusal is the error why nothing can be computed, nil if something can. Missing parts of
// the record are listed first, because they may be the reason.
func (r *reader) refusal() error {
	if fault.New(r.issues) == nil {
		return nil
	}
	fault.Sort(r.issues)
	return &fault.Errors{Issues: append(r.missing, r.issues...)}
}
