package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"evenreach.example/internal/config"
	"evenreach.example/internal/program"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/reliability"
)

// reliabilityCommand works out a clinic's own measurement error.
type reliabilityCommand struct {
	File      string `arg:"file" optional:"true" help:"Test-retest data as CSV; - for standard input. See --template."`
	Template  bool   `name:"template" help:"Print a file to fill in."`
	Columns   string `name:"columns" placeholder:"ROLE=COLUMN,..." help:"What columns hold that are called otherwise: subject, side, test, session, rater, trial, value, ignore; trial or session several times for a column each."`
	Condition string `name:"condition" default:"usual" enum:"stabilised,usual,unstabilised" placeholder:"NAME" help:"How was measured: stabilised, usual or unstabilised (${default})."`
	Protocol  string `name:"protocol" placeholder:"FILE" help:"The protocol of the clinic, whose values the lines change (the built-in one)."`
	Output    string `name:"output" default:"text" enum:"text,protocol" placeholder:"FORM" help:"The form: text, or protocol for a protocol file alone (${default})."`
}

// Run prints the study, and the lines for the protocol file.
func (c *reliabilityCommand) Run(_ context.Context, std program.Streams) error {
	if c.Template {
		_, err := io.WriteString(std.Out, reliability.Template)
		return err
	}
	p, err := c.protocol()
	if err != nil {
		return program.UsageError(err)
	}
	study, err := c.study(std.In)
	if err != nil {
		return err
	}
	condition, err := reliability.ParseCondition(c.Condition)
	if err != nil {
		return program.UsageError(err)
	}
	settings, problem := study.Settings(condition, p)
	lines := c.id() + reliability.YAML(settings)
	if c.Output == "protocol" {
		if problem == nil {
			_, problem = io.WriteString(std.Out, lines)
		}
		return problem
	}
	if problem != nil {
		_, err = fmt.Fprintf(std.Out, "%s\nNothing for the protocol file: %v.\n", study.Text(), problem)
		return err
	}
	_, err = fmt.Fprintf(std.Out, "%s\nFor the protocol file, measured as %s:\n\n%s", study.Text(), condition, lines)
	return err
}

// id begins a protocol file; the clinic's own has one.
func (c *reliabilityCommand) id() string {
	if c.Protocol == "" {
		return "id: own-measurement-error\n"
	}
	return ""
}

func (c *reliabilityCommand) protocol() (*protocol.Protocol, error) {
	if c.Protocol == "" {
		return protocol.Default(), nil
	}
	return config.ReadProtocol(c.Protocol)
}

// study reads and analyses the file.
func (c *reliabilityCommand) study(in io.Reader) (*reliability.Study, error) {
	switch c.File {
	case "":
		return nil, program.UsageError(errors.New("expected a file of test-retest data; --template prints one to fill in"))
	case "-":
	default:
		file, err := os.Open(c.File)
		if err != nil {
			return nil, program.UsageError(err)
		}
		defer func() { _ = file.Close() }() // only read
		in = file
	}
	scores, err := reliability.Read(in, c.Columns)
	if err != nil {
		return nil, err
	}
	return reliability.Analyse(scores)
}
