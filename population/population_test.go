package population

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"go.uber.org/goleak"

	"evenreach.example/internal/batch"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
	"evenreach.example/population/invent"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestMain is also the process that TestKilled kills.
func TestMain(m *testing.M) {
	if out := os.Getenv(childOut); out != "" {
		_, err := Run(context.Background(), options(os.Getenv(childIn), out, Resources))
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	goleak.VerifyTestMain(m)
}

func pipeline() *service.Pipeline {
	return &service.Pipeline{
		Protocols: service.Protocols{protocol.Default()}, Version: "test",
		Now: func() time.Time { return time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC) },
	}
}

func options(in, out string, results Results) Options {
	return Options{
		Inputs: []string{in}, Out: out, Memory: 1 << 30,
		Assessor: &Assessor{Pipeline: pipeline(), Identity: Kept(), Results: results},
	}
}

func export(t *testing.T, o invent.Options) (folder string, counts invent.Counts) {
	t.Helper()
	folder = filepath.Join(t.TempDir(), "export")
	counts, err := invent.Write(folder, o)
	if err != nil {
		t.Fatal(err)
	}
	return folder, counts
}

func runOf(t *testing.T, o Options) *Summary {
	t.Helper()
	s, err := Run(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// contents are the files of an output by their names below it, but for what only the run
// itself needs.
func contents(t *testing.T, out string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(out, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() || filepath.Ext(path) == partial {
			return err
		}
		name, _ := filepath.Rel(out, path)
		text, err := os.ReadFile(path)
		if !strings.HasPrefix(name, workFolder) {
			all[name] = string(text)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func sameContents(t *testing.T, got, want map[string]string) {
	t.Helper()
	for name := range want {
		if got[name] != want[name] {
			t.Errorf("%s differs", name)
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			t.Errorf("%s is new", name)
		}
	}
}

// linesIn are the lines of all files of a folder of the output.
func linesIn(t *testing.T, out, name string) (all [][]byte) {
	t.Helper()
	err := (&folder{out}).lines(name, func(text []byte) error {
		all = append(all, bytes.Clone(text))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// grouped reads an export as anybody would, without what is tested here: the lines of each
// patient that are JSON, sorted, as one Bundle; and how many lines there are.
func grouped(t *testing.T, folder string) (bundles map[string][]byte, lines int) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil {
		t.Fatal(err)
	}
	byPatient := map[string][]string{}
	for _, name := range files {
		for line := range strings.SplitSeq(string(readFile(t, name)), "\n") {
			if line == "" {
				continue
			}
			lines++
			var r struct {
				ResourceType, ID string
				Subject          struct{ Reference string }
			}
			if err := json.Unmarshal([]byte(line), &r); err != nil {
				_, rest, _ := strings.Cut(line, `"reference":"Patient/`)
				id, _, found := strings.Cut(rest, `"`)
				if found {
					byPatient[id] = append(byPatient[id], missing)
				}
				continue
			}
			id := r.Subject.Reference[strings.LastIndex(r.Subject.Reference, "/")+1:]
			if r.ResourceType == "Patient" {
				id = r.ID
			} else if !strings.Contains(r.Subject.Reference, "Patient/") || r.ResourceType == "MedicationRequest" {
				continue
			}
			byPatient[id] = append(byPatient[id], line)
		}
	}
	bundles = map[string][]byte{}
	for id, all := range byPatient {
		slices.Sort(all)
		for i, line := range all {
			if strings.Count(line, `"valueQuantity"`) == 2 { // a name given twice
				all[i] = missing
			}
		}
		bundles[id] = []byte(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + strings.Join(all, `},{"resource":`) + `}]}`)
	}
	return bundles, lines
}

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err == nil && strings.HasSuffix(name, zipped) {
		var unzipped *gzip.Reader
		if unzipped, err = gzip.NewReader(bytes.NewReader(text)); err == nil {
			text, err = io.ReadAll(unzipped)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// byBatch answers each Bundle as the command batch does.
func byBatch(t *testing.T, bundles map[string][]byte) (answers []string) {
	t.Helper()
	var requests, out bytes.Buffer
	for _, body := range bundles {
		requests.Write(body)
		requests.WriteByte('\n')
	}
	p := pipeline()
	answerer := func(ctx context.Context, body []byte) (fhir.Resource, error) {
		request, err := service.Decode(body)
		if err != nil {
			return nil, err
		}
		answer, err := p.Run(ctx, request)
		if err != nil {
			return nil, err
		}
		return answer.Resource(), nil
	}
	if _, err := batch.Run(context.Background(), batch.Lines(&requests), &out, answerer, batch.Options{}); err != nil {
		t.Fatal(err)
	}
	for line := range strings.SplitSeq(strings.TrimSpace(out.String()), "\n") {
		if !strings.HasPrefix(line, `{"resourceType":"OperationOutcome"`) {
			answers = append(answers, line)
		}
	}
	slices.Sort(answers)
	return answers
}

// The answers are those that batch gives for each patient alone, byte for byte.
func TestAnswersAreThoseOfBatch(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 150, Seed: 3, Giant: 3000})
	out := t.TempDir()
	runOf(t, options(folder, out, Transactions))
	bundles, _ := grouped(t, folder)
	want := byBatch(t, bundles)
	var got []string
	for _, line := range linesIn(t, out, filepath.Join(ResultsFolder, transactionType)) {
		got = append(got, string(line))
	}
	slices.Sort(got)
	if len(want) < 130 || !slices.Equal(got, want) {
		t.Fatalf("%d answers, batch gives %d; or they differ", len(got), len(want))
	}
}

// Every line that is there is used, about something else, or rejected with its place and
// a reason; and each is counted once.
func TestCountsAddUp(t *testing.T) {
	folder, counts := export(t, invent.Options{Patients: 400, Seed: 5, Giant: 2000})
	out := t.TempDir()
	summary := runOf(t, options(folder, out, NoResults))
	_, lines := grouped(t, folder)
	c := summary.Lines
	if c.Read != lines || c.Used+total(c.Elsewhere)+total(c.Rejected) != c.Read {
		t.Errorf("%d lines are there; counted %d: %d used, %d elsewhere, %d rejected", lines, c.Read, c.Used, total(c.Elsewhere), total(c.Rejected))
	}
	if c.Rejected["syntax"] != counts.Broken || counts.Broken == 0 {
		t.Errorf("%d lines rejected as no JSON, want %d", c.Rejected["syntax"], counts.Broken)
	}
	if n := c.Rejected["internal"]; n != 0 {
		t.Errorf("of %d lines nobody knows what became of them", n)
	}
	places := map[Place]bool{}
	for _, line := range linesIn(t, out, RejectedFolder) {
		var r Rejection
		if err := json.Unmarshal(line, &r); err != nil || r.Reason == "" || r.Line == 0 || places[r.Place] {
			t.Errorf("rejected: %s, %v", line, err)
		}
		places[r.Place] = true
	}
	if len(places) != total(c.Rejected) {
		t.Errorf("%d lines are listed as rejected, %d counted", len(places), total(c.Rejected))
	}
	if c.Elsewhere["Observation"] < 2000 {
		t.Errorf("%d Observations about something else, want at least the giant's 2000", c.Elsewhere["Observation"])
	}
}

// What real records are full of, each with what must become of it.
func TestFateOfALine(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 1, Seed: 9, Clean: true, Plain: true})
	base := ""
	for _, name := range []string{"Patient.000.ndjson", "Condition.000.ndjson", "Encounter.000.ndjson"} {
		base += string(readFile(t, filepath.Join(folder, name)))
	}
	observation := ""
	for i := range 4 {
		text := string(readFile(t, filepath.Join(folder, fmt.Sprintf("Observation.%03d.ndjson", i))))
		base += text
		for line := range strings.SplitSeq(text, "\n") {
			if strings.Contains(line, "isometric-external-rotation-strength") && observation == "" {
				observation = strings.Replace(line, `"id":"p0-`, `"id":"more-`, 1)
			}
		}
	}
	tests := []struct{ name, line, want string }{
		{"another measurement", observation, "used"},
		{"the same again", strings.Replace(observation, `"id":"more-`, `"id":"p0-`, 1), "duplicate"},
		{"withdrawn", strings.Replace(observation, `"final"`, `"entered-in-error"`, 1), "status-retracted"},
		{"unit", strings.Replace(observation, `"code":"N"`, `"code":"stone"`, 1), "unit-unknown"},
		{"of another part of the body", `{"resourceType":"Observation","id":"x","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"72514-3"}]},"subject":{"reference":"Patient/p0"},"effectiveDateTime":"2025-01-06","bodySite":{"coding":[{"system":"http://snomed.info/sct","code":"72696002"}]},"valueInteger":3}`, "elsewhere"},
		{"heart rate", `{"resourceType":"Observation","id":"x","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]},"subject":{"reference":"Patient/p0"},"effectiveDateTime":"2025-01-06","valueInteger":3}`, "elsewhere"},
		{"of a type that is not read", `{"resourceType":"Claim","id":"x","patient":{"reference":"Patient/p0"}}`, "elsewhere"},
		{"of a group", `{"resourceType":"Observation","id":"x","subject":{"reference":"Group/g"}}`, "elsewhere"},
		{"focus on another patient", strings.Replace(observation, `"subject"`, `"focus":[{"reference":"Patient/p9"}],"subject"`, 1), "patient-other"},
		{"no subject", strings.Replace(observation, `"subject"`, `"subjekt"`, 1), "required-missing"},
		{"not FHIR", strings.Replace(observation, `"final"`, `7`, 1), "structure"},
		{"a name twice", strings.Replace(observation, `"status"`, `"status":"final","status"`, 1), "duplicate-name"},
		{"cut off", observation[:len(observation)/2], "syntax"},
		{"cut off before the subject", observation[:60], "syntax"},
		{"no JSON at all", "patient;date;force", "syntax"},
		{"another entry smuggled in", observation + `},{"resource":` + observation, "syntax"},
		{"message of the server", `{"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"exception"}]}`, "input-incomplete"},
		{"no type", `{"id":"x"}`, "structure"},
		{"Condition of another part", `{"resourceType":"Condition","id":"x","code":{"coding":[{"system":"http://snomed.info/sct","code":"44054006"}]},"subject":{"reference":"Patient/p0"}}`, "elsewhere"},
	}
	in := filepath.Join(t.TempDir(), "in.ndjson")
	before := runText(t, in, base)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			after := runText(t, in, base+tt.line+"\n")
			if after.Read != before.Read+1 {
				t.Fatalf("%d lines counted, want one more than %d", after.Read, before.Read)
			}
			got := "used"
			if total(after.Elsewhere) > total(before.Elsewhere) {
				got = "elsewhere"
			}
			for kind := range after.Rejected {
				got = kind
			}
			if got != tt.want || got != "used" && after.Used != before.Used {
				t.Errorf("became %s (%+v), want %s", got, after, tt.want)
			}
		})
	}
}

func runText(t *testing.T, name, text string) Counts {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return runOf(t, options(name, t.TempDir(), NoResults)).Lines
}

// A line of a patient that cannot be read opens nothing.
func TestALostLineOpensNothing(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 40, Seed: 11, Clean: true, Plain: true})
	name := filepath.Join(folder, "Observation.000.ndjson")
	for i := range 40 {
		text := append(readFile(t, name), fmt.Sprintf("{\"resourceType\":\"Observation\",\"subject\":{\"reference\":\"Patient/p%d\"},\n", i)...)
		if err := os.WriteFile(name, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	out := t.TempDir()
	summary := runOf(t, options(folder, out, NoResults))
	if summary.Patients.Incomplete != 40 {
		t.Errorf("%d patients have a line that could not be read, want 40", summary.Patients.Incomplete)
	}
	for _, line := range linesIn(t, out, PatientsFolder) {
		var p Patient
		if err := json.Unmarshal(line, &p); err != nil {
			t.Fatal(err)
		}
		for motion, step := range p.Steps {
			if step != "arm-at-side" && step != "no-resisted-work" {
				t.Errorf("%s: %s is at %s", p.Patient, motion, step)
			}
		}
	}
}

// The order of the lines, the number of files and cores, and how often a partition is read
// change nothing but the files that things stand in.
func TestOrderDoesNotMatter(t *testing.T) {
	one, _ := export(t, invent.Options{Patients: 60, Seed: 13, Clean: true, Plain: true, Files: 1})
	var all []string
	for _, name := range []string{"Patient", "Condition", "Procedure", "Encounter", "Observation"} {
		all = append(all, strings.Split(strings.TrimSpace(string(readFile(t, filepath.Join(one, name+".000.ndjson")))), "\n")...)
	}
	slices.Reverse(all)
	backwards := filepath.Join(t.TempDir(), "all.ndjson")
	if err := os.WriteFile(backwards, []byte(strings.Join(all, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	sorted := func(o Options) (all []string) {
		runOf(t, o)
		for _, folder := range []string{PatientsFolder, filepath.Join(ResultsFolder, "Observation"), filepath.Join(ResultsFolder, "CarePlan")} {
			for _, line := range linesIn(t, o.Out, folder) {
				all = append(all, string(line))
			}
		}
		slices.Sort(all)
		return all
	}
	want := sorted(options(one, t.TempDir(), Resources))
	few := options(backwards, t.TempDir(), Resources)
	few.Memory, few.Workers = 200<<10, 1 // partitions are read in passes
	if got := sorted(few); len(want) < 60 || !slices.Equal(got, want) {
		t.Error("other results")
	}
}

// Both ways to feed the worker give the same.
func TestPipeGivesTheSame(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 80, Seed: 17, Giant: 500})
	out := t.TempDir()
	o := options(folder, out, Resources)
	runOf(t, o)
	var placed, sifted, assessed bytes.Buffer
	inputs, err := inputsOf([]string{folder})
	if err != nil {
		t.Fatal(err)
	}
	for _, in := range inputs {
		for i, line := range strings.Split(string(readFile(t, in.path)), "\n") {
			fmt.Fprintf(&placed, "%s\t%d\t%s\n", in.Name, i+1, line)
		}
	}
	if err := PipeSift(context.Background(), &placed, &sifted); err != nil {
		t.Fatal(err)
	}
	byFolder := map[string][]string{}
	split := func(text string) {
		for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
			name, rest, _ := strings.Cut(line, "\t")
			byFolder[name] = append(byFolder[name], rest)
		}
	}
	split(sifted.String())
	slices.Sort(byFolder[LinesFolder])
	if err := PipeAssess(context.Background(), strings.NewReader(strings.Join(byFolder[LinesFolder], "\n")+"\n"), &assessed, o.Assessor, 2); err != nil {
		t.Fatal(err)
	}
	split(assessed.String())
	for _, name := range []string{PatientsFolder, RejectedFolder, ResultsFolder + "/Observation", ResultsFolder + "/Provenance"} {
		var want []string
		for _, line := range linesIn(t, out, name) {
			want = append(want, string(line))
		}
		slices.Sort(want)
		slices.Sort(byFolder[name])
		if len(want) == 0 || !slices.Equal(byFolder[name], want) {
			t.Errorf("%s: %d lines by the pipe, %d on one machine; or they differ", name, len(byFolder[name]), len(want))
		}
	}
	sameRows(t, out, byFolder[RowsFolder])
}

// rowsOf reads the tables of an output.
func rowsOf(t *testing.T, out string) (all []Row) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(out, RowsFolder, "*.parquet"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		rows, err := parquet.ReadFile[Row](name)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, rows...)
	}
	return all
}

