package shoulder

import "slices"

// Rotation is a motion whose strength is tested. What is particular to one motion
// stands in the table below; everything else holds for all of them.
type Rotation uint8

// The motions. Those with steps of training come first.
const (
	RotationUnknown Rotation = iota
	External                 // external rotation
	Internal                 // internal rotation
	AbductionMotion          // abduction, or elevation in the plane of the scapula
)

// motion is a row of the table.
type motion struct {
	code      string
	name      string        // in English, for messages to programmers
	positions []ArmPosition // in which it is tested, from the lowest
	trained   bool          // has steps of training, which readiness rests on
}

var motions = [...]motion{
	RotationUnknown: {code: "unknown", name: "unknown"},
	External:        {code: "external", name: "external rotation", positions: TrainedPositions[:], trained: true},
	Internal:        {code: "internal", name: "internal rotation", positions: TrainedPositions[:], trained: true},
	AbductionMotion: {code: "abduction", name: "abduction", positions: []ArmPosition{AtSide, Abduction90, Scaption90}},
}

// Rotations lists the motions in the order in which they are reported.
var Rotations = [...]Rotation{External, Internal, AbductionMotion}

// Trained are the motions with steps of training: the first of Rotations.
var Trained = Rotations[:slices.IndexFunc(Rotations[:], func(r Rotation) bool { return !motions[r].trained })]

// String is the code of the motion.
func (r Rotation) String() string { return r.row().code }

// Name is the English name of the motion, for messages to programmers.
func (r Rotation) Name() string { return r.row().name }

// Trained reports whether the motion has steps of training.
func (r Rotation) Trained() bool { return r.row().trained }

// TestedIn are the positions in which the motion is tested, from the lowest.
func (r Rotation) TestedIn() []ArmPosition { return r.row().positions }

// IsTestedIn reports whether the motion is tested in a position.
func (r Rotation) IsTestedIn(p ArmPosition) bool { return slices.Contains(r.TestedIn(), p) }

func (r Rotation) row() *motion {
	if int(r) < len(motions) {
		return &motions[r]
	}
	return &motions[RotationUnknown]
}
