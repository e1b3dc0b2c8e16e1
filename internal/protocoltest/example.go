// Package protocoltest gives tests the example protocols of testdata.
package protocoltest

import (
	"os"
	"testing"

	"evenreach.example/internal/protocol"
)

// WorkAndSport is the example protocol with demands of work and sport, for a test of a package
// two folders below the top.
func WorkAndSport(t testing.TB) *protocol.Protocol {
	t.Helper()
	file, err := os.ReadFile("../../testdata/protocols/work-and-sport.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := protocol.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
