package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"syscall"
	"time"

	"evenreach.example/internal/config"
	"evenreach.example/internal/program"
	"evenreach.example/internal/wording"
	"evenreach.example/population"
)

// populationCommand assesses a whole export by the server's pipeline.
type populationCommand struct {
	Inputs   []string `arg:"input" help:"Folders of a FHIR Bulk Data export, or files of NDJSON from it; either may be compressed (.gz)."`
	Out      string   `name:"out" placeholder:"FOLDER" help:"Where to write to: a new folder, or that of a run that was ended, which goes on."`
	Results  string   `name:"results" enum:"none,resources,transactions" default:"none" placeholder:"KIND" help:"What of the results is written beside the summary of each patient and the rows: none, resources by type, to be imported, or a transaction a patient, to be posted (${default})."`
	Protocol string   `name:"protocol" placeholder:"FILE" help:"The clinic's own protocol (the built-in one)."`
	CodeMap  string   `name:"code-map" placeholder:"FILE" help:"A FHIR R4 ConceptMap of the site's own codes."`
	KeyFile  string   `name:"key-file" placeholder:"FILE" help:"The key by which record numbers become digests; made if it is not there (the name of the output with .key behind it)."`
	KeepIDs  bool     `name:"keep-ids" help:"Name patients by their record numbers, not by digests."`
	On       string   `name:"on" placeholder:"DATE" help:"The day by which a re-check is due or overdue (the latest visit of all)."`
	Memory   int      `name:"memory" default:"1024" placeholder:"MIB" help:"Memory to stay below, in MiB (${default})."`
	Workers  int      `name:"workers" placeholder:"N" help:"Patients assessed at a time (the number of cores)."`
	Language string   `name:"language" enum:"en,de,fr" default:"en" placeholder:"TAG" help:"Language of the pages, en, de or fr (${default})."`
	Paper    string   `name:"paper" enum:"a4,letter" default:"a4" placeholder:"SIZE" help:"Size of the pages of report.pdf, a4 or letter (${default})."`
	Pipe     string   `name:"pipe" enum:"sift,assess" placeholder:"STEP" help:"For a cluster, from standard input to standard output: sift lines to patients, or assess patients whose lines stand together."`
	Licences bool     `name:"licences" help:"Only print the work of others in this program, with its licences."`
	Summary  bool     `name:"summary-only" help:"Only summarise the output that is there anew."`
}

// leastMemory is what the program needs with the smallest partitions, in MiB. Measured.
const leastMemory = 256

// Run assesses, or does one step of it for a cluster.
func (c populationCommand) Run(ctx context.Context, std program.Streams) error {
	if c.Licences {
		_, err := std.Out.Write(thirdParty)
		return err
	}
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := c.check(); err != nil {
		return program.UsageError(err)
	}
	if c.Pipe == "sift" {
		return population.PipeSift(ctx, std.In, std.Out)
	}
	if c.Summary {
		_, err := population.Summarise(c.Out, c.summary())
		return err
	}
	assessor, err := c.assessor(std.Err)
	if err != nil {
		return program.UsageError(err)
	}
	if c.Pipe == "assess" {
		return population.PipeAssess(ctx, std.In, std.Out, assessor, c.Workers)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(int64(c.Memory) << 20 / 8 * 7)
	}
	return c.run(ctx, std, assessor)
}

// check tells every problem of the flags.
func (c populationCommand) check() error {
	var problems []error
	if c.Pipe == "" && c.Out == "" {
		problems = append(problems, errors.New("--out: expected the folder to write to"))
	}
	if c.Pipe == "" && !c.Summary && len(c.Inputs) == 0 {
		problems = append(problems, errors.New("expected <input>"))
	}
	if c.Pipe == "assess" && c.KeyFile == "" && !c.KeepIDs {
		problems = append(problems, errors.New("--key-file: expected the key, the same for all of a cluster, or --keep-ids"))
	}
	if c.Memory < leastMemory {
		problems = append(problems, fmt.Errorf("--memory: found %d; expected at least %d", c.Memory, leastMemory))
	}
	if _, err := time.Parse(time.DateOnly, c.On); c.On != "" && err != nil {
		problems = append(problems, fmt.Errorf("--on: found %q; expected a date such as 2026-11-20", c.On))
	}
	if c.Pipe == "" && !c.Summary {
		problems = append(problems, c.checkInputs()...)
	}
	return errors.Join(problems...)
}

// checkInputs tells every input that is not there, or that would hold the output: the next run would read
// that as a part of the export.
func (c populationCommand) checkInputs() (problems []error) {
	out, _ := filepath.Abs(c.Out) // fails only where there is no folder to be in
	for _, input := range c.Inputs {
		if _, err := os.Stat(input); err != nil {
			problems = append(problems, err)
			continue
		}
		folder, _ := filepath.Abs(input)
		if below, err := filepath.Rel(folder, out); c.Out != "" && err == nil && filepath.IsLocal(below) {
			problems = append(problems, fmt.Errorf("--out: found %s, which is in the input %s; expected a folder outside of it", c.Out, input))
		}
	}
	return problems
}

