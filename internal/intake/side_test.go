package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func lateralityIn(url string, v fhir.Value) option {
	return func(o *fhir.Observation) {
		o.BodySite = snomedConcept(fhir.SNOMEDShoulder)
		o.BodySite.Extension = []fhir.Extension{{URL: url, Value: v}}
	}
}

func siteCodings(codes ...string) option {
	return func(o *fhir.Observation) {
		o.BodySite = &fhir.CodeableConcept{}
		for _, c := range codes {
			o.BodySite.Coding = append(o.BodySite.Coding, coding(fhir.SystemSNOMED, c))
		}
	}
}

func TestSide(t *testing.T) {
	missing := "warning side-missing Bundle.entry[0].resource"
	conflict := "warning side-conflict Bundle.entry[0].resource"
	sided := func(c string, options ...option) *fhir.Observation {
		return observation("m", coding(fhir.SystemLOINC, c), ucum("150", "deg"), options...)
	}
	tests := []struct {
		name string
		o    *fhir.Observation
		want shoulder.Side
		bad  string // the issue, if it is dropped
	}{
		{"right shoulder", flexionOf("m", onSide(fhir.SNOMEDRightShoulder)), shoulder.Right, ""},
		{"left shoulder", flexionOf("m", onSide(fhir.SNOMEDLeftShoulder)), shoulder.Left, ""},
		{"side in the code", sided(fhir.LOINCLeftFlexionActive), shoulder.Left, ""},
		{"side in the code, passive", sided(fhir.LOINCRightInternalRotationPassive), shoulder.Right, ""},
		{"side in code and site", sided(fhir.LOINCRightFlexionActive, onSide(fhir.SNOMEDRightShoulder)), shoulder.Right, ""},
		{"code with a side beside the neutral code", sided(fhir.LOINCFlexionActive, func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemLOINC, fhir.LOINCLeftFlexionActive))
		}), shoulder.Left, ""},
		{"neutral site with a qualifier", flexionOf("m", siteCodings(fhir.SNOMEDShoulder, fhir.SNOMEDLeft)), shoulder.Left, ""},
		{"bare qualifier", flexionOf("m", siteCodings(fhir.SNOMEDRight)), shoulder.Right, ""},
		{"unilateral left", flexionOf("m", siteCodings(fhir.SNOMEDUnilateralLeft)), shoulder.Left, ""},
		{"FHIR laterality extension", flexionOf("m", lateralityIn(fhir.ExtensionStructureLaterality, snomedConcept(fhir.SNOMEDLeft))), shoulder.Left, ""},
		{"mCODE laterality extension", flexionOf("m", lateralityIn(fhir.ExtensionMCODELaterality, snomedConcept(fhir.SNOMEDLeft))), shoulder.Left, ""},
		{"Nictiz laterality extension", flexionOf("m", lateralityIn(fhir.ExtensionNictizLaterality, snomedConcept(fhir.SNOMEDRight))), shoulder.Right, ""},
		{"laterality extension as Coding", flexionOf("m", lateralityIn(fhir.ExtensionSwissLaterality, &fhir.Coding{System: fhir.SystemSNOMED, Code: fhir.SNOMEDUnilateralLeft})), shoulder.Left, ""},
		{"another extension tells nothing", flexionOf("m", lateralityIn("http://example.org/x", snomedConcept(fhir.SNOMEDLeft))), 0, missing + ".bodySite"},
		{"extension without a value", flexionOf("m", lateralityIn(fhir.ExtensionMCODELaterality, nil)), 0, missing + ".bodySite"},
		{"nil Coding in an extension", flexionOf("m", lateralityIn(fhir.ExtensionMCODELaterality, (*fhir.Coding)(nil))), 0, missing + ".bodySite"},

		{"no body site", flexionOf("m", func(o *fhir.Observation) { o.BodySite = nil }), 0, missing},
		{"neutral site", flexionOf("m", onSide(fhir.SNOMEDShoulder)), 0, missing + ".bodySite"},
		{"side as text only", flexionOf("m", func(o *fhir.Observation) { o.BodySite = &fhir.CodeableConcept{Text: "right shoulder"} }), 0, missing + ".bodySite"},
		{"display is text too", flexionOf("m", func(o *fhir.Observation) {
			o.BodySite = concept(fhir.Coding{System: fhir.SystemSNOMED, Code: fhir.SNOMEDRightShoulder, Display: "Left shoulder"})
		}), shoulder.Right, ""},
		{"elbow joint, taken for a shoulder in public software", flexionOf("m", onSide("16953009")), 0, missing + ".bodySite"},
		{"right qualifier in another system", flexionOf("m", func(o *fhir.Observation) { o.BodySite = concept(coding("urn:site", fhir.SNOMEDRight)) }), 0, missing + ".bodySite"},

		{"code right, site left", sided(fhir.LOINCRightFlexionActive, onSide(fhir.SNOMEDLeftShoulder)), 0, conflict + ".bodySite"},
		{"site right, qualifier left", flexionOf("m", siteCodings(fhir.SNOMEDRightShoulder, fhir.SNOMEDLeft)), 0, conflict + ".bodySite"},
		{"site right, extension left", flexionOf("m", func(o *fhir.Observation) {
			o.BodySite.Extension = []fhir.Extension{{URL: fhir.ExtensionMCODELaterality, Value: snomedConcept(fhir.SNOMEDLeft)}}
		}), 0, conflict + ".bodySite"},
		{"two codes with two sides", sided(fhir.LOINCRightFlexionActive, func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemLOINC, fhir.LOINCLeftFlexionActive))
		}), 0, conflict},
		{"both sides on a strength", strengthOf("m", siteCodings(fhir.SNOMEDShoulder, fhir.SNOMEDRightAndLeft)), 0, conflict + ".bodySite"},
		{"both sides and right", flexionOf("m", siteCodings(fhir.SNOMEDRightShoulder, fhir.SNOMEDRightAndLeft)), 0, conflict + ".bodySite"},

		{"pain needs no side", painOf("m", fhir.Integer(2)), shoulder.SideUnknown, ""},
		{"pain with a side", painOf("m", fhir.Integer(2), onSide(fhir.SNOMEDLeftShoulder)), shoulder.Left, ""},
		{"pain of both sides has none", painOf("m", fhir.Integer(2), siteCodings(fhir.SNOMEDShoulder, fhir.SNOMEDRightAndLeft)), shoulder.SideUnknown, ""},
		{"pain of a shoulder that a site code names as well", painOf("m", fhir.Integer(2), func(o *fhir.Observation) {
			o.BodySite = concept(coding(fhir.SystemSNOMED, fhir.SNOMEDLeftShoulder), coding("urn:site", "SH"))
		}), shoulder.Left, ""},
		{"pain with two sides", painOf("m", fhir.Integer(2), siteCodings(fhir.SNOMEDRight, fhir.SNOMEDLeft)), 0, conflict + ".bodySite"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, tt.o, flexionOf("good", at("2026-11-01")))
			var want []string
			if tt.bad != "" {
				want = []string{tt.bad}
			}
			wantIssues(t, r.Issues, want...)
			if tt.bad != "" {
				return
			}
			s := r.Episode.Sessions[1]
			var got shoulder.Side
			switch {
			case len(s.Pains) > 0:
				got = s.Pains[0].Side
			case len(s.Ranges) > 0:
				got = s.Ranges[0].Side
			}
			if got != tt.want {
				t.Errorf("side = %v, want %v", got, tt.want)
			}
		})
	}
}
