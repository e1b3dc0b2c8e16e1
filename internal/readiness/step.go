package readiness

import "evenreach.example/internal/shoulder"

// Step is where the training of a rotation stands.
type Step uint8

// The steps, from the lowest to the highest.
const (
	NoStep Step = iota // no resisted work of the cuff
	StepAtSide
	StepFlexion90Supported
	StepFlexion90Unsupported
	StepAbduction90Supported
	StepAbduction90Unsupported
	StepFunctional
)

// Steps lists the steps from the lowest to the highest.
var Steps = [...]Step{
	NoStep, StepAtSide, StepFlexion90Supported, StepFlexion90Unsupported,
	StepAbduction90Supported, StepAbduction90Unsupported, StepFunctional,
}

// String is the code of the step in the project's code system.
func (s Step) String() string {
	return [...]string{
		"no-resisted-work", "arm-at-side", "flexion-90-supported", "flexion-90-unsupported",
		"abduction-90-supported", "abduction-90-unsupported", "functional",
	}[s]
}

// Position is the arm position of the step, unstated for the outer two.
func (s Step) Position() shoulder.ArmPosition {
	switch s {
	case StepAtSide:
		return shoulder.AtSide
	case StepFlexion90Supported, StepFlexion90Unsupported:
		return shoulder.Flexion90
	case StepAbduction90Supported, StepAbduction90Unsupported:
		return shoulder.Abduction90
	}
	return shoulder.PositionUnstated
}

// Support is the support of the arm at the step, unstated where the step has
// no elevated position.
func (s Step) Support() shoulder.Support {
	switch s {
	case StepFlexion90Supported, StepAbduction90Supported:
		return shoulder.Supported
	case StepFlexion90Unsupported, StepAbduction90Unsupported:
		return shoulder.Unsupported
	}
	return shoulder.SupportUnstated
}

func stepAt(p shoulder.ArmPosition, unsupported bool) Step {
	switch {
	case p == shoulder.AtSide:
		return StepAtSide
	case p == shoulder.Flexion90 && unsupported:
		return StepFlexion90Unsupported
	case p == shoulder.Flexion90:
		return StepFlexion90Supported
	case unsupported:
		return StepAbduction90Unsupported
	}
	return StepAbduction90Supported
}

// Overall is the status of the shoulder.
type Overall uint8

// The statuses.
const (
	InsufficientData Overall = iota
	NotCleared
	LimitedByRange
	LimitedByPain
	Strengthening
	ReadyForFunctional
	ExamineFirst     // a red flag: to be examined before any load
	LimitedByOutcome // an outcome measure that is a gate
)

// Overalls lists every status.
var Overalls = [...]Overall{InsufficientData, NotCleared, LimitedByRange, LimitedByPain, Strengthening, ReadyForFunctional, ExamineFirst, LimitedByOutcome}

// String is the code of the status in the project's code system.
func (o Overall) String() string {
	return [...]string{
		"insufficient-data", "not-cleared", "limited-by-range", "limited-by-pain", "strengthening", "ready-for-functional",
		"examine-first", "limited-by-outcome",
	}[o]
}
