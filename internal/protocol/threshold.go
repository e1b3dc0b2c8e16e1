package protocol

import (
	"fmt"

	"evenreach.example/internal/exact"
)

// Comparison is how a value is held against a threshold.
type Comparison uint8

// The comparisons.
const (
	NoComparison Comparison = iota
	AtLeast
	MoreThan
	AtMost
	LessThan
)

var comparisonSigns = [...]string{"", ">=", ">", "<=", "<"}

// String is the sign of the comparison.
func (c Comparison) String() string { return comparisonSigns[c] }

// MarshalText writes the sign.
func (c Comparison) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads one of the signs >=, >, <= and <.
func (c *Comparison) UnmarshalText(text []byte) error {
	for i, sign := range comparisonSigns {
		if i > 0 && sign == string(text) {
			*c = Comparison(i)
			return nil
		}
	}
	return fmt.Errorf("comparison %q: expected >=, >, <= or <", text)
}

// Threshold is a value to be reached, or not to be passed.
type Threshold struct {
	Comparison Comparison   `json:"comparison"`
	Value      exact.Number `json:"value"`
	Unit       string       `json:"unit"` // UCUM
	Source     string       `json:"source"`
}

// Met reports whether x satisfies the threshold, exactly.
func (t Threshold) Met(x exact.Number) bool {
	sign := x.Cmp(t.Value)
	switch t.Comparison {
	case AtLeast:
		return sign >= 0
	case MoreThan:
		return sign > 0
	case AtMost:
		return sign <= 0
	case LessThan:
		return sign < 0
	}
	return false
}

// Margin is by how much x satisfies the threshold, negative if it does not.
func (t Threshold) Margin(x exact.Number) exact.Number {
	if t.Comparison == AtMost || t.Comparison == LessThan {
		return t.Value.Sub(x)
	}
	return x.Sub(t.Value)
}

// Setting is a value with its source that is not compared with.
type Setting struct {
	Value  exact.Number `json:"value"`
	Unit   string       `json:"unit"` // UCUM
	Source string       `json:"source"`
}

// Float is the value for statistics.
func (s Setting) Float() float64 { return s.Value.Float64() }

// Int is the value as a whole number, for counts and days.
func (s Setting) Int() int { return int(s.Value.Float64()) }

// ScoreRule is which number stands for repeated trials.
type ScoreRule uint8

// The rules.
const (
	Mean ScoreRule = iota
	Maximum
)

// String is the rule's name in the protocol file.
func (s ScoreRule) String() string { return [...]string{"mean", "maximum"}[s] }

// MarshalText writes the name.
func (s ScoreRule) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads mean or maximum.
func (s *ScoreRule) UnmarshalText(text []byte) error {
	switch string(text) {
	case "mean":
		*s = Mean
	case "maximum":
		*s = Maximum
	default:
		return fmt.Errorf("score %q: expected mean or maximum", text)
	}
	return nil
}

// RangeReference is what counts as full range.
type RangeReference uint8

// The references.
const (
	StandardRange  RangeReference = iota // the protocol's own degrees
	OtherSideRange                       // the comparison side's active range
)

// String is the reference's name in the protocol file.
func (r RangeReference) String() string { return [...]string{"standard", "other-side"}[r] }

// MarshalText writes the name.
func (r RangeReference) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads standard or other-side.
func (r *RangeReference) UnmarshalText(text []byte) error {
	switch string(text) {
	case "standard":
		*r = StandardRange
	case "other-side":
		*r = OtherSideRange
	default:
		return fmt.Errorf("reference %q: expected standard or other-side", text)
	}
	return nil
}
