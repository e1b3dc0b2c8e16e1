package shoulder

import "fmt"

// MuscleGrade is a grade of the manual muscle test. It is ordinal: grades can
// be compared, never divided.
//
// Source: Medical Research Council, Memorandum No. 45, 1976, for the grades 0
// to 5; plus and minus are common practice, their order from memory.
type MuscleGrade uint8

// The grades, from no contraction to normal power. The zero MuscleGrade is no
// grade at all.
const (
	GradeUnknown MuscleGrade = iota
	Grade0
	Grade1
	Grade2Minus
	Grade2
	Grade2Plus
	Grade3Minus
	Grade3
	Grade3Plus
	Grade4Minus
	Grade4
	Grade4Plus
	Grade5Minus
	Grade5
)

var gradeNames = [...]string{"unknown", "0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5"}

// String is the grade as clinicians write it, such as "4-".
func (g MuscleGrade) String() string { return name(g, gradeNames[:]...) }

// Thirds places a known grade on a line on which a whole grade is three and a sign is
// one, to tell how far a grade fell. Ours: the scale itself has no distances.
func (g MuscleGrade) Thirds() int {
	return [...]int{Grade1: 3, Grade2Minus: 5, Grade2: 6, Grade2Plus: 7, Grade3Minus: 8, Grade3: 9, Grade3Plus: 10,
		Grade4Minus: 11, Grade4: 12, Grade4Plus: 13, Grade5Minus: 14, Grade5: 15}[g]
}

// ParseMuscleGrade reads a grade such as "4-" or "5", and reports whether it
// is one.
func ParseMuscleGrade(s string) (MuscleGrade, bool) {
	for i, name := range gradeNames {
		if i > 0 && name == s {
			return MuscleGrade(i), true
		}
	}
	return GradeUnknown, false
}

// MarshalText writes the grade as String does.
func (g MuscleGrade) MarshalText() ([]byte, error) { return []byte(g.String()), nil }

// UnmarshalText reads a grade.
func (g *MuscleGrade) UnmarshalText(text []byte) error {
	grade, ok := ParseMuscleGrade(string(text))
	if !ok {
		return fmt.Errorf("muscle grade %q: expected 0 to 5 with + or -", text)
	}
	*g = grade
	return nil
}
