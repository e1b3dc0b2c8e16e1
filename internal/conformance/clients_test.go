//go:build clients

package conformance

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"

	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
)

// What is installed for the clients is kept here, as the other tools keep theirs
// below the user's cache.
var installed = flag.String("installed", "", "the folder that the clients on Python are installed in")

// summary is what a client has read of an answer and of a refusal.
type summary struct {
	Types       map[string]int `json:"types"`
	Plan        string         `json:"plan"`
	Indices     []float64      `json:"indices"`
	Diagnostics string         `json:"diagnostics"`
}

// imports are the folders that .proto files are imported from.
var imports = []string{"../../proto", "../../proto/third_party/fhir", "../../proto/third_party/googleapis"}

// Foreign clients, each with a model of its own, read the same answer and are told
// the same reason of a refusal.
func TestForeignClients(t *testing.T) {
	at, cases := served(t), given(t)
	want := expected(t, at, cases)
	tests := []struct {
		name string
		run  func(t *testing.T) []byte
		want []string // the clients
	}{
		{"Python", func(t *testing.T) []byte { return python(t, at, cases) }, []string{"fhir.resources", "fhirclient", "fhirpy", "grpcio"}},
		{"Node", func(t *testing.T) []byte {
			return tool(t, nil, "node", append([]string{"clients/node/clients.mjs", at.FHIR, at.GRPC, cases}, imports...)...)
		}, []string{"fhir-kit-client", "grpc-js"}},
		{"Java", func(t *testing.T) []byte { return java(t, at, cases) }, []string{"HAPI", "grpc-java"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for name, got := range summaries(t, tt.run(t), tt.want) {
				agrees(t, name, got, want)
			}
		})
	}
}

// summaries are what clients printed, by their names.
func summaries(t *testing.T, out []byte, names []string) map[string]summary {
	t.Helper()
	all := map[string]summary{}
	for line := range strings.Lines(string(out)) {
		name, text, _ := strings.Cut(strings.TrimPrefix(line, "\x1b[0m"), "\t") // Maven's, before all else
		var s summary
		if slices.Contains(names, name) && json.Unmarshal([]byte(text), &s) == nil {
			all[name] = s
		}
	}
	for _, name := range names {
		if _, printed := all[name]; !printed {
			t.Errorf("%s printed nothing: %.1000s", name, out)
		}
	}
	return all
}

func agrees(t *testing.T, name string, got, want summary) {
	t.Helper()
	if !maps.Equal(got.Types, want.Types) || got.Plan != want.Plan || !slices.Equal(got.Indices, want.Indices) {
		t.Errorf("%s reads %+v, want %+v", name, got, want)
	}
	if !strings.Contains(got.Diagnostics, want.Diagnostics) {
		t.Errorf("%s is told %q, want %q", name, got.Diagnostics, want.Diagnostics)
	}
}

