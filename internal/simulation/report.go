package simulation

import (
	"errors"
	"fmt"
	"strings"
	"sync"
)

// Report runs the simulation in every world at every measurement error and writes
// the result as Markdown.
func Report(seed uint64, patients int) (string, error) {
	results, err := runAll(seed, patients)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	fmt.Fprintf(&b, header, patients, seed)
	writeAlarms(&b, results)
	writeDecisions(&b, results)
	writeCoverage(&b, results[:len(Errors)])
	writeCalibration(&b, results[:len(Errors)])
	return b.String(), nil
}

// runAll runs the worlds in order, the errors of one at the same time.
func runAll(seed uint64, patients int) ([]*Result, error) {
	var results []*Result
	for w := range worlds {
		of, failed := make([]*Result, len(Errors)), make([]error, len(Errors))
		var running sync.WaitGroup
		for i, sem := range Errors {
			running.Go(func() { of[i], failed[i] = Run(seed, patients, w, sem) })
		}
		running.Wait()
		if err := errors.Join(failed...); err != nil {
			return nil, err
		}
		results = append(results, of...)
	}
	return results, nil
}

const header = `# What the rules do on simulated patients

Written by ` + "`go run ./internal/simulation/simulate > internal/simulation/REPORT.md`" + `; %d patients in
each world at each measurement error, seed %d. The patients are invented: half
are stable at a true index of 70-100 %%, half rise exponentially from 45-70 %% to
a plateau of 80-108 %%, the six tests about 3 %% apart. Those shapes are
assumptions; the errors are the published range for patients. Each visit
measures all six tests of both sides three times, trial to trial with a standard
deviation of 5 %%; the rest of the error lies between visits, so that the mean of
three has the error that the protocol assumes, here without the floor in newtons.
Range is full and pain is low at every visit.

The worlds:

- independent errors: 6 visits a fortnight apart, each test errs by itself;
- day factor: the tests of one side on one day share half of the error's
  variance, here and in all worlds below;
- day factors correlated: those of both sides, by 0.5;
- sparse visits: 4, six weeks apart;
- dense visits: 12, a week apart;
- comparison side learns: it shows 10 %% too little at the first visit, and half
  as much less at each further one;
- comparison side weakens: steadily, by 5-20 %% from the first visit to the last.

`

const alarmsIntro = `## Red flags and doubts

Share of the answers, one a visit, that carry any red flag or any doubt. Where
nobody grows weaker each of them is a false one. Where the comparison side
weakens the doubt about it is right.

| world | SEM | answers | with a flag or a doubt | by kind |
|---|---|---|---|---|
`

func writeAlarms(b *strings.Builder, results []*Result) {
	b.WriteString(alarmsIntro)
	for _, r := range results {
		fmt.Fprintf(b, "| %v | %d %% | %d | %d (%.2f %%) | %v |\n", r.World, r.Error, r.Answers, r.Alarms.Any, percent(r.Alarms.Any, r.Answers), &r.Alarms)
	}
}

const decisionsIntro = `
## Wrong decisions

First declared wrongly: of the patients who are declared ready at some visit,
those whose lowest test was truly below 90 % at the first such visit. Any declared
wrongly, and below 85 %: of all visits that are declared ready. Held back: of the
truly even visits (all six at least 90 %), those that are not declared. The truth
is held against the comparison side's strength at the first visit. Single session
declares when all six indices of the visit are at least 90 %.

| world | SEM | rule | first declared | wrongly | any declared | wrongly | below 85 % | truly even | held back |
|---|---|---|---|---|---|---|---|---|---|
`

func writeDecisions(b *strings.Builder, results []*Result) {
	b.WriteString(decisionsIntro)
	for _, r := range results {
		for rule := range rules {
			d := r.Decisions[rule]
			fmt.Fprintf(b, "| %v | %d %% | %v | %d | %.1f %% | %d | %.1f %% | %.1f %% | %d | %.1f %% |\n", r.World, r.Error, rule,
				d.First, percent(d.FirstWrongly, d.First), d.Declared, percent(d.DeclaredWrongly, d.Declared),
				percent(d.DeclaredSeriously, d.Declared), d.Even, percent(d.HeldBack, d.Even))
		}
	}
}

func writeCoverage(b *strings.Builder, results []*Result) {
	b.WriteString("\n## Coverage of the 90 % interval, with independent errors\n\n| SEM | intervals | contain the truth |\n|---|---|---|\n")
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
