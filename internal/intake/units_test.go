package intake

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// targets are the units in which the dimensions are held.
var targets = map[string]dimension{"N": force, "N.m": torque, "kg": mass, "m": length, "deg": angle}

// The factors of an independent library. testdata/ucum.json was written with
// npm @lhncbc/ucum-lhc, of the National Library of Medicine, in the version
// that it names. To write it again: npm install @lhncbc/ucum-lhc, then for each
// code print UcumLhcUtils.getInstance().convertUnitTo(code, 1, target).toVal;
// refused are the codes for which status is not "succeeded".
func TestUnitsAgreeWithAnIndependentLibrary(t *testing.T) {
	var published struct {
		Factors []struct {
			Code, Target string
			Factor       float64
		}
		Refused []struct{ Code, Target string }
	}
	text, err := os.ReadFile("testdata/ucum.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &published); err != nil || len(published.Factors) == 0 || len(published.Refused) == 0 {
		t.Fatalf("testdata/ucum.json holds %d factors and %d refusals (%v), want some", len(published.Factors), len(published.Refused), err)
	}
	checked := map[string]bool{"{score}": true, "1": true} // no conversion
	for _, p := range published.Factors {
		u := units[p.Code]
		checked[p.Code] = true
		if u.dimension != targets[p.Target] {
			t.Errorf("%s has dimension %d, want that of %s", p.Code, u.dimension, p.Target)
		}
		// The library computes in binary floating point; ours is exact.
		if got := u.factor.Float64(); math.Abs(got-p.Factor) > 1e-15*p.Factor {
			t.Errorf("1 %s = %v %s, want %v", p.Code, got, p.Target, p.Factor)
		}
	}
	for code := range units {
		if !checked[code] {
			t.Errorf("%s was not checked against the library", code)
		}
	}
	for _, p := range published.Refused {
		if u := units[p.Code]; u.dimension&targets[p.Target] != 0 {
			t.Errorf("%s is read as %s, which the library refuses", p.Code, p.Target)
		}
	}
}

func TestExactFactors(t *testing.T) {
	tests := []struct{ code, want, source string }{
		{"[lbf_av]", "4.4482216152605", "by definition: 0.45359237 kg x 9.80665 m/s2"},
		{"[lbf_av].[in_i]", "0.1129848290276167", "by definition: 4.4482216152605 N x 0.0254 m"},
		{"[lbf_av].[ft_i]", "1.3558179483314004", "by definition: 4.4482216152605 N x 0.3048 m"},
		{"kgf.cm", "0.0980665", "by definition: 9.80665 N x 0.01 m"},
	}
	for _, tt := range tests {
		wantNumber(t, tt.code+" ("+tt.source+")", units[tt.code].factor, tt.want)
	}
}

