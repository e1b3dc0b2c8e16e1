package audit

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/fhir"
)

// stuck is a disk that answers only when it is told to.
type stuck chan struct{}

func (s stuck) Write(p []byte) (int, error) {
	<-s
	return len(p), nil
}

func TestStuckTrailHoldsNobodyForLong(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := make(stuck)
		trail := New(Config{To: disk, Required: true, Patients: Nobody}, "test", prometheus.NewRegistry())
		begin := time.Now()
		if trail.Write(Event{}) {
			t.Error("an event is said to be written that is not")
		}
		if took := time.Since(begin); took != patience {
			t.Errorf("it took %v, want %v", took, patience)
		}
		close(disk)
		if !trail.Write(Event{}) {
			t.Error("an event is lost though the disk answers again")
		}
		trail.Close()
	})
}

func TestPatientByIdentifier(t *testing.T) {
	trail := New(Config{To: make(stuck), Patients: Clear}, "test", prometheus.NewRegistry())
	defer trail.Close()
	got := trail.patient("", Patient{Reference: fhir.Reference{Identifier: &fhir.Identifier{System: "urn:oid:1.2", Value: "7"}}})
	if got == nil || got.Identifier == nil || got.Identifier.System != "urn:oid:1.2" || got.Identifier.Value != "7" {
		t.Errorf("named as %+v, want by the identifier", got)
	}
	if got := trail.patient("", Patient{}); got != nil {
		t.Errorf("nobody is named as %+v", got)
	}
}
