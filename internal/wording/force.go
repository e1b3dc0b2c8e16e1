package wording

import (
	"fmt"
	"slices"

	"evenreach.example/internal/exact"
)

// ForceUnit is the unit in which a reader wants to see forces.
type ForceUnit uint8

// The units of force.
const (
	Newton ForceUnit = iota
	KilogramForce
	PoundForce
)

var forceUnits = [...]string{Newton: "N", KilogramForce: "kgf", PoundForce: "lbf"}

// String is the symbol of the unit.
func (u ForceUnit) String() string {
	if int(u) < len(forceUnits) {
		return forceUnits[u]
	}
	return forceUnits[Newton]
}

// ForceUnits are the symbols, the default first.
func ForceUnits() []string { return slices.Clone(forceUnits[:]) }

// MarshalText writes the symbol.
func (u ForceUnit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText reads a symbol: N, kgf or lbf.
func (u *ForceUnit) UnmarshalText(text []byte) error {
	for i, symbol := range forceUnits {
		if symbol == string(text) {
			*u = ForceUnit(i)
			return nil
		}
	}
	return fmt.Errorf("unit of force %q: expected N, kgf or lbf", text)
}

// InForce is the catalogue with forces, and torques, in a unit. Forces per
// kilogram of body mass stay in N/kg, as they are published.
func (c *Catalogue) InForce(u ForceUnit) *Catalogue {
	other := *c
	other.force = u
	return &other
}

// conversion is the unit in which a strength is shown, and its size in the internal unit.
type conversion struct {
	to   string // UCUM
	size exact.Number
}

// conversions are exact by definition.
//
// Source: standard gravity 9.80665 m/s2 (3rd CGPM, 1901); international pound
// 0.45359237 kg and foot 0.3048 m (1959).
var conversions = [...]map[string]conversion{
	Newton: nil,
	KilogramForce: {
		"N":   {"kgf", exact.MustParse("9.80665")},
		"N.m": {"kgf.m", exact.MustParse("9.80665")},
	},
	PoundForce: {
		"N":   {"[lbf_av]", exact.MustParse("4.4482216152605")},
		"N.m": {"[lbf_av].[ft_i]", exact.MustParse("1.3558179483314004")},
	},
}

// conversion is the conversion of a unit; false if there is none.
func (c *Catalogue) conversion(ucum string) (conversion, bool) {
	if int(c.force) >= len(conversions) {
		return conversion{}, false
	}
	k, ok := conversions[c.force][ucum]
	return k, ok
}

// shown converts a value and its unit to the reader's unit of force.
func (c *Catalogue) shown(n exact.Number, ucum string) (exact.Number, string) {
	if k, ok := c.conversion(ucum); ok {
		converted, _ := n.Quo(k.size)
		return converted, k.to
	}
	return n, ucum
}

// shownEstimate is shown for a statistic.
func (c *Catalogue) shownEstimate(x float64, ucum string) float64 {
	if k, ok := c.conversion(ucum); ok {
		return x / k.size.Float64()
	}
	return x
}
