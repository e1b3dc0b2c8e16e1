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

// meaning is the result of mapping a coding: a code that is read, and the details that the
// site's code implies.
type meaning struct {
	code
	siteDetails
}

// siteDetails are the arm position, support and side that a site's own code implies in
// addition to the code to which it is mapped.
type siteDetails struct {
	position   shoulder.ArmPosition
	support    shoulder.Support
	laterality laterality
}

// translate maps a code. One that is not in the map is returned as it is.
func (m *CodeMap) translate(own code) meaning {
	if m == nil {
		return meaning{code: own}
	}
	if known, ok := m.meanings[own]; ok {
		return known
	}
	return meaning{code: own}
}

// merge combines the details of two codings of one concept, and the side that the code of
// the second implies. It reports false if their positions or supports contradict each
// other; contradictory sides are found by reader.side.
func (b siteDetails) merge(next siteDetails, side shoulder.Side) (siteDetails, bool) {
	if conflict(b.position, next.position) || conflict(b.support, next.support) {
		return b, false
	}
	b.position = max(b.position, next.position)
	b.support = max(b.support, next.support)
	b.laterality |= next.laterality | lateralityOfSide(side)
	return b, true
}

// conflict reports whether two values are both stated and differ.
func conflict[T comparable](a, b T) bool {
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
