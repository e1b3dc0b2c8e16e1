package simulation

import (
	"fmt"
	"strings"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
)

// doubts is how many kinds of doubt there are.
const doubts = int(measure.ComparisonDeclined) + 1

// Alarms counts the answers that carry a red flag or a doubt.
type Alarms struct {
	Any    int
	Flags  [len(redflag.Codes)]int
	Doubts [doubts]int
}

// count adds an answer. An answer counts once for each kind that it carries.
func (a *Alarms) count(r *readiness.Readiness) {
	var of Alarms
	for i := range r.Flags {
		of.Flags[r.Flags[i].Code] = 1
	}
	for _, d := range r.Doubts {
		of.Doubts[d.Doubt] = 1
	}
	for i, n := range of.Flags {
		a.Flags[i] += n
	}
	for i, n := range of.Doubts {
		a.Doubts[i] += n
	}
	if len(r.Flags)+len(r.Doubts) > 0 {
		a.Any++
	}
}

// String lists the kinds that were raised, with their numbers.
func (a *Alarms) String() string {
	var kinds []string
	add := func(kind fmt.Stringer, n int) {
		if n > 0 {
			kinds = append(kinds, fmt.Sprintf("%v %d", kind, n))
		}
	}
	for i, n := range a.Flags {
		add(redflag.Codes[i], n)
	}
	for i, n := range a.Doubts {
		add(measure.Doubt(i), n)
	}
	if len(kinds) == 0 {
		return "none"
	}
	return strings.Join(kinds, ", ")
}
