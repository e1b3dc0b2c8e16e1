package intake

import (
	"time"

	"evenreach.example/internal/fhir"
)

// born is the latest possible day of birth: the last day of the month or year if no more
// is recorded. It is zero if no date of birth is recorded.
func (r *reader) born() time.Time {
	if r.patient.entry == nil {
		return time.Time{}
	}
	p, ok := r.patient.entry.resource.(*fhir.Patient)
	if !ok {
		return time.Time{}
	}
	for _, form := range [...]struct {
		layout        string
		years, months int
	}{{time.DateOnly, 0, 0}, {"2006-01", 0, 1}, {"2006", 1, 0}} {
		if day, err := time.Parse(form.layout, p.BirthDate); err == nil {
			last := day.AddDate(form.years, form.months, 0)
			if last.After(day) {
				last = last.AddDate(0, 0, -1)
			}
			return last
		}
	}
	return time.Time{}
}