// The weeks since the trouble began are those since the first visit, and those before it; who
// has no recorded beginning has none.
func TestWeeksSinceOnset(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 40, Seed: 61, Clean: true})
	out := t.TempDir()
	runOf(t, options(folder, out, NoResults))
	with := 0
	for _, row := range rowsOf(t, out) {
		number, err := strconv.Atoi(strings.TrimPrefix(row.Patient, "p"))
		if err != nil {
			t.Fatal(err)
		}
		if row.SinceOnset == nil {
			if number%5 != 0 {
				t.Errorf("%s: no weeks since the onset, which is recorded", row.Patient)
			}
			continue
		}
		with++
		if want := row.SinceFirst + float64(invent.OnsetDays(number))/7; math.Abs(*row.SinceOnset-want) > 0.02 || number%5 == 0 {
			t.Errorf("%s: %v weeks since the onset, want %.2f", row.Patient, *row.SinceOnset, want)
		}
	}
	if with == 0 {
		t.Error("no row has weeks since the onset")
	}
}

func TestDayOf(t *testing.T) {
	for _, tt := range []struct {
		name  string
		value fhir.Value
		want  string
	}{
		{"a day", fhir.DateTime("2025-11-03"), "2025-11-03"},
		{"a time", fhir.DateTime("2025-11-03T10:00:00Z"), "2025-11-03"},
		{"a period: its beginning", &fhir.Period{Start: "2025-11-03", End: "2025-12-01"}, "2025-11-03"},
		{"a month is no day", fhir.DateTime("2025-11"), ""},
		{"no such day", fhir.DateTime("2025-02-30"), ""},
		{"words", fhir.String("last autumn"), ""},
		{"nothing", nil, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			day, known := dayOf(tt.value)
			if got := day.Format(dayLayout); known != (tt.want != "") || known && got != tt.want {
				t.Errorf("%v, %s; want %q", known, got, tt.want)
			}
		})
	}
}

