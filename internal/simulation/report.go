package simulation

import (
	"fmt"
	"strings"
)

// Report runs the simulation at every measurement error and tells the result
// as Markdown.
func Report(seed uint64, patients int) (string, error) {
	results := make([]*Result, len(Errors))
	for i, sem := range Errors {
		var err error
		if results[i], err = Run(seed, patients, sem); err != nil {
			return "", err
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, header, patients, seed, visits)
	writeCoverage(&b, results)
	writeCalibration(&b, results)
	writeDecisions(&b, results)
	return b.String(), nil
}

const header = `# What the rules do on simulated patients

Written by ` + "`go run ./internal/simulation/simulate > internal/simulation/REPORT.md`" + `; %d patients at
each measurement error, seed %d, %d visits a fortnight apart, six tests a visit.
The patients are invented: their true index rises exponentially from 45-70 %% to
a plateau of 80-108 %%, the six tests about 3 %% apart. That shape is an
assumption; the errors are the published range for patients.

`

func writeCoverage(b *strings.Builder, results []*Result) {
	b.WriteString("## Coverage of the 90 % interval\n\n| SEM | intervals | contain the truth |\n|---|---|---|\n")
	for _, r := range results {
		fmt.Fprintf(b, "| %d %% | %d | %.2f %% |\n", r.Error, r.Intervals, r.Coverage())
	}
}

func writeCalibration(b *strings.Builder, results []*Result) {
	b.WriteString("\n## Calibration of the probability that the true index is at least 90 %\n\nTrue share minus predicted probability, in percentage points, by tenths of the prediction.\n")
	writeDeciles(b, "Nothing is known beforehand: either side is as likely to be the stronger one.", results, func(r *Result) *Deciles { return &r.Neutral })
	writeDeciles(b, "The simulated patients: most are weaker on the involved side, which the probability of a single session does not know, so it is too hopeful where it is high.", results, func(r *Result) *Deciles { return &r.Clinic })
}

func writeDeciles(b *strings.Builder, title string, results []*Result, of func(*Result) *Deciles) {
	b.WriteString("\n" + title + "\n\n| SEM |")
	for i := range 10 {
		fmt.Fprintf(b, " %d-%d %% |", 10*i, 10*i+10)
	}
	b.WriteString("\n|---|" + strings.Repeat("---|", 10) + "\n")
	for _, r := range results {
		fmt.Fprintf(b, "| %d %% |", r.Error)
		for _, bin := range of(r) {
			fmt.Fprintf(b, " %+.1f |", bin.Deviation())
		}
		b.WriteString("\n")
	}
}

func writeDecisions(b *strings.Builder, results []*Result) {
	b.WriteString("\n## Wrong decisions, over all visits\n\nDeclared ready: share of the declared whose lowest true index is below 90 %, and below 85 %.\nHeld back: share of the truly even (all six at least 90 %) that are not declared.\n\n")
	b.WriteString("| SEM | rule | declared | of them below 90 % | of them below 85 % | truly even | of them held back |\n|---|---|---|---|---|---|---|\n")
	for _, r := range results {
		for rule := range rules {
			d := r.Decisions[rule]
			fmt.Fprintf(b, "| %d %% | %v | %d | %.1f %% | %.1f %% | %d | %.1f %% |\n", r.Error, rule, d.Declared,
				percent(d.DeclaredWrongly, d.Declared), percent(d.DeclaredSeriously, d.Declared), d.Even, percent(d.HeldBack, d.Even))
		}
	}
}