// given writes a Bundle that is assessed and one that is refused, as JSON and as
// encoded requests, and returns their folder.
func given(t *testing.T) string {
	t.Helper()
	good, err := os.ReadFile("../../testdata/scenarios/even-in-all-positions/input.json")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	for name, body := range map[string][]byte{"good": good, "bad": withoutSide(t, good)} {
		contained, err := reader(t).UnmarshalR4(body)
		if err != nil {
			t.Fatal(err)
		}
		request := &evenreachv1.AssessRequest{Bundle: contained.GetBundle()}
		encoded, err := proto.Marshal(request)
		if err != nil {
			t.Fatal(err)
		}
		readable, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(request)
		if err != nil {
			t.Fatal(err)
		}
		for file, text := range map[string][]byte{".json": body, ".binpb": encoded, ".proto.json": readable} {
			if err := os.WriteFile(filepath.Join(folder, name+file), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return folder
}

// withoutSide is a Bundle without what tells the involved side.
func withoutSide(t *testing.T, body []byte) []byte {
	t.Helper()
	var bundle map[string]any
	if err := json.Unmarshal(body, &bundle); err != nil {
		t.Fatal(err)
	}
	bundle["entry"] = slices.DeleteFunc(bundle["entry"].([]any), func(e any) bool {
		return e.(map[string]any)["resource"].(map[string]any)["resourceType"] == "Condition"
	})
	text, err := json.Marshal(bundle)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// expected is what there is to read, by Go's standard library.
func expected(t *testing.T, at addresses, cases string) summary {
	t.Helper()
	var answer answered
	var refused struct {
		Issue []struct{ Details struct{ Text string } }
	}
	posted(t, at, filepath.Join(cases, "good.json"), &answer)
	posted(t, at, filepath.Join(cases, "bad.json"), &refused)
	want := answer.summary(refused.Issue[0].Details.Text)
	if len(want.Indices) == 0 || want.Plan == "" || want.Diagnostics == "" {
		t.Fatalf("there is little to read: %+v", want)
	}
	return want
}

// answered is what is read of an answer in JSON.
type answered struct {
	Entry []struct {
		Resource struct {
			ResourceType, Status string
			Code                 struct{ Coding []struct{ Code string } }
			ValueQuantity        struct{ Value float64 }
		}
	}
}

func (a *answered) summary(diagnostics string) summary {
	s := summary{Types: map[string]int{}, Diagnostics: diagnostics}
	for _, e := range a.Entry {
		r := e.Resource
		s.Types[r.ResourceType]++
		switch {
		case r.ResourceType == "CarePlan":
			s.Plan = r.Status
		case r.ResourceType == "Observation" && r.Code.Coding[0].Code == "limb-symmetry-index":
			s.Indices = append(s.Indices, r.ValueQuantity.Value)
		}
	}
	slices.Sort(s.Indices)
	return s
}

func posted(t *testing.T, at addresses, file string, answer any) {
	t.Helper()
	body, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	response, err := http.Post(at.FHIR+"/$assess-shoulder", "application/fhir+json", bytes.NewReader(body)) //nolint:noctx // of a test
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = response.Body.Close() }()
	if err := json.NewDecoder(response.Body).Decode(answer); err != nil {
		t.Fatal(err)
	}
}

// python runs the clients on Python, with stubs that grpcio-tools makes of the
// .proto files.
func python(t *testing.T, at addresses, cases string) []byte {
	t.Helper()
	program, stubs := filepath.Join(*installed, "bin", "python"), t.TempDir()
	args := []string{"-m", "grpc_tools.protoc", "--python_out=" + stubs, "--grpc_python_out=" + stubs}
	for _, folder := range imports {
		args = append(args, "-I"+folder)
	}
	args = append(args, "evenreach/v1/assessment.proto")
	tool(t, nil, program, append(args, protos(t, imports[1])...)...)
	return tool(t, nil, program, "clients/python/clients.py", at.FHIR, at.GRPC, cases, stubs)
}

// protos are the .proto files below a folder.
func protos(t *testing.T, folder string) (files []string) {
	t.Helper()
	err := fs.WalkDir(os.DirFS(folder), ".", func(path string, _ fs.DirEntry, err error) error {
		if filepath.Ext(path) == ".proto" {
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) == 0 {
		t.Fatalf("%d .proto files in %s: %v", len(files), folder, err)
	}
	return files
}

// java runs the clients on Java, with descriptors that buf makes of the .proto
// files. Classes made of them work too, but compiling them takes minutes.
func java(t *testing.T, at addresses, cases string) []byte {
	t.Helper()
	set := filepath.Join(t.TempDir(), "contract.binpb")
	tool(t, nil, "../../.ci/tool", "buf", "build", "../..", "--as-file-descriptor-set", "--output", set)
	return tool(t, nil, "mvn", "--batch-mode", "--quiet", "--file", "clients/java", "-Dbuilt="+t.TempDir(),
		"compile", "exec:java", "-Dexec.args="+strings.Join([]string{at.FHIR, at.GRPC, cases, set}, " "))
}

// tool runs a program that must be there and succeed, and returns what it printed.
func tool(t *testing.T, input []byte, name string, args ...string) []byte {
	t.Helper()
	out, problems, err := attempt(t, input, name, args...)
	if err != nil {
		t.Fatalf("%s: %v\n%.3000s\n%.1000s", name, err, problems, out)
	}
	return out
}

func attempt(t *testing.T, input []byte, name string, args ...string) (out, problems []byte, err error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 15*time.Minute)
	defer cancel()
	var printed, said bytes.Buffer
	command := exec.CommandContext(ctx, name, args...)
	command.Stdin, command.Stdout, command.Stderr = bytes.NewReader(input), &printed, &said
	err = command.Run()
	return printed.Bytes(), said.Bytes(), err
}

// grpcurl needs to be told nothing but the address where the service answers
// reflection, and the import paths where it does not.
func TestGRPCurl(t *testing.T) {
	cases := given(t)
	var paths []string
	for _, folder := range imports {
		paths = append(paths, "-import-path", folder)
	}
	tests := []struct {
		name  string
		flags []string // of the service
		told  []string
	}{
		{"with import paths", nil, append(paths, "-proto", "evenreach/v1/assessment.proto")},
		{"by reflection", []string{"--grpc-reflection"}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			at := served(t, tt.flags...)
			want := expected(t, at, cases)
			call := append(append([]string{"grpcurl", "-plaintext", "-d", "@"}, tt.told...), at.GRPC, "evenreach.v1.AssessmentService/Assess")
			for name, check := range map[string]func(out, problems []byte, err error){
				"good": func(out, problems []byte, err error) {
					var answer evenreachv1.AssessResponse
					if err != nil || protojson.Unmarshal(out, &answer) != nil {
						t.Fatalf("%v: %.1000s", err, problems)
					}
					agrees(t, "grpcurl", read(answer.GetBundle(), want.Diagnostics), want)
				},
				"bad": func(_, problems []byte, err error) {
					if err == nil || !strings.Contains(string(problems), want.Diagnostics) {
						t.Errorf("%v: is told %.1000s, want %q", err, problems, want.Diagnostics)
					}
				},
			} {
				input, err := os.ReadFile(filepath.Join(cases, name+".proto.json"))
				if err != nil {
					t.Fatal(err)
				}
				check(attempt(t, input, "../../.ci/tool", call...))
			}
		})
	}
}

// grpcurl as the README has it: FHIR JSON in and out, from the address alone.
func TestGRPCurlSendsJSON(t *testing.T) {
	at, cases := served(t, "--grpc-reflection"), given(t)
	want := expected(t, at, cases)
	out := tool(t, nil, "bash", "-c", `grpcurl() { ../../.ci/tool grpcurl "$@"; }; . clients/grpcurl/clients.sh "$@"`,
		"bash", at.GRPC, filepath.Join(cases, "good.json"))
	var answer answered
	if err := json.Unmarshal(out, &answer); err != nil {
		t.Fatalf("%v: %.1000s", err, out)
	}
	agrees(t, "grpcurl", answer.summary(want.Diagnostics), want)
}

// read is what there is to read in an answer by gRPC.
func read(bundle *bcrpb.Bundle, diagnostics string) summary {
	s := summary{Types: map[string]int{}, Diagnostics: diagnostics}
	for _, e := range bundle.GetEntry() {
		r := e.GetResource()
		m := r.ProtoReflect()
		kind := m.WhichOneof(m.Descriptor().Oneofs().Get(0))
		s.Types[string(kind.Message().Name())]++
		if plan := r.GetCarePlan(); plan != nil {
			s.Plan = strings.ToLower(plan.GetStatus().GetValue().String())
		}
		if o := r.GetObservation(); o != nil && o.GetCode().GetCoding()[0].GetCode().GetValue() == "limb-symmetry-index" {
			value := json.Number(o.GetValue().GetQuantity().GetValue().GetValue())
			f, _ := value.Float64()
			s.Indices = append(s.Indices, f)
		}
	}
	slices.Sort(s.Indices)
	return s
}