// sameRows compares the rows of the tables with those of the pipe.
func sameRows(t *testing.T, out string, piped []string) {
	t.Helper()
	var want []string
	for _, row := range rowsOf(t, out) {
		text, err := json.Marshal(&row)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, string(text))
	}
	slices.Sort(want)
	slices.Sort(piped)
	if len(want) == 0 || !slices.Equal(piped, want) {
		t.Errorf("%d rows by the pipe, %d on one machine; or they differ", len(piped), len(want))
	}
}

// What cannot be read to its end fails the run with the file's name, and nothing counts as
// done.
func TestUnreadable(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 5, Seed: 19})
	cut := filepath.Join(folder, "Observation.001.ndjson.gz")
	whole := func() []byte { text, _ := os.ReadFile(cut); return text }()
	tests := []struct {
		name  string
		spoil func() error
		want  string
	}{
		{"gzip cut off", func() error { return os.WriteFile(cut, whole[:len(whole)/2], 0o600) }, "Observation.001.ndjson.gz: after line"},
		{"gzip damaged", func() error {
			damaged := bytes.Clone(whole)
			damaged[len(damaged)/2] ^= 0xff
			return os.WriteFile(cut, damaged, 0o600)
		}, "Observation.001.ndjson.gz"},
		{"no gzip", func() error { return os.WriteFile(cut, []byte("text"), 0o600) }, "Observation.001.ndjson.gz"},
		{"a link to nothing", func() error { return errors.Join(os.Remove(cut), os.Symlink("nowhere", cut)) }, "Observation.001.ndjson.gz"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if err := tt.spoil(); err != nil {
				t.Fatal(err)
			}
			out := t.TempDir()
			_, err := Run(context.Background(), options(folder, out, NoResults))
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Fatalf("error %v, want one that names the file", err)
			}
			if _, err := os.Stat(filepath.Join(out, "report.html")); err == nil {
				t.Error("a report was written")
			}
			if n := len(linesIn(t, out, PatientsFolder)); n != 0 {
				t.Errorf("%d patients were written", n)
			}
		})
	}
	for _, in := range []string{filepath.Join(folder, "absent"), t.TempDir()} {
		if _, err := Run(context.Background(), options(in, t.TempDir(), NoResults)); err == nil {
			t.Errorf("%s: no error", in)
		}
	}
}

