package intake

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func exampleMap(t *testing.T) *CodeMap {
	t.Helper()
	text, err := os.ReadFile("testdata/codemap.json")
	if err != nil {
		t.Fatal(err)
	}
	m, err := ReadCodeMap(text)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestSiteCodes(t *testing.T) {
	clinic := func(c string) fhir.Coding { return coding("https://clinic.example/codes", c) }
	foreign := func(c string, v fhir.Value) fhir.Component {
		return fhir.Component{Code: *concept(clinic(c)), Value: v}
	}
	strengthValue := ucum("80", "N")
	codes := exampleMap(t)
	if len(codes.meanings) != 8 {
		t.Errorf("%d codes, want 8: the unmatched one has no meaning", len(codes.meanings))
	}
	tests := []struct {
		name string
		o    *fhir.Observation
		want shoulder.Trial // rotation, position, support, side, instrument
	}{
		{"position, support and side in the code", observation("a", clinic("ER90-R"), strengthValue),
			shoulder.Trial{Motion: shoulder.External, Position: shoulder.Abduction90, Support: shoulder.Unsupported, Side: shoulder.Right}},
		{"position by dependsOn", observation("a", clinic("IR0"), strengthValue, onSide(fhir.SNOMEDLeftShoulder)),
			shoulder.Trial{Motion: shoulder.Internal, Position: shoulder.AtSide, Side: shoulder.Left}},
		{"body site of the site", observation("a", clinic("IR0"), strengthValue, func(o *fhir.Observation) { o.BodySite = concept(coding("https://clinic.example/sites", "SH-L")) }),
			shoulder.Trial{Motion: shoulder.Internal, Position: shoulder.AtSide, Side: shoulder.Left}},
		{"component and value of the site", observation("a", coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength), strengthValue, onSide(fhir.SNOMEDRightShoulder),
			func(o *fhir.Observation) { o.Component = []fhir.Component{foreign("POS", concept(clinic("POS-FLEX")))} }),
			shoulder.Trial{Motion: shoulder.External, Position: shoulder.Flexion90, Side: shoulder.Right}},
		{"method of the site", strengthOf("a", func(o *fhir.Observation) { o.Method = concept(clinic("HHD")) }),
			shoulder.Trial{Motion: shoulder.External, Position: shoulder.AtSide, Side: shoulder.Right, Instrument: shoulder.Handheld}},
		{"our code beside the site's", observation("a", clinic("ER90-R"), strengthValue, func(o *fhir.Observation) {
			o.Code.Coding = append(o.Code.Coding, coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength))
		}), shoulder.Trial{Motion: shoulder.External, Position: shoulder.Abduction90, Support: shoulder.Unsupported, Side: shoulder.Right}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: bundle(tt.o), Involved: shoulder.Right, Codes: codes})
			wantIssues(t, r.Issues)
			got := r.Episode.Sessions[0].Trials[0]
			if got.Motion != tt.want.Motion || got.Position != tt.want.Position || got.Support != tt.want.Support || got.Side != tt.want.Side || got.Instrument != tt.want.Instrument {
				t.Errorf("trial %+v, want %+v", got, tt.want)
			}
		})
	}
}

func TestSiteCodesContradict(t *testing.T) {
	clinic := func(c string) fhir.Coding { return coding("https://clinic.example/codes", c) }
	tests := []struct {
		name string
		o    *fhir.Observation
		want string
	}{
		{"side of code and body site", observation("a", clinic("FLEX-A-L"), ucum("90", "deg"), onSide(fhir.SNOMEDRightShoulder)),
			"warning side-conflict Bundle.entry[1].resource.bodySite"},
		{"position of code and component", observation("a", clinic("ER90-R"), ucum("90", "N"), with(fhir.CodeArmPosition, ownConcept("flexion-90"))),
			"warning duplicate Bundle.entry[1].resource.component[0].valueCodeableConcept"},
		{"two codes", observation("a", clinic("ER90-R"), ucum("90", "N"), func(o *fhir.Observation) { o.Code.Coding = append(o.Code.Coding, clinic("IR0")) }),
			"warning code-unknown Bundle.entry[1].resource.code"},
		{"two positions", observation("a", clinic("ER90-R"), ucum("90", "N"), func(o *fhir.Observation) { o.Code.Coding = append(o.Code.Coding, clinic("ER0")) }),
			"warning code-unknown Bundle.entry[1].resource.code"},
		{"a code that is not mapped", observation("a", clinic("GRIP"), ucum("90", "N")),
			"information not-read Bundle.entry[1].resource.code"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: bundle(strengthOf("s"), tt.o), Involved: shoulder.Right, Codes: exampleMap(t)})
			wantIssues(t, r.Issues, tt.want)
		})
	}
}

