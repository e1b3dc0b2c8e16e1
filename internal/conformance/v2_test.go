//go:build v2

package conformance

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"evenreach.example/internal/hl7v2"
)

// judge runs v2/judge.py with the Python of EVENREACH_PYTHON.
func judge(t *testing.T, arguments ...string) []byte {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), os.Getenv("EVENREACH_PYTHON"), append([]string{"v2/judge.py"}, arguments...)...).Output()
	if err != nil {
		t.Fatalf("judge.py: %v: %s", err, errorOutput(err))
	}
	return out
}

func errorOutput(err error) []byte {
	if e, ok := err.(*exec.ExitError); ok {
		return e.Stderr
	}
	return nil
}

// judged is what hl7apy and hl7 read of a message.
type judged struct {
	Type, Version string
	Problems      []string
	OBX           []struct{ Kind, Code, Group, Value, Unit, Status string }
	HL7           struct {
		Segments, OBX int
		Codes         []string
	}
}

// Two libraries that know nothing of this project read the answers to the sample messages: the structure is that of
// ORU_R01, and each result reads as it was written.
func TestOthersReadTheResults(t *testing.T) {
	files, err := filepath.Glob("../../testdata/messages/*/golden.hl7")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d messages found, want at least 3 (%v)", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(filepath.Dir(file)), func(t *testing.T) {
			var got judged
			if err := json.Unmarshal(judge(t, "read", file), &got); err != nil {
				t.Fatal(err)
			}
			if got.Type != "ORU^R01^ORU_R01" || got.Version != "2.7" || len(got.Problems) > 0 {
				t.Errorf("found %s of version %s with %q", got.Type, got.Version, got.Problems)
			}
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			m, err := hl7v2.Parse(data)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, m, &got)
		})
	}
}

func compare(t *testing.T, m *hl7v2.Message, got *judged) {
	t.Helper()
	n := 0
	var codes []string
	for _, s := range m.Segments {
		if s.Name != "OBX" {
			continue
		}
		codes = append(codes, s.Field(3).Text(1))
		if n >= len(got.OBX) || got.OBX[n].Code != s.Field(3).Text(1) || got.OBX[n].Kind != s.Field(2).Text(1) ||
			got.OBX[n].Unit != s.Field(6).Text(1) || got.OBX[n].Status != s.Field(11).Text(1) || got.OBX[n].Group != s.Field(4).Text(1) {
			t.Fatalf("OBX %d is read otherwise", n+1)
		}
		n++
	}
	if n != len(got.OBX) || got.HL7.Segments != len(m.Segments) || !slices.Equal(got.HL7.Codes, codes) {
		t.Errorf("there are %d OBX in %d segments; hl7apy found %d, hl7 %d in %d", n, len(m.Segments), len(got.OBX), got.HL7.OBX, got.HL7.Segments)
	}
}

// A message that hl7apy makes is assessed: 78 of 100 N is an index of 78 per cent.
func TestMessageOfOthersIsRead(t *testing.T) {
	if got := indexIn(t, answerByV2(t, judge(t, "write"))); got != "78.0" {
		t.Errorf("the index is %s, want 78.0", got)
	}
}