// The output of one export is not mixed with that of another.
func TestAnotherRunIsRefused(t *testing.T) {
	one, _ := export(t, invent.Options{Patients: 3, Seed: 1})
	other, _ := export(t, invent.Options{Patients: 3, Seed: 2})
	out := t.TempDir()
	runOf(t, options(one, out, NoResults))
	before := contents(t, out)
	if _, err := Run(context.Background(), options(other, out, NoResults)); err == nil || !strings.Contains(err.Error(), "another run") {
		t.Errorf("error %v, want that it is the output of another run", err)
	}
	runOf(t, options(one, out, NoResults)) // the same again
	sameContents(t, contents(t, out), before)
}

func TestIdentity(t *testing.T) {
	// RFC 4231, test case 2: key "Jefe", data "what do ya want for nothing?".
	if got, want := Hashed([]byte("Jefe")).Of("what do ya want for nothing?"), "5bdcc146bf60754e6a042426089575c7"; got != want {
		t.Errorf("digest %s, want %s", got, want)
	}
	folder, _ := export(t, invent.Options{Patients: 30, Seed: 23})
	o := options(folder, t.TempDir(), NoResults)
	o.Assessor.Identity = Hashed([]byte("a key of sixteen"))
	runOf(t, o)
	for name, text := range contents(t, o.Out) {
		for _, secret := range []string{"Invented", "R0000", `"p1"`, "Patient/p"} {
			if strings.Contains(text, secret) {
				t.Errorf("%s holds %s", name, secret)
			}
		}
	}
}

