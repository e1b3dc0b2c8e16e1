package intake

import (
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// Who is under age on 2026-11-20, the day of the strength test. Where only a month or a
// year is recorded whoever may be under age counts as such.
func TestMinor(t *testing.T) {
	tests := []struct {
		born  string
		minor bool
	}{
		{"2012-03-01", true}, {"2008-11-21", true}, {"2008-11-20", false}, {"1970-01-01", false},
		{"2008-11", true}, {"2008-10", false}, {"2008", true}, {"2007", false}, {"", false}, {"soon", false},
	}
	for _, tt := range tests {
		patient := &fhir.Patient{BirthDate: tt.born}
		patient.ID = "p1"
		r := readInput(t, Input{Bundle: bundle(patient, strengthOf("s")), Involved: shoulder.Right, Received: received})
		if got := r.Episode.Minor(r.Episode.Sessions[0].When); got != tt.minor {
			t.Errorf("born %q: minor %v on %s, want %v", tt.born, got, r.Episode.Sessions[0].When.Format(time.DateOnly), tt.minor)
		}
	}
}
