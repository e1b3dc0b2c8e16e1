//go:build resilience

package resilience

import (
	"bytes"
	"flag"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var (
	previous    = flag.String("previous", "HEAD~1", "the revision that TestTwoVersionsBehindOneService runs beside the program to try")
	twoVersions = flag.Duration("two-versions", 5*time.Second, "how long TestTwoVersionsBehindOneService goes on")
)

// programOf builds the program of a revision, in a folder of its own. Without the history there is
// none.
func programOf(t *testing.T, revision string) string {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), "git", "rev-parse", "--verify", "--quiet", revision+"^{commit}").CombinedOutput(); err != nil {
		t.Skipf("there is no revision %s here, such as in a clone without history (%v %s): two versions were not tried; name one that is there by -previous", revision, err, out)
	}
	folder := t.TempDir()
	source, binary := filepath.Join(folder, "source"), filepath.Join(folder, "evenreach")
	root := strings.TrimSpace(string(output(t, "git", "rev-parse", "--show-toplevel")))
	archive := filepath.Join(folder, "source.tar")
	output(t, "git", "-C", root, "archive", "--prefix=source/", "--output="+archive, revision)
	output(t, "tar", "-x", "-C", folder, "-f", archive)
	output(t, "go", "-C", source, "build", "-tags", "grpcnotrace", "-buildvcs=false", "-o", binary, "./cmd/evenreach")
	return binary
}

// While an update goes on two versions answer behind one Service, which knows only connections. Every answer
// is that of one of the two, byte by byte, and none is lost.
func TestTwoVersionsBehindOneService(t *testing.T) {
	older := newReplica(t, "--max-connection-age=1s")
	older.program = programOf(t, *previous)
	older.start()
	older.ready()
	replicas := []*replica{older, run(t, "--max-connection-age=1s")}
	f := &patient{scenarios: scenarios(t), others: map[string][]byte{}}
	different := 0
	ask := restCaller(t, older.HTTP)
	for _, s := range f.scenarios {
		answer, _, err := insistent(t.Context(), ask, s.input)
		if err != nil {
			t.Fatalf("%s, which this version answers, the revision %s does not: %v", s.name, *previous, err)
		}
		if f.others[s.name] = answer; !bytes.Equal(answer, s.answer) {
			different++
		}
	}
	f.proxy = startProxy(t, replicas)
	stop := f.begin(t, 8)
	defer stop()
	time.Sleep(*twoVersions)
	f.more(t, 1)
	stop()
	answered := `evenreach_answer_duration_seconds_count{door="http"}`
	old, present := older.metric(answered)-float64(len(f.scenarios)), replicas[1].metric(answered)
	if old < 1 || present < 1 {
		t.Errorf("the revision %s answered %.0f requests and this version %.0f, want both to answer some", *previous, old, present)
	}
	if f.lost.Load() > 0 || f.wrong.Load() > 0 || f.away.Load() > 0 {
		t.Errorf("%d requests lost on kept connections, %d on new ones, %d answers that neither version gives, want none", f.lost.Load(), f.away.Load(), f.wrong.Load())
	}
	for _, r := range replicas {
		r.noDefects()
	}
	t.Logf("%v of two versions: %.0f answers of %s, %.0f of this one, which differ in %d of %d scenarios; %d told to come back",
		*twoVersions, old, *previous, present, different, len(f.scenarios), f.overload.Load())
}
