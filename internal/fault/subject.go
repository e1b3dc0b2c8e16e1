package fault

import (
	"time"

	"evenreach.example/internal/shoulder"
)

// SubjectKind is the kind of what an issue is about.
type SubjectKind uint8

// The kinds. The zero kind stands for anything else, which is not named.
const (
	OfAnything SubjectKind = iota
	OfStrength
	OfGrade
	OfRange
	OfPain
	OfSteadiness
	OfLoad      // a statement about the load
	OfProcedure // an operation or another procedure
)

// Subject is a measurement, a statement or a procedure that was dropped, as far as it was
// read.
type Subject struct {
	Kind     SubjectKind
	When     time.Time // zero if it is not known
	Motion   shoulder.Motion
	Movement shoulder.Movement
	Active   bool
	Position shoulder.ArmPosition
	Context  shoulder.PainContext
	// CodeSystem is the short name of the code system of a procedure, "" if it has none
	// that is known.
	CodeSystem string
}
