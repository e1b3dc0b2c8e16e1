package intake

import (
	"testing"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func TestDate(t *testing.T) {
	const dropped = "warning date-missing Bundle.entry[0].resource"
	tests := []struct {
		name      string
		effective fhir.Value
		want      string
		issue     string
	}{
		{"dateTime", fhir.DateTime("2026-11-20T10:00:00+01:00"), "2026-11-20T10:00:00+01:00", ""},
		{"fraction of a second", fhir.DateTime("2026-11-20T10:00:00.25Z"), "2026-11-20T10:00:00.25Z", ""},
		{"day", fhir.DateTime("2026-11-20"), "2026-11-20T00:00:00Z", ""},
		{"instant", fhir.Instant("2026-11-20T10:00:00-08:00"), "2026-11-20T10:00:00-08:00", ""},
		{"start of a period", &fhir.Period{Start: "2026-11-20T10:00:00Z", End: "2026-11-20T11:00:00Z"}, "2026-11-20T10:00:00Z", ""},
		{"the first day of 1900", fhir.DateTime("1900-01-01"), "1900-01-01T00:00:00Z", ""},
		{"before 1900", fhir.DateTime("1899-12-31"), "", dropped + ".effectiveDateTime"},
		{"the first day of all", fhir.DateTime("0001-01-01"), "", dropped + ".effectiveDateTime"},
		{"absent", nil, "", dropped},
		{"year", fhir.DateTime("2026"), "", dropped + ".effectiveDateTime"},
		{"month", fhir.DateTime("2026-11"), "", dropped + ".effectiveDateTime"},
		{"without a zone", fhir.DateTime("2026-11-20T10:00:00"), "", dropped + ".effectiveDateTime"},
		{"no such day", fhir.DateTime("2026-02-30"), "", dropped + ".effectiveDateTime"},
		{"period without a start", &fhir.Period{End: "2026-11-20"}, "", dropped + ".effectivePeriod"},
		{"nil period", (*fhir.Period)(nil), "", dropped},
		{"timing", fhir.OtherValue("Timing"), "", dropped + ".effectiveTiming"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("s", func(o *fhir.Observation) { o.Effective = tt.effective }), painOf("p", fhir.Integer(1), at("1900-01-01")))
			if tt.issue != "" {
				wantIssues(t, r.Issues, tt.issue)
				return
			}
			wantIssues(t, r.Issues)
			if got := r.Episode.Sessions[len(r.Episode.Sessions)-1].When.Format(time.RFC3339Nano); got != tt.want {
				t.Errorf("When = %s, want %s", got, tt.want)
			}
		})
	}
}

func TestFuture(t *testing.T) {
	tests := []struct {
		name     string
		asOf     string
		received time.Time
		at       string
		future   bool
	}{
		{"at the stated time", "2026-11-20T10:00:00Z", received, "2026-11-20T10:00:00Z", false},
		{"a second later", "2026-11-20T10:00:00Z", received, "2026-11-20T10:00:01Z", true},
		{"the same time in another zone", "2026-11-20T10:00:00Z", received, "2026-11-20T12:00:00+02:00", false},
		{"late on the stated day", "2026-11-20", received, "2026-11-20T23:59:00-08:00", false},
		{"the next day", "2026-11-20", received, "2026-11-21T00:00:00+08:00", true},
		{"the day of the stated time", "2026-11-20T10:00:00Z", received, "2026-11-20", false},
		{"the day after the stated time", "2026-11-20T10:00:00Z", received, "2026-11-21", true},
		{"stated in the past", "2026-01-01", received, "2026-11-20", true},
		{"stated time beats the clock", "2027-01-01", received, "2026-12-31", false},
		{"a day after the clock", "", received, "2026-11-26T12:00:00Z", false},
		{"more than a day after the clock", "", received, "2026-11-26T12:00:01Z", true},
		{"tomorrow as a day", "", received, "2026-11-26", false},
		{"the day after tomorrow", "", received, "2026-11-27", true},
		{"no clock", "", time.Time{}, "2090-01-01", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{
				Bundle:   bundle(strengthOf("s", at(tt.at)), painOf("p", fhir.Integer(1), at("2025-01-01"))),
				Involved: shoulder.Right, AsOf: tt.asOf, Received: tt.received,
			})
			if !tt.future {
				wantIssues(t, r.Issues)
				return
			}
			wantIssues(t, r.Issues, "warning date-future Bundle.entry[0].resource.effectiveDateTime")
		})
	}
}

func TestEvaluationTimeTooFarOff(t *testing.T) {
	for _, asOf := range []string{"0001-01-01", "0001-01-01T00:00:00Z", "1899-12-31", "9001-01-01", "9999-12-31", "9999-12-31T23:59:59+14:00"} {
		t.Run(asOf, func(t *testing.T) {
			problems := refused(t, Input{Bundle: bundle(strengthOf("s")), Involved: shoulder.Right, Root: "Parameters.parameter[0].resource", AsOf: asOf})
			wantIssues(t, problems.Issues, "error bad-parameter Parameters.parameter.where(name = 'asOf').value")
		})
	}
}

func TestEvaluationTime(t *testing.T) {
	tests := []struct{ name, asOf, want string }{
		{"absent: the latest measurement", "", "2026-11-20T22:00:00-08:00"},
		{"a time", "2026-12-01T08:00:00Z", "2026-12-01T08:00:00Z"},
		{"the latest that may be stated", "9000-12-31", "9000-12-31T23:59:59Z"},
		{"a day is its end", "2026-12-01", "2026-12-01T23:59:59Z"},
		{"the day of a measurement that ends later elsewhere", "2026-11-20", "2026-11-20T22:00:00-08:00"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{
				Bundle:   bundle(strengthOf("a", at("2026-11-20T22:00:00-08:00")), strengthOf("b", at("2026-11-01"))),
				Involved: shoulder.Right, AsOf: tt.asOf, Received: received,
			})
			if got := r.AsOf.Format(time.RFC3339); got != tt.want {
				t.Errorf("AsOf = %s, want %s", got, tt.want)
			}
		})
	}
}
