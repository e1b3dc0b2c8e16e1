package population

import (
	"slices"
	"time"

	"evenreach.example/internal/fhir"
)

// onset is the day on which the trouble of the involved shoulder began: the earliest that an
// active Condition of it has, injury or not. It reports false if none has one to the day.
func (v *view) onset() (day time.Time, known bool) {
	for _, entry := range v.c.entries {
		condition, ok := entry.Resource.(*fhir.Condition)
		if !ok || !v.addressed(condition) {
			continue
		}
		if began, ok := dayOf(condition.Onset); ok && (!known || began.Before(day)) {
			day, known = began, true
		}
	}
	return day, known
}

// addressed reports whether intake took the Condition for one of the involved shoulder.
func (v *view) addressed(c *fhir.Condition) bool {
	return slices.ContainsFunc(v.c.answer.Reading.Addresses, func(r fhir.Reference) bool { return r.Reference == "Condition/"+c.ID })
}

// dayOf is the day of a time, of a period its beginning. It reports false for less than a day.
func dayOf(v fhir.Value) (time.Time, bool) {
	text := ""
	switch v := v.(type) {
	case fhir.DateTime:
		text = string(v)
	case *fhir.Period:
		if v != nil {
			text = v.Start
		}
	}
	if len(text) < len(dayLayout) {
		return time.Time{}, false
	}
	day, err := time.Parse(dayLayout, text[:len(dayLayout)])
	return day, err == nil
}
