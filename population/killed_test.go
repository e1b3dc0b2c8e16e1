package population

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"evenreach.example/population/invent"
)

// How the test binary is told to be a run.
const (
	childIn  = "POPULATION_TEST_IN"
	childOut = "POPULATION_TEST_OUT"
)

// child is this test binary as a run of its own, after a shell command.
func child(t *testing.T, in, out, before string) *exec.Cmd {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "sh", "-c", before+"exec "+os.Args[0])
	cmd.Env = append(os.Environ(), childIn+"="+in, childOut+"="+out)
	return cmd
}

// A run that is killed ten times at random moments goes on each time, and gives the bytes of
// one that nobody killed.
func TestKilled(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 300, Seed: 29})
	undisturbed, out := t.TempDir(), t.TempDir()
	begun := time.Now()
	if text, err := child(t, folder, undisturbed, "").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	took := time.Since(begun)
	rng := rand.New(rand.NewPCG(1, uint64(begun.UnixNano())))
	killed := 0
	for range 10 {
		cmd := child(t, folder, out, "")
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rng.Float64() * float64(took) / 2))
		_ = cmd.Process.Kill() // it may have ended
		if err := cmd.Wait(); err != nil {
			killed++
		}
	}
	if text, err := child(t, folder, out, "").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if killed == 0 {
		t.Error("no run was killed before its end")
	}
	sameContents(t, contents(t, out), contents(t, undisturbed))
}

// Where the disk takes no more, the run ends with an error, and goes on once there is room.
func TestFullDisk(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 300, Seed: 31})
	out := t.TempDir()
	cmd := child(t, folder, out, "ulimit -f 600; ") // blocks of 512 bytes, or of 1024
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Run(); err == nil || !strings.Contains(stderr.String(), "file too large") {
		t.Fatalf("error %v, %s; want that the file is too large", err, stderr.String())
	}
	if _, err := os.Stat(out + "/report.html"); !errors.Is(err, os.ErrNotExist) {
		t.Error("a report was written")
	}
	if text, err := child(t, folder, out, "").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	undisturbed := t.TempDir()
	runOf(t, options(folder, undisturbed, Resources))
	sameContents(t, contents(t, out), contents(t, undisturbed))
}
