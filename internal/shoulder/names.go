package shoulder

import (
	"fmt"
	"strings"
)

// Movements lists the movements whose range is read.
var Movements = [...]Movement{Flexion, Abduction, ExternalRotation, InternalRotation}

// PainContexts lists the occasions of pain that are told apart.
var PainContexts = [...]PainContext{PainAtRest, PainDuringResistedTest, PainWorst24h}

// MarshalText writes the code of the motion.
func (r Motion) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads the code of a motion.
func (r *Motion) UnmarshalText(text []byte) error { return find(r, text, "motion", Motions[:]) }

// MarshalText writes the code of the position.
func (p ArmPosition) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads the code of a position.
func (p *ArmPosition) UnmarshalText(text []byte) error {
	return find(p, text, "position", Positions[:])
}

// MarshalText writes the code of the movement.
func (m Movement) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads the code of a movement.
func (m *Movement) UnmarshalText(text []byte) error { return find(m, text, "movement", Movements[:]) }

// MarshalText writes the code of the occasion.
func (p PainContext) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads the code of an occasion of pain.
func (p *PainContext) UnmarshalText(text []byte) error {
	return find(p, text, "occasion of pain", PainContexts[:])
}

// MarshalText writes the code of the phase.
func (p LoadPhase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads the code of a phase.
func (p *LoadPhase) UnmarshalText(text []byte) error { return find(p, text, "phase", LoadPhases[:]) }

// find finds a value by its code.
func find[T fmt.Stringer](into *T, code []byte, what string, all []T) error {
	for _, value := range all {
		if value.String() == string(code) {
			*into = value
			return nil
		}
	}
	return fmt.Errorf("%s %q: expected one of %s", what, code, strings.Join(CodesOf(all), ", "))
}

// CodesOf are the codes of some values.
func CodesOf[T fmt.Stringer](all []T) []string {
	codes := make([]string, len(all))
	for i, value := range all {
		codes[i] = value.String()
	}
	return codes
}
