package shoulder

import "slices"

// Motion is a motion whose strength is tested. What is particular to one motion
// stands in the table below; everything else holds for all of them.
type Motion uint8

// The motions. Those with steps of training come first.
const (
	MotionUnknown   Motion = iota
	External               // external rotation
	Internal               // internal rotation
	AbductionMotion        // abduction, or elevation in the plane of the scapula
)

// motion is a row of the table.
type motion struct {
	code      string
	name      string        // in English, for messages to programmers
	positions []ArmPosition // in which it is tested, from the lowest
	trained   bool          // has steps of training, which readiness rests on
}

var motions = [...]motion{
	MotionUnknown:   {code: "unknown", name: "unknown"},
	External:        {code: "external", name: "external rotation", positions: TrainedPositions[:], trained: true},
	Internal:        {code: "internal", name: "internal rotation", positions: TrainedPositions[:], trained: true},
	AbductionMotion: {code: "abduction", name: "abduction", positions: []ArmPosition{AtSide, Abduction90, Scaption90}},
}

// Motions lists the motions in the order in which they are reported.
var Motions = [...]Motion{External, Internal, AbductionMotion}

// Trained are the motions with steps of training: the first of Motions.
var Trained = Motions[:slices.IndexFunc(Motions[:], func(m Motion) bool { return !motions[m].trained })]

// String is the code of the motion.
func (m Motion) String() string { return m.row().code }

// Name is the English name of the motion, for messages to programmers.
func (m Motion) Name() string { return m.row().name }

// Trained reports whether the motion has steps of training.
func (m Motion) Trained() bool { return m.row().trained }

// TestedIn are the positions in which the motion is tested, from the lowest.
func (m Motion) TestedIn() []ArmPosition { return m.row().positions }

// IsTestedIn reports whether the motion is tested in a position.
func (m Motion) IsTestedIn(p ArmPosition) bool { return slices.Contains(m.TestedIn(), p) }

func (m Motion) row() *motion {
	if int(m) < len(motions) {
		return &motions[m]
	}
	return &motions[MotionUnknown]
}