// No number of patients below ten is anywhere in the summary of few patients.
func TestSmallNumbersAreNowhere(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 60, Seed: 59})
	out := t.TempDir()
	runOf(t, options(folder, out, NoResults))
	var s struct {
		Patients, Status, Flags, Rechecks, Progress, Refusals map[string]*int
		Ready                                                 []struct{ Patients, Seen *int }
		Curves                                                []struct{ Points []struct{ Patients *int } }
		Devices                                               []struct{ Months []struct{ Patients *int } }
	}
	if err := json.Unmarshal(readFile(t, filepath.Join(out, SummaryFolder, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	var all []*int
	for _, table := range []map[string]*int{s.Patients, s.Status, s.Flags, s.Rechecks, s.Progress, s.Refusals} {
		for _, n := range table {
			all = append(all, n)
		}
	}
	for _, r := range s.Ready {
		all = append(all, r.Patients, r.Seen)
	}
	for _, c := range s.Curves {
		for _, p := range c.Points {
			all = append(all, p.Patients)
		}
	}
	for _, d := range s.Devices {
		for _, m := range d.Months {
			all = append(all, m.Patients)
		}
	}
	hidden := 0
	for _, n := range all {
		if n == nil {
			hidden++
		} else if 0 < *n && *n < smallest {
			t.Errorf("a cell of %d patients is shown", *n)
		}
	}
	if hidden == 0 || len(all) < 20 {
		t.Errorf("%d of %d cells are hidden: the test shows nothing", hidden, len(all))
	}
}

func TestSmallCells(t *testing.T) {
	tests := []struct {
		name   string
		counts map[string]int
		hidden string // keys
	}{
		{"none small", map[string]int{"a": 10, "b": 30, "c": 0}, ""},
		{"two small", map[string]int{"a": 9, "b": 30, "c": 1}, "ac"},
		{"one small, and what it could be told from", map[string]int{"a": 9, "b": 30, "c": 50}, "ab"},
		{"one alone", map[string]int{"a": 3}, "a"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for key, cell := range cellsOf(tt.counts) {
				if want := strings.Contains(tt.hidden, key); cell.Hidden != want {
					t.Errorf("%s hidden: %v, want %v", key, cell.Hidden, want)
				}
			}
		})
	}
}