// element wraps one element of an otherwise good map.
func element(e string) string {
	return `{"resourceType":"ConceptMap","group":[{"source":"urn:site","target":"` + fhir.SystemShoulder + `","element":[` + e + `]}]}`
}

func TestReadCodeMapRefuses(t *testing.T) {
	const at = "ConceptMap.group[0].element[0]"
	good := `{"code":"a","target":[{"code":"arm-position","equivalence":"equal"}]}`
	product := func(p string) string {
		return element(`{"code":"a","target":[{"code":"isometric-external-rotation-strength","equivalence":"wider","product":[` + p + `]}]}`)
	}
	tests := []struct {
		name, text string
		want       []string
	}{
		{"empty", "", []string{"error syntax ConceptMap"}},
		{"not JSON", "{", []string{"error syntax ConceptMap"}},
		{"name twice", `{"group":[],"group":[]}`, []string{"error duplicate-name ConceptMap"}},
		{"another JSON type", `{"group":7}`, []string{"error structure ConceptMap"}},
		{"trailing text", element(good) + "x", []string{"error syntax ConceptMap"}},
		{"another resource", `{"resourceType":"ValueSet"}`, []string{"error wrong-resource ", "error required-missing ConceptMap.group"}},
		{"no source, no target", `{"resourceType":"ConceptMap","group":[{}]}`,
			[]string{"error required-missing ConceptMap.group[0].source", "error required-missing ConceptMap.group[0].target"}},
		{"our system as the source", `{"resourceType":"ConceptMap","group":[{"source":"` + fhir.SystemShoulder + `","target":"` + fhir.SystemLOINC + `"}]}`,
			[]string{"error bad-value ConceptMap.group[0].source"}},
		{"unmapped codes made one", `{"resourceType":"ConceptMap","group":[{"source":"urn:site","target":"urn:x","unmapped":{"mode":"fixed","code":"x"}}]}`,
			[]string{"error bad-value ConceptMap.group[0].unmapped.mode"}},
		{"a code twice", element(good + "," + good), []string{"error duplicate ConceptMap.group[0].element[1].code"}},
		{"no code", element(`{"target":[{"code":"arm-position","equivalence":"equal"}]}`), []string{"error required-missing " + at + ".code"}},
		{"a code that is read as it is", `{"resourceType":"ConceptMap","group":[{"source":"` + fhir.SystemLOINC + `","target":"` + fhir.SystemShoulder + `","element":[{"code":"41389-8","target":[{"code":"arm-position","equivalence":"equal"}]}]}]}`,
			[]string{"error bad-value " + at + ".code"}},
		{"two targets", element(`{"code":"a","target":[{"code":"arm-position","equivalence":"equal"},{"code":"arm-support","equivalence":"equal"}]}`),
			[]string{"error duplicate " + at + ".target[1]"}},
		{"three targets", element(`{"code":"a","target":[{"code":"arm-position","equivalence":"equal"},{"code":"arm-support","equivalence":"equal"},{"code":"trial","equivalence":"equal"}]}`),
			[]string{"error duplicate " + at + ".target[1]", "error duplicate " + at + ".target[2]"}},
		{"unknown target", element(`{"code":"a","target":[{"code":"grip-strength","equivalence":"equal"}]}`), []string{"error code-unknown " + at + ".target[0].code"}},
		{"computed target", element(`{"code":"a","target":[{"code":"limb-symmetry-index","equivalence":"equal","product":[{"property":"side","value":"left"}]}]}`),
			[]string{"error code-unknown " + at + ".target[0].code", "error bad-value " + at + ".target[0].product[0].property"}},
		{"no target code", element(`{"code":"a","target":[{"equivalence":"equal"}]}`), []string{"error required-missing " + at + ".target[0].code"}},
		{"no equivalence", element(`{"code":"a","target":[{"code":"arm-position"}]}`), []string{"error required-missing " + at + ".target[0].equivalence"}},
		{"loose equivalence", element(`{"code":"a","target":[{"code":"arm-position","equivalence":"narrower"}]}`), []string{"error bad-value " + at + ".target[0].equivalence"}},
		{"misspelt member", element(`{"code":"a","target":[{"code":"arm-position","equivalence":"equal","dependson":[]}]}`), []string{"error unknown-element " + at + ".target[0]"}},
		{"modifier extension", element(`{"code":"a","modifierExtension":[],"target":[{"code":"arm-position","equivalence":"equal"}]}`), []string{"error modifier-unknown " + at + ".modifierExtension"}},
		{"unknown property", product(`{"property":"speed","value":"60"}`), []string{"error code-unknown " + at + ".target[0].product[0].property"}},
		{"unknown value", product(`{"property":"arm-position","value":"overhead"}`), []string{"error code-unknown " + at + ".target[0].product[0].value"}},
		{"value of another system", product(`{"property":"arm-position","system":"urn:x","value":"flexion-90"}`), []string{"error code-unknown " + at + ".target[0].product[0].system"}},
		{"two values", product(`{"property":"arm-position","value":"flexion-90"},{"property":"arm-position","value":"abduction-90"}`), []string{"error duplicate " + at + ".target[0].product[1].value"}},
		{"position of a component", element(`{"code":"a","target":[{"code":"arm-position","equivalence":"equal","product":[{"property":"arm-position","value":"flexion-90"}]}]}`),
			[]string{"error bad-value " + at + ".target[0].product[0].property"}},
		{"every problem", element(`{"target":[{}]},{"code":"b","target":[{"code":"x","equivalence":"inexact"}]}`), []string{
			"error required-missing " + at + ".code",
			"error required-missing " + at + ".target[0].code",
			"error required-missing " + at + ".target[0].equivalence",
			"error code-unknown ConceptMap.group[0].element[1].target[0].code",
			"error bad-value ConceptMap.group[0].element[1].target[0].equivalence",
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadCodeMap([]byte(tt.text))
			problems, ok := errors.AsType[*fault.Errors](err)
			if !ok {
				t.Fatalf("ReadCodeMap = %v, want a refusal", err)
			}
			wantIssues(t, problems.Issues, tt.want...)
		})
	}
}