func (c populationCommand) summary() population.SummaryOptions {
	return population.SummaryOptions{On: c.On, Words: wording.For(c.Language), Paper: program.Papers[c.Paper]}
}

func (c populationCommand) assessor(log io.Writer) (*population.Assessor, error) {
	protocols, protocolErr := config.Protocols(c.Protocol)
	codes, codesErr := config.ReadCodeMap(c.CodeMap)
	identity, identityErr := c.identity(log)
	if err := errors.Join(protocolErr, codesErr, identityErr); err != nil {
		return nil, err
	}
	kinds := map[string]population.Results{"none": population.NoResults, "resources": population.Resources, "transactions": population.Transactions}
	return &population.Assessor{Pipeline: program.Pipeline(protocols, codes), Identity: identity, Results: kinds[c.Results]}, nil
}

// keyBytes is the length of a key that is made.
//
// Source: RFC 2104, section 3: as long as the digest.
const keyBytes = 32

// identity is how patients are named. The key lies beside the output, not in it, so that the
// output can be handed on without it.
func (c populationCommand) identity(log io.Writer) (population.Identity, error) {
	if c.KeepIDs {
		return population.Kept(), nil
	}
	name := c.KeyFile
	if name == "" {
		name = filepath.Clean(c.Out) + ".key"
	}
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) && c.Pipe == "" {
		text, err = makeKey(name)
		fmt.Fprintf(log, "evenreach-population: made the key %s; who has it can tell whom a digest means\n", name)
	}
	if err != nil {
		return population.Identity{}, err
	}
	key, err := hex.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(key) < keyBytes/2 {
		return population.Identity{}, fmt.Errorf("%s: expected a key of at least %d bytes in hexadecimal digits", name, keyBytes/2)
	}
	return population.Hashed(key), nil
}

func makeKey(name string) ([]byte, error) {
	key := make([]byte, keyBytes)
	_, _ = rand.Read(key) // never fails
	text := []byte(hex.EncodeToString(key) + "\n")
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return nil, err
	}
	return text, os.WriteFile(name, text, 0o600)
}

// run assesses on this machine.
func (c populationCommand) run(ctx context.Context, std program.Streams, assessor *population.Assessor) error {
	begun := time.Now()
	teller := newTeller(std.Err, begun)
	summary, err := population.Run(ctx, population.Options{
		Inputs: c.Inputs, Out: c.Out, Memory: int64(c.Memory) << 20, Workers: c.Workers,
		Assessor: assessor, Summary: c.summary(), Progress: teller.tell,
	})
	teller.end()
	if err != nil {
		return err
	}
	p := &summary.Patients
	fmt.Fprintf(std.Err, "evenreach-population: %d lines; %d patients assessed, %d refused, %d without a shoulder, in %v; see %s\n",
		summary.Lines.Read, p.Assessed, p.Refused, p.Elsewhere, time.Since(begun).Round(time.Millisecond), filepath.Join(c.Out, "report.html"))
	return nil
}

// teller tells how far a run is: on a terminal always in the same line, elsewhere one line
// a minute.
type teller struct {
	sync.Mutex
	out       io.Writer
	terminal  bool
	every     time.Duration
	told      time.Time
	stage     string
	begun     time.Time // the stage
	lastWidth int
}

func newTeller(out io.Writer, now time.Time) *teller {
	t := &teller{out: out, every: time.Minute, told: now}
	if t.terminal = program.IsTerminal(out); t.terminal {
		t.every = time.Second / 5
	}
	return t
}

// tell is called by several goroutines, more often than anything is told.
func (t *teller) tell(s population.Stage) {
	t.Lock()
	defer t.Unlock()
	now := time.Now()
	if s.Name != t.stage {
		t.stage, t.begun = s.Name, now
	}
	if now.Sub(t.told) < t.every || s.Total == 0 {
		return
	}
	t.told = now
	share := min(float64(s.Done)/float64(s.Total), 1)
	seconds := now.Sub(t.begun).Seconds()
	line := fmt.Sprintf("%s: %.0f %%, %.1f MB/s", s.Name, 100*share, float64(s.Done)/1e6/max(seconds, 0.001))
	if share > 0 {
		line += ", " + time.Duration(float64(time.Second)*seconds*(1-share)/share).Round(time.Second).String() + " left"
	}
	if !t.terminal {
		fmt.Fprintln(t.out, "evenreach-population: "+line)
		return
	}
	const width = 30
	bar := strings.Repeat("#", int(share*width)) + strings.Repeat(".", width-int(share*width))
	line = "[" + bar + "] " + line
	fmt.Fprintf(t.out, "\r%-*s", t.lastWidth, line)
	t.lastWidth = len(line)
}

// end clears the line.
func (t *teller) end() {
	t.Lock()
	defer t.Unlock()
	if t.lastWidth > 0 {
		fmt.Fprintf(t.out, "\r%*s\r", t.lastWidth, "")
	}
}
