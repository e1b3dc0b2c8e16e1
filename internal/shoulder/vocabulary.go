package shoulder

// Side is the side of the body.
type Side uint8

// The sides. The zero Side is unknown.
const (
	SideUnknown Side = iota
	Right
	Left
)

// Other returns the opposite side; the opposite of unknown is unknown.
func (s Side) Other() Side {
	switch s {
	case Right:
		return Left
	case Left:
		return Right
	}
	return SideUnknown
}

// String is the code of the side: right, left, or unknown.
func (s Side) String() string { return name(s, "unknown", "right", "left") }

// ArmPosition is where the arm is while a motion is tested or trained.
type ArmPosition uint8

// The positions, from the lowest to the highest.
const (
	PositionUnstated ArmPosition = iota
	AtSide
	Flexion90
	Abduction90
	Scaption90 // elevated in the plane of the scapula, halfway between the two
)

// Positions lists the positions from the lowest to the highest.
var Positions = [...]ArmPosition{AtSide, Flexion90, Abduction90, Scaption90}

// TrainedPositions lists the positions that training goes through, from the lowest
// to the highest.
var TrainedPositions = [...]ArmPosition{AtSide, Flexion90, Abduction90}

// Elevated reports whether the arm is lifted to 90 degrees.
func (p ArmPosition) Elevated() bool { return p >= Flexion90 }

// String is the code of the position in the project's code system.
func (p ArmPosition) String() string {
	return name(p, "unstated", "arm-at-side", "flexion-90", "abduction-90", "scaption-90")
}

// Support says whether the arm lies on something during the test.
type Support uint8

// Whether the arm is supported.
const (
	SupportUnstated Support = iota
	Supported
	Unsupported
)

// String is the code of the support in the project's code system.
func (s Support) String() string { return name(s, "unstated", "supported", "unsupported") }

// Contraction is the kind of the strength test. In a make test the patient
// pushes against a still resistance; in a break test the tester overcomes the
// patient. A break test reads much higher, so the two are never compared.
//
// Source: Shah et al. 2020, Clin Biomech 80:105189 (external rotation, break
// 46.9 % above make).
type Contraction uint8

// The kinds of contraction.
const (
	ContractionUnstated Contraction = iota
	Make
	Break
)

// String is the code of the contraction in the project's code system.
func (c Contraction) String() string { return name(c, "unstated", "make", "break") }

// Instrument is what the strength was measured with. Readings of different
// instruments are never compared.
type Instrument uint8

// The instruments.
const (
	InstrumentUnstated Instrument = iota
	Handheld
	BeltStabilised
	Isokinetic
)

// String is the code of the method in the project's code system.
func (i Instrument) String() string {
	return name(i, "unstated", "handheld-dynamometry", "belt-stabilised-dynamometry", "isokinetic-dynamometry")
}

// Dimension is what a strength reading is: a force, or a torque about the
// shoulder. The two compare only when the lever arm is known.
type Dimension uint8

// The dimensions of a strength reading.
const (
	Force  Dimension = iota // in newtons
	Torque                  // in newton metres
)

// String is the name of the dimension.
func (d Dimension) String() string { return name(d, "force", "torque") }

// Unit is the UCUM unit in which the core holds the dimension.
func (d Dimension) Unit() string { return name(d, "N", "N.m") }

// Movement is the movement of a range measurement.
type Movement uint8

// The movements whose range is read.
const (
	MovementUnknown Movement = iota
	Flexion
	Abduction
	ExternalRotation
	InternalRotation
)

// String is the code of the movement.
func (m Movement) String() string {
	return name(m, "unknown", "flexion", "abduction", "external-rotation", "internal-rotation")
}

// Elevation is the movement that lifts the arm into a trained position: abduction
// for 90 degrees of abduction, flexion for the others.
func (p ArmPosition) Elevation() Movement {
	if p == Abduction90 {
		return Abduction
	}
	return Flexion
}

// PainContext is when the pain was felt.
type PainContext uint8

// The contexts of a pain score.
const (
	PainUnstated PainContext = iota
	PainAtRest
	PainDuringResistedTest
	PainWorst24h
)

// String is the code of the context in the project's code system.
func (p PainContext) String() string {
	return name(p, "unstated", "at-rest", "during-resisted-test", "worst-24h")
}

// Handedness is the side that the patient prefers.
type Handedness uint8

// The kinds of handedness.
const (
	HandednessUnknown Handedness = iota
	RightHanded
	LeftHanded
	Ambidextrous
)

// String is the code of the handedness.
func (h Handedness) String() string {
	return name(h, "unknown", "right-handed", "left-handed", "ambidextrous")
}

// Dominant is the dominant side, unknown for the ambidextrous.
func (h Handedness) Dominant() Side {
	switch h {
	case RightHanded:
		return Right
	case LeftHanded:
		return Left
	}
	return SideUnknown
}

func name[T ~uint8](value T, names ...string) string {
	if int(value) < len(names) {
		return names[value]
	}
	return names[0]
}
