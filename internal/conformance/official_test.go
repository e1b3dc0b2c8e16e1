//go:build official

package conformance

import (
	"bytes"
	"context"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/record"
)

var explainedByOfficial = []explanation{
	{"hl7", `^All_observations_should_have_a_performer`, "a result has a device and no performer, because nobody has looked at it yet"},
	{"hl7", `^TYPE_SPECIFIC_CHECKS_DT_QTY_UCUM_ANNOTATIONS`, "UCUM has no unit of a score or a ratio; {score} and {ratio} are what published guides write"},
	{"hl7", `^Terminology_TX_NoValid_2_CC: .*ObservationInterpretation#[ABENW], https://evenreach.example/fhir/CodeSystem/`, "R4's value set is every code of the system; the validator takes a concept that has one of them, and not one that has a code of ours beside it"},
	{"hl7", `^Terminology_TX_NoValid_3_CC: .*referencerange-meaning`, "R4 prefers its own kinds of ranges, such as normal or therapeutic; the type names the rule whose threshold it is"},
	{"hl7", `^Terminology_TX_NoValid_3_CC: .*detectedissue-category`, "R4 prefers its own categories, which are about drugs; the code names the red flag"},
	{"hl7", `^Terminology_PassThrough_TX_Message: .*(loinc.org|us/core|clinic.example/codes)`, "these code systems are not at hand offline"},
	{"hl7", `^Terminology_PassThrough_TX_Message: .*/sid/result`, "the tag of a Provenance is its identifier, for which R4 gives it no other place"},
	{"hl7", `^null: .*'http://snomed.info/sct' which has status 'not-present'`, "SNOMED CT is not at hand offline"},
	{"hl7", `^CONCEPTMAP_GROUP_`, "the codes of the invented hospital, of LOINC and of SNOMED CT are not at hand; that the map is read is tested beside it"},
	{"hl7", `^Details_for__matching_against_Profile_`, "the slicing is open: values stand beside the verdicts, and standard codes beside ours"},
	{"hl7", `^SD_PATH_SLICING_DEPRECATED`, "deprecated in R5; R4 has no other way"},
	{"hl7", `^SD_ED_EXPERIMENTAL_BINDING: .*Observation.language`, "the binding is R4's own"},
	{"hl7", `^Extension_EXT_Unknown: .*/uv/sdc/`, "of HL7's guide of structured data capture, which is not a part of R4 itself; another engine reads them in TestExtractionByTemplates"},
	{"hl7", `^Reference_REF_NoDisplay: `, "the subject of a template, which extraction fills in"},
	{"hl7", `^Extension_EXT_Unknown: .*cqf-messages`, "of HL7's pack of extensions, which is not a part of R4 itself"},
	{"hl7", `#dom-6: `, "the narrative of the DiagnosticReport and of the CarePlan says what the other resources of an answer hold, and a measurement in the example request has none"},
}

func TestOfficialValidatorAccepts(t *testing.T) {
	good := append(definitions(), allClaimed(t, bundles(t))...)
	var about []finding
	found := map[string]bool{}
	broken := brokenAnswers(t)
	for _, f := range byOfficial(t, append(good, broken...)) {
		if !strings.HasPrefix(f.Document, "broken-") {
			about = append(about, f)
		} else if f.Severity == "error" {
			found[f.Document] = true
		}
	}
	check(t, about, explainedByOfficial)
	for _, d := range broken {
		if !found[d.name+".json"] {
			t.Errorf("%s: the validator does not find the fault", d.name)
		}
	}
}

// brokenAnswers are good answers into each of which a fault is put.
func brokenAnswers(t *testing.T) (all []document) {
	t.Helper()
	answers, _ := claimed(t, answersAs(t, record.Collection)[:1])
	good := answers[0].body
	for name, change := range map[string][2]string{
		"code":     {`"code":"limb-symmetry-index"`, `"code":"limb-symmetry-indec"`},
		"rotation": {`"code":"rotation"`, `"code":"rotation-readiness"`},
		"unit":     {`"code":"%"`, `"code":"1"`},
		"position": {`"code":"flexion-90"`, `"code":"even-flexion-90"`},
	} {
		bad := strings.ReplaceAll(string(good), change[0], change[1])
		if bad == string(good) {
			t.Fatalf("%s: the answer has no %s", name, change[0])
		}
		all = append(all, document{"broken-" + name, []byte(bad)})
	}
	return all
}

// byOfficial checks documents with HL7's validator.
func byOfficial(t *testing.T, documents []document) (findings []finding) {
	t.Helper()
	folder := filepath.Dir(written(t, documents)[0])
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	var out, problems bytes.Buffer
	command := exec.CommandContext(ctx, "mvn", "--batch-mode", "--quiet", "--file", "official", "-Dbuilt="+t.TempDir(),
		"compile", "exec:java", "-Dexec.args="+folder)
	command.Stdout, command.Stderr = &out, &problems
	if err := command.Run(); err != nil {
		t.Fatalf("mvn: %v\n%.2000s\n%.2000s", err, out.String(), problems.String())
	}
	checked := 0
	for line := range strings.Lines(out.String()) {
		f := strings.Split(strings.TrimSpace(line), "\t")
		switch {
		case len(f) == 5:
			findings = append(findings, finding{f[0], f[1], f[2], f[3], f[4]})
		case f[0] == "checked":
			checked, _ = strconv.Atoi(f[1])
		}
	}
	if checked != len(documents) {
		t.Fatalf("%d files checked, want %d:\n%.2000s", checked, len(documents), out.String())
	}
	t.Logf("%d documents, %d findings", checked, len(findings))
	return findings
}
