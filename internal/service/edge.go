package service

import (
	"net/http"

	"google.golang.org/grpc/codes"

	"evenreach.example/internal/fault"
)

// refusalStatus is the gRPC code and the HTTP status of a refusal.
type refusalStatus struct {
	grpc codes.Code
	http int
}

// The answers that many kinds share.
var (
	notFHIR       = refusalStatus{codes.InvalidArgument, http.StatusBadRequest}
	notAssessable = refusalStatus{codes.FailedPrecondition, http.StatusUnprocessableEntity}
	overLimit     = refusalStatus{codes.ResourceExhausted, http.StatusRequestEntityTooLarge}
)

// edge is the only place where a kind of fault becomes a code of gRPC or a
// status of HTTP. gRPC, REST and streams read the same row, so they cannot differ.
//
// Source: FHIR R4 4.0.1, RESTful API: 400 for what cannot be parsed or fails
// basic validation, 422 for what breaks business rules.
var edge = map[fault.Kind]refusalStatus{
	fault.Internal:          {codes.Internal, http.StatusInternalServerError},
	fault.Unavailable:       {codes.Unavailable, http.StatusServiceUnavailable},
	fault.Timeout:           {codes.DeadlineExceeded, http.StatusGatewayTimeout},
	fault.Unauthenticated:   {codes.Unauthenticated, http.StatusUnauthorized},
	fault.Forbidden:         {codes.PermissionDenied, http.StatusForbidden},
	fault.Throttled:         {codes.ResourceExhausted, http.StatusTooManyRequests},
	fault.UnknownPath:       {codes.Unimplemented, http.StatusNotFound},
	fault.WrongMethod:       {codes.Unimplemented, http.StatusMethodNotAllowed},
	fault.MediaTypeUnwanted: {codes.InvalidArgument, http.StatusNotAcceptable},
	fault.MediaTypeUnknown:  {codes.InvalidArgument, http.StatusUnsupportedMediaType},

	fault.TooLong:       overLimit,
	fault.TooManyTrials: overLimit,

	fault.Syntax:          notFHIR,
	fault.DuplicateName:   notFHIR,
	fault.Structure:       notFHIR,
	fault.UnknownElement:  notFHIR,
	fault.RequiredMissing: notFHIR,
	fault.BadValue:        notFHIR,
	fault.WrongResource:   notFHIR,
	fault.BadParameter:    notFHIR,

	// Not 404: that would read as a wrong address.
	fault.UnknownProtocol: {codes.NotFound, http.StatusUnprocessableEntity},
	fault.SeveralPatients: notAssessable,
	fault.NoInvolvedSide:  notAssessable,
	fault.NothingToAssess: notAssessable,

	// Of a single measurement: warnings as a rule, which refuse nothing.
	fault.SideMissing:        notAssessable,
	fault.SideConflict:       notAssessable,
	fault.UnitUnknown:        notAssessable,
	fault.UnitAlias:          notAssessable,
	fault.ValueMissing:       notAssessable,
	fault.ValueKind:          notAssessable,
	fault.ValueRange:         notAssessable,
	fault.Comparator:         notAssessable,
	fault.StatusRetracted:    notAssessable,
	fault.ModifierUnknown:    notAssessable,
	fault.DateMissing:        notAssessable,
	fault.DateFuture:         notAssessable,
	fault.PatientOther:       notAssessable,
	fault.Duplicate:          notAssessable,
	fault.PositionMissing:    notAssessable,
	fault.CodeUnknown:        notAssessable,
	fault.NotRead:            notAssessable,
	fault.NotComparable:      notAssessable,
	fault.NotMeasured:        notAssessable,
	fault.SingleTrial:        notAssessable,
	fault.TrialsScattered:    notAssessable,
	fault.TrialOutlier:       notAssessable,
	fault.Stale:              notAssessable,
	fault.ComparisonAffected: notAssessable,
	fault.ClearanceMissing:   notAssessable,

	fault.PerformerMissing:    notAssessable,
	fault.ReferenceUnresolved: notAssessable,
	fault.ImplausibleValue:    notAssessable,
	fault.TrialsDisagree:      notAssessable,
	fault.SidesMayBeSwapped:   notAssessable,
	fault.UnitMayBeWrong:      notAssessable,
	fault.ComparisonDeclined:  notAssessable,
	fault.NotPossible:         notAssessable,
	fault.PermitTooEarly:      notAssessable,
	fault.VersionUndecided:    notAssessable,
	fault.InputIncomplete:     notAssessable,
	fault.TemporaryAddress:    notAssessable,

	fault.StoredKept:           notAssessable,
	fault.StoredVersionMissing: notAssessable,
	fault.PlanNotSent:          notAssessable,
	fault.NotHandedOn:          notAssessable,

	// Source: CDS Hooks 2.0, the status of a call whose prefetch could not be had.
	fault.PrefetchMissing: {codes.FailedPrecondition, http.StatusPreconditionFailed},

	// Of the configured record. Not 5xx: the same request does not help.
	fault.PatientUnknown: {codes.NotFound, http.StatusNotFound},
	fault.RecordRefused:  notAssessable,
	fault.RecordChanged:  {codes.Aborted, http.StatusConflict},
}
