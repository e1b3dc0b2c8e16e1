//go:build record

package conformance

import (
	"os"
	"os/exec"
	"testing"
)

// TestLaunchFromAWholeRecord has the worksheet launched from HAPI FHIR's record server, in a browser.
func TestLaunchFromAWholeRecord(t *testing.T) {
	record := recordServer(t)
	fill(t, record)
	command := exec.CommandContext(t.Context(), "node", "--test", "realrecord.mjs")
	command.Dir = "../worksheet/browser"
	command.Env = append(os.Environ(), "RECORD="+record.base)
	if out, err := command.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
