// Package comparators measures what a user would pick instead of Evenreach, on
// the same Bundle: a subset of the rules on cql-execution, a general engine for
// clinical logic on Node; and the reading and writing alone of HAPI FHIR, a
// general FHIR library on Java.
//
// Each runs in a process of its own, one thread at work, and counts after a
// warm-up. What the subset leaves out is said in cql/rules.mjs. That its numbers
// are Evenreach's own is tested with the build tag comparators (.ci/run
// comparators): on the Bundle that speeds are quoted for, which has no pain, no
// range and no two rotations tested alike, and on scenarios that have them.
package comparators

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Result is what one operation costs.
type Result struct {
	Name       string
	What       string // what one operation is
	Iterations int
	PerOp      time.Duration // by the clock
	// CPUPerOp is the processor's time, with the garbage collector's and the
	// compiler's threads. It means more than the clock on a busy machine.
	CPUPerOp time.Duration
}

// counted is how many seconds of the processor's time are counted after the
// warm-up.
const counted = 5

// Run measures every comparator whose tools are installed, which takes about a
// minute on an idle machine. It says what was not run, and why. Packages are
// installed into a temporary folder.
func Run(ctx context.Context, bundle []byte) (results []Result, notRun []string) {
	for _, c := range all {
		measured, err := c.run(ctx, bundle)
		if err != nil {
			notRun = append(notRun, fmt.Sprintf("%s: %v", c.name, err))
		}
		results = append(results, measured...)
	}
	return results, notRun
}

// comparator is a program of a folder of this package. It takes the Bundle's
// file, the warm-up and the seconds to count, and prints its results.
type comparator struct {
	name             string
	files            fs.FS
	folder           string
	prepare, measure []string // command lines in the folder
	warmUp           int      // seconds of the processor's time
}

//go:embed cql/*.mjs cql/package.json cql/package-lock.json
var cqlFiles embed.FS

//go:embed hapi/pom.xml hapi/src
var hapiFiles embed.FS

var classPath = filepath.Join("target", "classes") + string(os.PathListSeparator) + filepath.Join("target", "lib", "*")

var (
	cql = comparator{
		name: "cql-execution", files: cqlFiles, folder: "cql",
		prepare: []string{"npm", "ci", "--no-audit", "--no-fund"},
		measure: []string{"node", "measure.mjs"},
		warmUp:  2, // measured: 41 ms after 2 s, 40 ms after 5 s
	}
	hapi = comparator{
		name: "HAPI FHIR", files: hapiFiles, folder: "hapi",
		prepare: []string{"mvn", "--batch-mode", "--quiet", "compile", "dependency:copy-dependencies"},
		measure: []string{"java", "-cp", classPath, "Measure"},
		warmUp:  15, // measured: parse 2.2 ms after 5 s, 1.3 and 1.7 after 15 s, 1.4 after 25 s
	}
	all = []comparator{cql, hapi}
)

func (c comparator) run(ctx context.Context, bundle []byte) ([]Result, error) {
	if err := c.installed(); err != nil {
		return nil, err
	}
	temporary, err := os.MkdirTemp("", "comparators")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(temporary) }()
	folder, err := c.setUp(ctx, temporary)
	if err != nil {
		return nil, err
	}
	file := filepath.Join(temporary, "bundle.json")
	if err := os.WriteFile(file, bundle, 0o600); err != nil {
		return nil, err
	}
	out, err := command(ctx, folder, c.measure, file, strconv.Itoa(c.warmUp), strconv.Itoa(counted))
	if err != nil {
		return nil, err
	}
	return read(out)
}

// installed reports the tools that are missing.
func (c comparator) installed() error {
	var missing []string
	for _, tool := range []string{c.prepare[0], c.measure[0]} {
		if _, err := exec.LookPath(tool); err != nil {
			missing = append(missing, tool)
		}
	}
	if len(missing) > 0 {
		return fmt.Errorf("not installed: %s", strings.Join(missing, ", "))
	}
	return nil
}

// setUp installs the program below a folder, and returns where.
func (c comparator) setUp(ctx context.Context, below string) (string, error) {
	if err := os.CopyFS(below, c.files); err != nil {
		return "", err
	}
	folder := filepath.Join(below, c.folder)
	_, err := command(ctx, folder, c.prepare)
	return folder, err
}

// command runs a command line and returns its output.
func command(ctx context.Context, folder string, line []string, args ...string) ([]byte, error) {
	c := exec.CommandContext(ctx, line[0], append(line[1:len(line):len(line)], args...)...)
	c.Dir, c.WaitDelay = folder, 5*time.Second
	var problems strings.Builder
	c.Stderr = &problems
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %.500s", line[0], err, problems.String()+string(out))
	}
	return out, nil
}
