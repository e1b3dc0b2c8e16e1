package wording

import (
	"strings"
	"testing"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

func TestForcesInTheReadersUnit(t *testing.T) {
	percent := number("18.75")
	k := strength(readiness.GoodEnough, nil)
	change := &measure.Change{
		Subject: measure.StrengthChange, Setting: symmetry(nil).Setting, Side: shoulder.Right,
		From: number("80"), To: number("95"), Difference: number("15"), Percent: &percent, Unit: "N",
		Detectable: 24.2533, FromWhen: date("2026-01-05"),
	}
	for _, tt := range []struct {
		name   string
		unit   ForceUnit
		text   func(*Catalogue) string
		want   string
		source string
	}{
		{"newtons", Newton, func(c *Catalogue) string { return c.Strength(number("88"), shoulder.Force) }, "88.0 N", "as held"},
		{"kilogram-force", KilogramForce, func(c *Catalogue) string { return c.Strength(number("98.0665"), shoulder.Force) }, "10.0 kgf", "10 x 9.80665"},
		{"pound-force comes back as it was read", PoundForce, func(c *Catalogue) string {
			return c.Strength(number("95.63676472810075"), shoulder.Force)
		}, "21.5 lbf", "21.5 x 4.4482216152605"},
		{"torque", PoundForce, func(c *Catalogue) string { return c.Strength(number("13.558179483314004"), shoulder.Torque) }, "10.0 lbf ft", "10 x 4.4482216152605 x 0.3048"},
		{"torque in kgf m", KilogramForce, func(c *Catalogue) string { return c.Strength(number("24"), shoulder.Torque) }, "2.4 kgf m", "24 / 9.80665 = 2.447"},
		{"needed is rounded up", KilogramForce, func(c *Catalogue) string { return c.Criterion(&k, shoulder.External, shoulder.Left) },
			"external rotation at 90 degrees of abduction needs 9.8 kgf on the left; measured 9.0 kgf (limb symmetry index 68.8 %, at least 75 % needed); clearly not",
			"96 / 9.80665 = 9.789, 88 / 9.80665 = 8.973"},
		{"change", PoundForce, func(c *Catalogue) string { return c.ChangeBrief(change) },
			"+3.4 lbf (+18.8 %) since 2026-01-05 (MDC 5.5 lbf), not clear",
			"15 / 4.4482 = 3.372, 24.2533 / 4.4482 = 5.452"},
		{"body mass stays", PoundForce, func(c *Catalogue) string { return c.PerMass(new(number("1.154")), nil) }, "1.15 N/kg", "as published"},
		{"degrees stay", PoundForce, func(c *Catalogue) string { return c.Quantity(number("135"), "deg") }, "135 degrees", "no force"},
		{"unit of a column", KilogramForce, func(c *Catalogue) string { return c.StrengthIn(shoulder.AtSide, shoulder.Force) }, "at the side, kgf", "definition"},
		{"an unknown unit is newtons", ForceUnit(9), func(c *Catalogue) string { return c.Strength(number("88"), shoulder.Force) }, "88.0 N", "as held"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.text(For("en").InForce(tt.unit)); got != tt.want {
				t.Errorf("got  %q\nwant %q (%s)", got, tt.want, tt.source)
			}
		})
	}
}

// A strength just short of what is needed does not look as if it reached it, in
// any unit.
func TestNoUnitCrossesWhatIsNeeded(t *testing.T) {
	k := strength(readiness.GoodEnough, func(k *readiness.Criterion) {
		k.Measured, k.Needed = new(number("95.999")), new(number("96"))
	})
	for unit, want := range map[ForceUnit]string{
		Newton:        "needs 96.000 N on the left; measured 95.999 N (",
		KilogramForce: "needs 9.790 kgf on the left; measured 9.789 kgf (", // 96 / 9.80665 = 9.78928, 95.999 / 9.80665 = 9.78917
	} {
		if got := For("en").InForce(unit).Criterion(&k, shoulder.External, shoulder.Left); !strings.Contains(got, want) {
			t.Errorf("%s: %q in %q", unit, want, got)
		}
	}
}

func TestForceUnitText(t *testing.T) {
	for _, u := range []ForceUnit{Newton, KilogramForce, PoundForce} {
		var back ForceUnit
		text, _ := u.MarshalText()
		if err := back.UnmarshalText(text); err != nil || back != u {
			t.Errorf("%s reads back as %s, %v", u, back, err)
		}
	}
	var u ForceUnit
	if err := u.UnmarshalText([]byte("kg")); err == nil {
		t.Error("kg, a mass, is taken for a force")
	}
}

// The catalogue that others use is not changed.
func TestInForceLeavesTheCatalogue(t *testing.T) {
	For("en").InForce(PoundForce)
	if got := For("en").Strength(number("88"), shoulder.Force); got != "88.0 N" {
		t.Errorf("got %q", got)
	}
}
