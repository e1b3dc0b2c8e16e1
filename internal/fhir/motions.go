package fhir

import "evenreach.example/internal/shoulder"

// MotionCodes are the codes of one motion.
type MotionCodes struct {
	Strength, Grade string // of SystemShoulder: its isometric strength, its manual muscle test
	Component       string // of SystemShoulder: the component of a result that names the motion
	Motion          Coding // the motion itself
}

var motions = [...]MotionCodes{
	shoulder.External: {
		CodeExternalRotationStrength, CodeExternalRotationGrade, CodeRotation,
		Coding{System: SystemSNOMED, Code: SNOMEDExternalRotation, Display: "External rotation, function (observable entity)"},
	},
	shoulder.Internal: {
		CodeInternalRotationStrength, CodeInternalRotationGrade, CodeRotation,
		Coding{System: SystemSNOMED, Code: SNOMEDInternalRotation, Display: "Internal rotation, function (observable entity)"},
	},
	shoulder.AbductionMotion: {
		CodeAbductionStrength, CodeAbductionGrade, CodeMotion,
		Coding{System: SystemSNOMED, Code: SNOMEDAbduction, Display: "Abduction, function (observable entity)"},
	},
}

// CodesOf are the codes of a motion; of an unknown one they are empty.
func CodesOf(m shoulder.Motion) *MotionCodes {
	if int(m) < len(motions) {
		return &motions[m]
	}
	return &motions[shoulder.MotionUnknown]
}
