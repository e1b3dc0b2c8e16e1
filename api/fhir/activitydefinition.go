package fhirapi

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// activityDefinition is a FHIR ActivityDefinition.
type activityDefinition struct {
	about
	RelatedArtifact []relatedArtifact `json:"relatedArtifact,omitempty"`
	Kind            string            `json:"kind"`
	Code            *codeableConcept  `json:"code"`
	Intent          string            `json:"intent"`
}

// exercise is a kind of exercise with its proposed dose.
type exercise struct {
	suffix string // of the id, behind the protocol's
	title  string
	code   coding
	dose   protocol.Dose
}

var (
	strengthening   = coding{fhir.SystemSNOMED, fhir.SNOMEDMuscleStrengthening, "Muscle strength exercise (regime/therapy)"}
	exerciseTherapy = coding{fhir.SystemSNOMED, fhir.SNOMEDExerciseTherapy, "Exercise therapy (regime/therapy)"}
	evaluation      = coding{fhir.SystemSNOMED, fhir.SNOMEDEvaluation, "Evaluation procedure (procedure)"}
)

func exercises(p *protocol.Protocol) []exercise {
	mode := func(m plan.Mode) string { return wording.Capital(words.Mode(m)) }
	purpose := func(k plan.Purpose) string { return wording.Capital(words.Purpose(k)) }
	return []exercise{
		{"-isometric", mode(plan.Isometric), strengthening, p.Dose.Isometric},
		{"-rhythmic", mode(plan.RhythmicStabilisation), strengthening, p.Dose.RhythmicStabilisation},
		{"-isotonic", mode(plan.Isotonic), strengthening, p.Dose.Isotonic},
		{"-range", purpose(plan.RestoreRange), exerciseTherapy, p.Dose.Range},
		{"-functional", purpose(plan.FullFunction), exerciseTherapy, p.Dose.Functional},
	}
}

// canonical refers to the exercise's ActivityDefinition.
func (e *exercise) canonical(p *protocol.Protocol) string {
	return canonical("ActivityDefinition", p.ID+e.suffix) + "|" + p.Version
}

const recheckSuffix = "-recheck"

// activityDefinitions are the exercises of a protocol, and the re-check.
func activityDefinitions(p *protocol.Protocol) (all []Resource) {
	for _, e := range exercises(p) {
		all = append(all, activity(p, e.suffix, e.title, words.Sentence(e.dose.Text), e.code, cite(e.dose.Source)))
	}
	return append(all, activity(p, recheckSuffix, "Re-check of the shoulder", recheckText(), evaluation))
}

// recheckText says what a complete re-check holds.
func recheckText() string {
	var positions []string
	for _, position := range shoulder.TrainedPositions {
		positions = append(positions, words.Position(position))
	}
	return "Strength of " + words.Motion(shoulder.External) + " and " + words.Motion(shoulder.Internal) + " of both sides, tested alike, in each position that is open: " +
		strings.Join(positions, "; ") + ". Active flexion and abduction of the involved side. Pain during the resisted test. Whether the arm stays still when it is held free."
}

func activity(p *protocol.Protocol, suffix, title, description string, code coding, sources ...relatedArtifact) Resource {
	id := p.ID + suffix
	return resource("ActivityDefinition", id, activityDefinition{
		about:           aboutProtocol(p, "ActivityDefinition", id, title, description),
		RelatedArtifact: sources,
		Kind:            "ServiceRequest",
		Code:            conceptOf(code),
		Intent:          "proposal",
	})
}