func FuzzReadCodeMap(f *testing.F) {
	text, err := os.ReadFile("testdata/codemap.json")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(element(`{"code":"a","target":[{"code":"arm-position","equivalence":"equal"}]}`)))
	f.Add([]byte(element(`{"code":"P3","target":[{"code":"load-elevated","equivalence":"wider"}]}`)))
	f.Add([]byte(strings.Repeat("[", 50)))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := ReadCodeMap(text)
		if err == nil {
			for c, means := range m.meanings {
				if !isRead(means.code) {
					t.Errorf("%v means %v, which is not read", c, means.code)
				}
			}
			return
		}
		if _, ok := errors.AsType[*fault.Errors](err); !ok {
			t.Errorf("error is a %T, want *fault.Errors", err)
		}
	})
}

// A site's own codes may stand for anything that is read, also behind a target that has no match; what they are for is
// that of the code that they stand for.
func TestMeaningsOfSiteCodes(t *testing.T) {
	for _, tt := range []struct {
		system, target string
		want           Use
	}{
		{fhir.SystemSNOMED, fhir.SNOMEDFullThicknessTear, Disorder},
		{fhir.SystemSNOMED, fhir.SNOMEDHistoryOfCuffRepair, Disorder},
		{fhir.SystemSNOMED, fhir.SNOMEDCuffRepair, Repair},
		{fhir.SystemLOINC, fhir.LOINCFlexionActive, Measurement},
		{fhir.SystemShoulder, fhir.CodeMeasurementConfirmed, Confirmation},
		{fhir.SystemShoulder, fhir.CodeArmPosition, Component},
	} {
		m, err := ReadCodeMap([]byte(`{"resourceType":"ConceptMap","group":[{"source":"urn:site","target":"` + tt.system + `","element":[
			{"code":"a","target":[{"equivalence":"unmatched"},{"code":"` + tt.target + `","equivalence":"equal"}]}]}]}`))
		if err != nil {
			t.Fatal(err)
		}
		own := coding("urn:site", "a")
		if got := m.Use(own); got != tt.want {
			t.Errorf("a code for %s: use %v, want %v", tt.target, got, tt.want)
		}
		if listed := slices.Contains(m.MeasurementCodes(), own); listed != (tt.want == Measurement || tt.want == Confirmation) {
			t.Errorf("a code for %s: listed among those of Observations: %t", tt.target, listed)
		}
		if listed := slices.Contains(m.RepairCodes(), own); listed != (tt.want == Repair) {
			t.Errorf("a code for %s: listed among those of Procedures: %t", tt.target, listed)
		}
	}
	var none *CodeMap
	if !slices.Contains(none.RepairCodes(), coding(fhir.SystemSNOMED, fhir.SNOMEDCuffRepair)) {
		t.Error("without a map the repair of the cuff is no code of Procedures")
	}
}
