package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"evenreach.example/internal/reliability"
)

// reliabilityCommand works out a clinic's own measurement error.
type reliabilityCommand struct {
	File string `arg:"file" help:"Test-retest scores as CSV: a header, then one row a subject with a column a trial; - for standard input."`
}

// Run prints the analysis, and the lines for the protocol file.
func (c reliabilityCommand) Run(_ context.Context, std streams) error {
	in := std.in
	if c.File != "-" {
		file, err := os.Open(c.File)
		if err != nil {
			return usageError{err}
		}
		defer func() { _ = file.Close() }() // only read
		in = file
	}
	rows, err := reliability.Read(in)
	if err != nil {
		return err
	}
	const confidence = 95
	study, err := reliability.Analyse(rows, confidence)
	if err != nil {
		return err
	}
	return writeStudy(std.out, study)
}

func writeStudy(out io.Writer, s *reliability.Study) error {
	var b strings.Builder
	estimate := func(name string, places int, e reliability.Estimate) {
		fmt.Fprintf(&b, "%-30s %.*f (95 %% interval %.*f to %.*f)\n", name, places, e.Value, places, e.Low, places, e.High)
	}
	fmt.Fprintf(&b, "%d subjects, %d trials, mean %.4g\n\n", s.Subjects, s.Trials, s.Mean)
	estimate("ICC(2,1), agreement", 3, s.ICC21)
	estimate("ICC(3,1), consistency", 3, s.ICC31)
	estimate("standard error of measurement", 3, s.SEM)
	estimate("  in per cent of the mean", 2, s.SEMPercent)
	fmt.Fprintf(&b, "%-30s %.3f\n", "MDC at 90 %", s.MDC90)
	fmt.Fprintf(&b, "%-30s %.3f\n", "MDC at 95 %", s.MDC95)
	fmt.Fprintf(&b, "%-30s %.2f %%\n", "coefficient of variation", s.Variation)
	fmt.Fprintf(&b, protocolLines, s.SEMPercent.Value, s.Subjects, s.Trials)
	_, err := io.WriteString(out, b.String())
	return err
}

// protocolLines are ready for the protocol file.
const protocolLines = `
For the protocol file, under the measuring condition of the study:

error:
  usual:
    value: %.2f
    source: "own test-retest study of %d subjects with %d trials"
`
