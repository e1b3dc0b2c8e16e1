package intake

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// CodeMap says what a site's own codes mean. It is read-only once read, and a
// nil CodeMap knows no code.
type CodeMap struct {
	meanings map[code]meaning
}

// meaning is what a coding stands for: a code that is read, and what is said
// beside it.
type meaning struct {
	code
	beside
}

// beside is what a site's own code says beside the code that it stands for.
type beside struct {
	position   shoulder.ArmPosition
	support    shoulder.Support
	laterality laterality
}

// translate gives the meaning of a code. One that is not in the map stands for
// itself.
func (m *CodeMap) translate(own code) meaning {
	if m == nil {
		return meaning{code: own}
	}
	if known, ok := m.meanings[own]; ok {
		return known
	}
	return meaning{code: own}
}

// with adds what another coding of the same concept says, and the side that its
// code implies. It reports false if the two contradict each other; sides are
// left to the rule for sides.
func (b beside) with(next beside, side shoulder.Side) (beside, bool) {
	if differ(b.position, next.position) || differ(b.support, next.support) {
		return b, false
	}
	b.position = max(b.position, next.position)
	b.support = max(b.support, next.support)
	b.laterality |= next.laterality | says(side)
	return b, true
}

// differ reports whether both are stated and not the same.
func differ[T comparable](a, b T) bool {
	var unstated T
	return a != unstated && b != unstated && a != b
}

// isRead reports whether a code is one that is read anywhere.
func isRead(c code) bool {
	if _, ok := measures[c]; ok {
		return true
	}
	if _, ok := sites[c]; ok {
		return true
	}
	if _, ok := hands[c]; ok {
		return true
	}
	return shoulderConditions[c] || cuffRepairs[c] != shoulder.RepairUnstated || historyOfRepair[c] || c.system == fhir.SystemShoulder && isDetail(c.code)
}

// isDetail reports whether a code of ours is a component or a value of one.
func isDetail(c string) bool {
	_, isComponent := componentCodes[c]
	_, isPosition := positions[c]
	_, isSupport := supports[c]
	_, isContraction := contractions[c]
	_, isInstrument := instruments[c]
	_, isPainContext := painContexts[c]
	_, isLoadPhase := loadPhases[c]
	_, isGrade := shoulder.ParseMuscleGrade(c)
	return isComponent || isPosition || isSupport || isContraction || isInstrument || isPainContext || isLoadPhase || isGrade
}