func TestUnitOfStrength(t *testing.T) {
	const element = " Bundle.entry[0].resource.valueQuantity"
	refused := []string{"warning unit-unknown" + element + ".code"}
	tests := []struct {
		name      string
		quantity  fhir.Quantity
		dimension shoulder.Dimension
		want      string // in N or N.m, empty if it is dropped
		issues    []string
		source    string
	}{
		{"newton", *ucum("100", "N"), shoulder.Force, "100", nil, "definition"},
		{"kilonewton", *ucum("0.1", "kN"), shoulder.Force, "100", nil, "definition"},
		{"kilogram-force", *ucum("10", "kgf"), shoulder.Force, "98.0665", nil, "definition"},
		{"gram-force", *ucum("1000", "gf"), shoulder.Force, "9.80665", nil, "definition"},
		{"pound-force", *ucum("1", "[lbf_av]"), shoulder.Force, "4.4482216152605", nil, "definition"},
		{"newton metre", *ucum("12", "N.m"), shoulder.Torque, "12", nil, "definition"},
		{"foot-pound", *ucum("10", "[lbf_av].[ft_i]"), shoulder.Torque, "13.558179483314004", nil, "definition"},
		{"text beside the code", fhir.Quantity{Value: "22", Unit: "lbs", System: fhir.SystemUCUM, Code: "[lbf_av]"}, shoulder.Force, "97.860875535731", nil, "by hand: 22 x 4.4482216152605"},

		{"kilogram is an alias", *ucum("10", "kg"), shoulder.Force, "98.0665", []string{"warning unit-alias" + element + ".code"}, "the force of 10 kg"},
		{"pound is an alias", *ucum("1", "[lb_av]"), shoulder.Force, "4.4482216152605", []string{"warning unit-alias" + element + ".code"}, "the force of 1 lb"},
		{"text kg beside kgf is the same", fhir.Quantity{Value: "10", Unit: "kg", System: fhir.SystemUCUM, Code: "kgf"}, shoulder.Force, "98.0665", nil, "same factor"},

		{"no system, exact UCUM text", fhir.Quantity{Value: "100", Unit: "N"}, shoulder.Force, "100", []string{"information unit-unknown" + element + ".unit"}, "documented"},
		{"no system, exact UCUM code", fhir.Quantity{Value: "100", Code: "N"}, shoulder.Force, "100", []string{"information unit-unknown" + element + ".code"}, "documented"},
		{"no system and an alias are two doubts", fhir.Quantity{Value: "10", Unit: "kg"}, 0, "", []string{"warning unit-unknown" + element + ".unit"}, "documented"},

		{"gram is no alias", *ucum("1000", "g"), 0, "", refused, "documented"},
		{"[in_lbf]", *ucum("10", "[in_lbf]"), 0, "", refused, "no UCUM code"},
		{"Nm", *ucum("10", "Nm"), 0, "", refused, "no UCUM code of a torque"},
		{"lbf", *ucum("10", "lbf"), 0, "", refused, "no UCUM code"},
		{"kg{force}", *ucum("10", "kg{force}"), 0, "", refused, "UCUM reads it as a mass"},
		{"kp", *ucum("10", "kp"), 0, "", refused, "no UCUM code"},
		{"degrees", *ucum("10", "deg"), 0, "", refused, "not a strength"},
		{"no unit", fhir.Quantity{Value: "10"}, 0, "", []string{"warning unit-unknown" + element}, "a number alone is no force"},
		{"another system", fhir.Quantity{Value: "10", System: "urn:site", Code: "N"}, 0, "", []string{"warning unit-unknown" + element + ".system"}, "not UCUM"},
		{"text names another unit", fhir.Quantity{Value: "10", Unit: "N", System: fhir.SystemUCUM, Code: "kgf"}, 0, "", []string{"warning unit-unknown" + element + ".unit"}, "contradiction"},
		{"text names a force beside a torque", fhir.Quantity{Value: "10", Unit: "N", System: fhir.SystemUCUM, Code: "N.m"}, 0, "", []string{"warning unit-unknown" + element + ".unit"}, "contradiction"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("m", value(&tt.quantity)), painOf("good", fhir.Integer(1)))
			wantIssues(t, r.Issues, tt.issues...)
			trials := r.Episode.Sessions[0].Trials
			if tt.want == "" {
				if len(trials) != 0 {
					t.Errorf("read as %v, want it dropped (%s)", trials[0].Value, tt.source)
				}
				return
			}
			wantNumber(t, tt.source, trials[0].Value, tt.want)
			if trials[0].Dimension != tt.dimension {
				t.Errorf("dimension = %v, want %v", trials[0].Dimension, tt.dimension)
			}
		})
	}
}

// A mass is a force on a strength only.
func TestUnitElsewhere(t *testing.T) {
	ownCode := func(c string) fhir.Coding { return coding(fhir.SystemShoulder, c) }
	loincCode := func(c string) fhir.Coding { return coding(fhir.SystemLOINC, c) }
	tests := []struct {
		name string
		o    *fhir.Observation
		used int
	}{
		{"degrees", flexionOf("x", value(ucum("90", "deg"))), 2},
		{"degree sign", flexionOf("x", value(ucum("90", "°"))), 1},
		{"radian", flexionOf("x", value(ucum("1.5", "rad"))), 1},
		{"range without a unit", flexionOf("x", value(&fhir.Quantity{Value: "90"})), 1},
		{"kilogram on a range", flexionOf("x", value(ucum("90", "kg"))), 1},
		{"weight in pounds", observation("x", loincCode(fhir.LOINCBodyWeight), ucum("154", "[lb_av]")), 2},
		{"weight in pound-force", observation("x", loincCode(fhir.LOINCBodyWeight), ucum("154", "[lbf_av]")), 1},
		{"weight in lbs", observation("x", loincCode(fhir.LOINCBodyWeight), ucum("154", "lbs")), 1},
		{"height in inches", observation("x", loincCode(fhir.LOINCBodyHeight), ucum("69", "[in_i]")), 2},
		{"height in kilograms", observation("x", loincCode(fhir.LOINCBodyHeight), ucum("69", "kg")), 1},
		{"lever in metres", observation("x", ownCode(fhir.CodeLeverArmLength), ucum("0.25", "m")), 2},
		{"tear in centimetres", observation("x", ownCode(fhir.CodeCuffTearSize), ucum("3", "cm")), 2},
		{"pain as a score", painOf("x", ucum("4", "{score}")), 2},
		{"pain in ones", painOf("x", ucum("4", "1")), 2},
		{"pain without a unit", painOf("x", &fhir.Quantity{Value: "4"}), 2},
		{"pain in per cent", painOf("x", ucum("4", "%")), 1},
		{"pain in points", painOf("x", &fhir.Quantity{Value: "4", Unit: "points"}), 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("good"), tt.o)
			if r.Used != tt.used {
				t.Errorf("Used = %d, want %d; issues %v", r.Used, tt.used, summary(r.Issues))
			}
			if tt.used == 2 {
				wantIssues(t, r.Issues)
			}
		})
	}
}
